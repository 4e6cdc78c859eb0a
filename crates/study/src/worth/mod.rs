//! What a kilogram and a millimetre are worth (`docs/model.md` §8).

pub(crate) mod figures;
pub(crate) mod kink;
pub(crate) mod known;
pub(crate) mod mix;
pub(crate) mod place;

use rayon::prelude::*;
use unladen_lap::Limit;
use unladen_vehicle::Car;
use unladen_vehicle::car::Mass;

use crate::input::caveat::Caveat;
use crate::input::error::StudyError;
use crate::input::leg::{Leg, shares};
use crate::input::unknown::{Input, two_sided_sd};
use crate::uncertainty::paired::of_tracks;
use crate::worth::figures::SPOTS;
use crate::worth::known::{Effect, Known, explore};
use crate::worth::mix::mix;
use crate::worth::place::{Spot, named_spots, s_per_kg_at};

/// The car of a study.
#[derive(Clone, Debug)]
pub struct Subject<'a> {
    /// The car as it laps.
    pub car: &'a Car,
    /// What is uncertain of it.
    pub inputs: &'a [Input],
    /// Places at which a kilogram is asked for.
    pub spots: Vec<Spot>,
}

impl<'a> Subject<'a> {
    /// A car of which every number is certain, with the six places of [`named_spots`].
    pub fn new(car: &'a Car) -> Self {
        Self { car, inputs: &[], spots: named_spots(car, None) }
    }
}

/// A derivative of the lap time with all that is known about it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Quantity {
    /// Its value.
    pub value: f64,
    /// Estimate of its numerical error, same unit.
    pub error: f64,
    /// One standard deviation from the uncertain inputs, where there are any.
    pub sd: Option<f64>,
    /// Where a limit changes hands: the values (towards less, towards more).
    pub one_sided: Option<(f64, f64)>,
}

impl Quantity {
    /// A smooth one without given uncertainty.
    pub fn new(value: f64, error: f64) -> Self {
        Self { value, error, sd: None, one_sided: None }
    }
}

/// What one more kilogram costs at a place in the car.
#[derive(Clone, Debug, PartialEq)]
pub struct WorthPlace {
    /// The place.
    pub spot: Spot,
    /// w, s/kg.
    pub s_per_kg: Quantity,
}

/// What a car's mass and CG are worth on a track, or on a mix of tracks.
#[derive(Clone, Debug, PartialEq)]
pub struct Worth {
    /// The track's name, or the mix's.
    pub track: String,
    /// Lap time, s.
    pub lap_time_s: f64,
    /// Estimate of its numerical error, s.
    pub lap_time_error_s: f64,
    /// Its standard deviation from the uncertain inputs, s.
    pub lap_time_sd_s: Option<f64>,
    /// ∂T/∂m: mass added at the centre of gravity.
    pub s_per_kg: Quantity,
    /// ∂T/∂h: the centre of gravity raised.
    pub s_per_mm_height: Quantity,
    /// ∂T/∂a: the centre of gravity moved rearward.
    pub s_per_mm_rearward: Quantity,
    /// ∂T/∂y_cg: the centre of gravity moved to the right.
    pub s_per_mm_right: Quantity,
    /// w at the subject's places.
    pub places: Vec<WorthPlace>,
    /// Share of the lap time that each limit rules, in the order of [`Limit::ALL`].
    pub limits: [f64; Limit::ALL.len()],
    /// (m/T) ∂T/∂m: per cent of lap time for a per cent of mass.
    pub elasticity: f64,
    /// What to know besides.
    pub caveats: Vec<Caveat>,
    /// Where along the lap the seconds come from; a mix has no one lap.
    pub along: Option<Along>,
    /// What the ± hang on, in the order of the files.
    pub hangs_on: Vec<Weight>,
}

/// What an uncertain number has in the ± of lap time and slopes.
#[derive(Clone, Debug, PartialEq)]
pub struct Weight {
    /// Its dotted key.
    pub key: String,
    /// One standard deviation, SI.
    pub sd: f64,
    /// Its share in the variance of lap time, s/kg, s/mm of height, rearward and right.
    pub shares: [f64; 5],
}

impl Worth {
    /// w(x, y, z) (`docs/model.md` §8) at any place of a car of this mass, m behind the front axle, right of the
    /// middle, above ground: what one more kilogram costs there, s/kg.
    pub fn s_per_kg_at(&self, mass: &Mass, at: [f64; 3]) -> f64 {
        let slopes = [self.s_per_kg, self.s_per_mm_height, self.s_per_mm_rearward, self.s_per_mm_right];
        s_per_kg_at(slopes.map(|slope| slope.value), mass, at)
    }
}

