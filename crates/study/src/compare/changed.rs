//! What a large change of the car does to the lap time: laps solved again, never a slope extrapolated (`docs/model.md`
//! §8).

use unladen_vehicle::{Car, Number};

use crate::input::error::StudyError;
use crate::input::leg::Leg;
use crate::input::sound::{quiet_lap, sound_lap};
use crate::input::unknown::{Input, two_sided_sd};
use crate::threads::{each_of, join};

/// Lap time of the changed car less that of the car as it is.
#[derive(Clone, Debug, PartialEq)]
pub struct Gain {
    /// The track, or the mix.
    pub track: String,
    /// Negative is quicker, s.
    pub change_s: f64,
    /// Estimate of its numerical error, s.
    pub error_s: f64,
    /// Its standard deviation, s; `None` where nothing is uncertain, or where an input has no lap on either side.
    pub sd_s: Option<f64>,
}

/// A car before and after a change.
#[derive(Clone, Copy, Debug)]
pub struct Pair<'a> {
    /// As it is.
    pub before: &'a Car,
    /// Changed.
    pub after: &'a Car,
    /// What is uncertain of both, moved in both alike.
    pub inputs: &'a [Input],
    /// Standard deviation of the mass that the change takes off or puts on, kg.
    pub change_sd_kg: f64,
}

/// What one uncertain number does to the difference, down and up; `None` where there is no lap.
type Sides = [Option<f64>; 2];

struct LegGain {
    change: f64,
    error: f64,
    /// Of the car's inputs, of the change's own mass, then of the track's own.
    sides: Vec<Sides>,
}

/// On each track, then on the weighed mix where there are several.
///
/// # Errors
/// [`StudyError`] where there is no track, or no lap of one of the cars.
pub fn gains(pair: &Pair, legs: &[Leg]) -> Result<Vec<Gain>, StudyError> {
    if legs.is_empty() {
        return Err(StudyError::NoTrack);
    }
    let found: Vec<LegGain> = each_of(legs, |leg| gain_on(pair, leg)).into_iter().collect::<Result<_, _>>()?;
    let publish =
        |track: String, change_s, error_s, sides: &[Sides]| Gain { track, change_s, error_s, sd_s: sd(sides) };
    let mut all: Vec<Gain> =
        legs.iter().zip(&found).map(|(leg, f)| publish(leg.name(), f.change, f.error, &f.sides)).collect();
    if legs.len() > 1 {
        let total: f64 = legs.iter().map(|leg| leg.weight).sum();
        let shares: Vec<f64> = legs.iter().map(|leg| leg.weight / total).collect();
        let mean = |of: &dyn Fn(&LegGain) -> f64| found.iter().zip(&shares).map(|(f, w)| w * of(f)).sum::<f64>();
        // What is uncertain of the car moves all tracks at once; what is of a track, that track alone.
        let shared = pair.inputs.len() + 1;
        let mut sides: Vec<Sides> = (0..shared)
            .map(|i| [0, 1].map(|k| found.iter().zip(&shares).map(|(f, w)| f.sides[i][k].map(|s| w * s)).sum()))
            .collect();
        for (f, w) in found.iter().zip(&shares) {
            sides.extend(f.sides[shared..].iter().map(|s| s.map(|side| side.map(|x| w * x))));
        }
        all.push(publish("the mix".into(), mean(&|f| f.change), mean(&|f| f.error), &sides));
    }
    Ok(all)
}

