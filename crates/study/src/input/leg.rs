//! A track of a study, its weight in the mix and its own uncertain numbers.

use unladen_lap::{Course, LapError};
use unladen_vehicle::Car;

use crate::input::error::StudyError;
use crate::input::sound::sound_lap;
use crate::input::unknown::{Input, carried, shift_all};

/// A track of a study.
#[derive(Clone, Copy)]
pub struct Leg<'a> {
    /// The track, ready to be lapped.
    pub course: &'a Course,
    /// Its weight in the mix, > 0; only ratios count.
    pub weight: f64,
    /// What is uncertain of the track itself: its grip, its air.
    pub inputs: &'a [Input],
}

impl<'a> Leg<'a> {
    /// Of weight 1, with nothing uncertain.
    pub fn new(course: &'a Course) -> Self {
        Self { course, weight: 1.0, inputs: &[] }
    }

    /// The track's name.
    pub fn name(&self) -> String {
        self.course.track().name.clone()
    }
}

/// Each track's share of the mix.
///
/// # Errors
/// [`StudyError`] where there is no track, or a weight that is no share of anything.
pub(crate) fn shares(legs: &[Leg]) -> Result<Vec<f64>, StudyError> {
    for leg in legs {
        if !(leg.weight > 0.0 && leg.weight.is_finite()) {
            return Err(StudyError::Weight { track: leg.name(), weight: leg.weight });
        }
    }
    let total: f64 = legs.iter().map(|leg| leg.weight).sum();
    if legs.is_empty() { Err(StudyError::NoTrack) } else { Ok(legs.iter().map(|leg| leg.weight / total).collect()) }
}

/// Each track with its share of the mix.
pub(crate) fn weighed<'a>(legs: &[Leg<'a>]) -> Vec<(&'a Course, f64)> {
    let total: f64 = legs.iter().map(|leg| leg.weight).sum();
    legs.iter().map(|leg| (leg.course, leg.weight / total)).collect()
}

/// Shares in whole per cent that add up to 100: what is left after rounding down goes to those that lost most by it.
pub fn whole_percent(shares: &[f64]) -> Vec<u32> {
    let total: f64 = shares.iter().sum();
    let exact: Vec<f64> = shares.iter().map(|share| 100.0 * share / total).collect();
    let mut whole: Vec<u32> = exact.iter().map(|x| x.floor() as u32).collect();
    let mut by_rest: Vec<usize> = (0..exact.len()).collect();
    by_rest.sort_by(|&a, &b| exact[b].fract().total_cmp(&exact[a].fract()).then(a.cmp(&b)));
    let left = 100usize.saturating_sub(whole.iter().sum::<u32>() as usize);
    by_rest.into_iter().take(left).for_each(|i| whole[i] += 1);
    whole
}

/// The error of a difference is taken as twice what leaving out every second station changes of it (the same as for a lap).
pub(crate) const MESH_FACTOR: f64 = 2.0;
/// No difference is known better than a lap, s.
pub(crate) const FLOOR_S: f64 = 1e-5;

/// Estimate of the numerical error of the difference of two cars' times, s: from what it is on every second station; where
/// there is no lap on those, from the errors of both laps.
pub(crate) fn difference_error(full: f64, half: Option<f64>, cars: [&Car; 2], legs: &[Leg]) -> f64 {
    let total: f64 = legs.iter().map(|leg| leg.weight).sum();
    let of_laps = || -> f64 {
        let error = |leg: &Leg, car: &Car| sound_lap(leg.course, car).map_or(0.0, |lap| leg.weight / total * lap.error);
        legs.iter().map(|leg| cars.iter().map(|car| error(leg, car)).sum::<f64>()).sum()
    };
    half.map_or_else(of_laps, |half| MESH_FACTOR * (full - half).abs()).max(FLOOR_S)
}

/// The car on each track, each track's own uncertain numbers off by `z` standard deviations; `None` where one is none.
pub(crate) fn on_days(car: &Car, legs: &[Leg], z: &[f64]) -> Option<Vec<Car>> {
    let mut rest = z;
    let on_day = |leg: &Leg| {
        let day = leg.course.day();
        let mut on = car.on(day);
        let (own, after) = rest.split_at(leg.inputs.len().min(rest.len()));
        rest = after;
        shift_all(&mut on, leg.inputs, own)?;
        on.is_possible().then(|| carried(on, day))
    };
    legs.iter().map(on_day).collect()
}

/// The weighted mean of the lap times of such a car, s; `None` where one has no lap.
pub(crate) fn mean_time(car: &Car, legs: &[Leg], z: &[f64]) -> Option<f64> {
    mean_time_of(&on_days(car, legs, z)?, legs, Course::time)
}

/// What lap time a car has on a course, on all of its stations or on few.
pub(crate) type TimeOf = fn(&Course, &Car) -> Result<f64, LapError>;

/// The same of a car of its own for each track.
pub(crate) fn mean_time_of(cars: &[Car], legs: &[Leg], time: TimeOf) -> Option<f64> {
    let total: f64 = legs.iter().map(|leg| leg.weight).sum();
    cars.iter().zip(legs).try_fold(0.0, |sum, (car, leg)| {
        let time = time(leg.course, car).ok().filter(|t| t.is_finite())?;
        Some(sum + leg.weight / total * time)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn closed_form_shares_add_up_to_a_hundred() {
        assert_eq!(whole_percent(&[1.0; 3]), [34, 33, 33]);
        assert_eq!(whole_percent(&[3.0, 1.0]), [75, 25]);
        assert_eq!(whole_percent(&[1.0, 1.0, 4.0]), [17, 16, 67]);
        assert_eq!(whole_percent(&[1e-9, 1.0]), [0, 100]);
        assert!(whole_percent(&[]).is_empty());
        for n in 1..40 {
            let shares: Vec<f64> = (0..n).map(|i| 1.0 + f64::from(i * i % 7)).collect();
            assert_eq!(whole_percent(&shares).iter().sum::<u32>(), 100);
        }
    }
}