/// Derivatives of the time up to each station: where along the lap the seconds come from.
#[derive(Clone, Debug, PartialEq)]
pub struct Along {
    /// Distance of the stations from the start, in plan, m.
    pub s_m: Vec<f64>,
    /// ∂t/∂m, s/kg.
    pub s_per_kg: Vec<f64>,
    /// ∂t/∂h, s/mm.
    pub s_per_mm_height: Vec<f64>,
    /// ∂t/∂a, s/mm.
    pub s_per_mm_rearward: Vec<f64>,
    /// ∂t/∂y_cg, s/mm.
    pub s_per_mm_right: Vec<f64>,
    /// The same of w at each of the subject's places, s/kg.
    pub places: Vec<Vec<f64>>,
}

/// What [`worth`] finds.
#[derive(Clone, Debug, PartialEq)]
pub struct Study {
    /// Each track.
    pub tracks: Vec<Worth>,
    /// The mix, by the tracks' weights; of one track that track.
    pub mix: Worth,
}

/// What a kilogram and a millimetre are worth on each track and on the weighed mix.
///
/// Standard deviations come from full laps with each uncertain input one standard deviation lower and higher,
/// σ² = Σ ½ (Δ₋² + Δ₊²): for what is linear in an input that is the usual sum of squares; what bends or kinks within
/// the uncertainty is not missed, as it would be by a slope.
///
/// # Errors
/// [`StudyError`] where there is no track or no lap.
pub fn worth(subject: &Subject, legs: &[Leg]) -> Result<Study, StudyError> {
    shares(legs)?;
    let explored: Vec<Known> = legs
        .par_iter()
        .map(|leg| explore(leg, subject.car, subject.inputs, &subject.spots))
        .collect::<Vec<_>>()
        .into_iter()
        .collect::<Result<_, _>>()?;
    let weights: Vec<f64> = legs.iter().map(|leg| leg.weight).collect();
    let publish = |known: &Known, legs: &[Leg]| publish(known, subject, legs);
    let mix = match &explored[..] {
        [] => return Err(StudyError::NoTrack),
        [only] => publish(only, legs),
        several => publish(&mix(several, &weights, subject.inputs.len()), legs),
    };
    Ok(Study { tracks: explored.iter().zip(legs).map(|(known, leg)| publish(known, &[*leg])).collect(), mix })
}

fn publish(known: &Known, subject: &Subject, legs: &[Leg]) -> Worth {
    let quantity = |i: usize| Quantity {
        value: known.figures[i],
        error: known.errors[i],
        sd: sd(&known.effects, i),
        one_sided: known.one_sided[i].map(|[minus, plus]| (minus, plus)),
    };
    let place = |(i, spot): (usize, &Spot)| WorthPlace { spot: spot.clone(), s_per_kg: quantity(SPOTS + i) };
    let (time, per_kg) = (known.figures[0], known.figures[1]);
    Worth {
        track: known.name.clone(),
        lap_time_s: time,
        lap_time_error_s: known.errors[0],
        lap_time_sd_s: sd(&known.effects, 0),
        s_per_kg: quantity(1),
        s_per_mm_height: quantity(2),
        s_per_mm_rearward: quantity(3),
        s_per_mm_right: quantity(4),
        places: subject.spots.iter().enumerate().map(place).collect(),
        limits: known.limits,
        elasticity: subject.car.mass.m / time * per_kg,
        caveats: known.caveats.clone(),
        along: known.along.clone(),
        hangs_on: hangs_on(known, subject, legs),
    }
}

/// The shares of the car's inputs, then of the tracks' own.
fn hangs_on(known: &Known, subject: &Subject, legs: &[Leg]) -> Vec<Weight> {
    let of_car = subject.inputs.iter().map(|input| (input.key.clone(), input.sd));
    let own = of_tracks(legs, |_| "").into_iter().map(|unknown| (unknown.name, unknown.sd));
    let square = |effect: &Effect, figure: usize| {
        let sides: Vec<f64> = effect.sides.iter().flatten().map(|side| side[figure].powi(2)).collect();
        sides.iter().sum::<f64>() / (sides.len() as f64).max(1.0)
    };
    let whole: [f64; 5] = std::array::from_fn(|i| known.effects.iter().map(|effect| square(effect, i)).sum());
    let share =
        |effect: &Effect| std::array::from_fn(|i| if whole[i] > 0.0 { square(effect, i) / whole[i] } else { 0.0 });
    let named = of_car.chain(own).zip(&known.effects);
    named.map(|((key, sd), effect)| Weight { key, sd, shares: share(effect) }).collect()
}

/// σ of a figure; `None` where nothing is uncertain, or where an input has no lap on either side.
fn sd(effects: &[Effect], figure: usize) -> Option<f64> {
    if effects.is_empty() {
        return None;
    }
    let of_figure = |effect: &Effect| effect.sides.each_ref().map(|side| side.as_ref().map(|side| side[figure]));
    two_sided_sd(effects.iter().map(of_figure))
}