fn gain_on(pair: &Pair, leg: &Leg) -> Result<LegGain, StudyError> {
    let (before, after) = join(|| sound_lap(leg.course, pair.before), || sound_lap(leg.course, pair.after));
    let (before, after) = (before?, after?);
    let change = after.time - before.time;
    let time = |car: &Car| quiet_lap(leg.course, car).ok().map(|lap| lap.time);
    let both = |input: &Input| -> Sides {
        [-1.0, 1.0].map(|sds| {
            let (b, by) = input.moved(before.on_day(), sds)?;
            let (a, and_by) = input.moved(after.on_day(), by)?;
            (by == and_by).then_some(())?;
            Some((time(&a)? - time(&b)? - change) / by.abs())
        })
    };
    let own = Input { key: String::new(), sd: pair.change_sd_kg, onto: vec![(Number::M, 1.0)] };
    let of_rows: Sides = if pair.change_sd_kg > 0.0 {
        [-1.0, 1.0].map(|sds| {
            let (a, by) = own.moved(after.on_day(), sds)?;
            Some((time(&a)? - after.time) / by.abs())
        })
    } else {
        [Some(0.0); 2]
    };
    let mut sides: Vec<Sides> = each_of(pair.inputs, both);
    sides.push(of_rows);
    sides.extend(each_of(leg.inputs, both));
    Ok(LegGain { change, error: before.error + after.error, sides })
}

/// `None` as well where nothing is uncertain.
fn sd(sides: &[Sides]) -> Option<f64> {
    two_sided_sd(sides.iter().copied()).filter(|sd| *sd > 0.0)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::worth::{Subject, worth};
    use unladen_lap::Course;
    use unladen_track::{Segment, Track};
    use unladen_vehicle::example_car;

    fn oval() -> Track {
        let flat = |length: f64, kappa: f64| Segment {
            length,
            kappa: [kappa; 2],
            q: [0.0; 2],
            phi: [0.0; 2],
            gamma: 1.0,
            place: None,
        };
        let half = std::f64::consts::PI * 50.0;
        Track {
            name: "oval".into(),
            closed: true,
            start_speed: 0.0,
            rho: 1.225,
            grip: 1.0,
            segments: vec![flat(400.0, 0.0), flat(half, 0.02), flat(400.0, 0.0), flat(half, 0.02)],
        }
    }

    fn lighter(kg: f64) -> Car {
        let mut car = example_car();
        car.mass.m -= kg;
        car
    }

    /// For a small change it is the slope times the change; its own mass's uncertainty is the slope's too.
    #[test]
    fn property_small_changes_follow_the_slope() {
        let track = oval();
        let course = Course::with_step(&track, 2.0);
        let legs = [Leg::new(&course)];
        let (before, after) = (example_car(), lighter(2.0));
        let pair = Pair { before: &before, after: &after, inputs: &[], change_sd_kg: 0.5 };
        let found = &gains(&pair, &legs).unwrap()[0];
        let slope = worth(&Subject::new(&before), &legs).unwrap().tracks[0].s_per_kg.value;
        assert!((found.change_s + 2.0 * slope).abs() < 0.02 * 2.0 * slope, "{found:?} {slope}");
        assert!((found.sd_s.unwrap() - 0.5 * slope).abs() < 0.05 * slope, "{found:?} {slope}");
    }

    /// The same car twice: nothing, whatever is uncertain.
    #[test]
    fn closed_form_no_change_is_none() {
        let track = oval();
        let course = Course::with_step(&track, 2.0);
        let car = example_car();
        let inputs = [Input { key: "mass.total".into(), sd: 20.0, onto: vec![(Number::M, 1.0)] }];
        let pair = Pair { before: &car, after: &car, inputs: &inputs, change_sd_kg: 0.0 };
        let both = gains(&pair, &[Leg::new(&course), Leg::new(&course)]).unwrap();
        assert_eq!(both.len(), 3);
        assert!(both.iter().all(|g| g.change_s == 0.0 && g.sd_s.is_none()), "{both:?}");
    }

    #[test]
    fn bad_input_no_track() {
        let car = example_car();
        let pair = Pair { before: &car, after: &car, inputs: &[], change_sd_kg: 0.0 };
        assert!(matches!(gains(&pair, &[]), Err(StudyError::NoTrack)));
    }
}
