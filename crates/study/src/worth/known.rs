//! All that is found out about a car on one track, before it is published or mixed with other tracks.

use rayon::prelude::*;
use unladen_lap::{Lap, LapError, Limit};
use unladen_vehicle::Car;
use unladen_vehicle::car::OnDay;

use crate::input::caveat::Caveat;
use crate::input::error::StudyError;
use crate::input::leg::Leg;
use crate::input::sound::sound_lap;
use crate::input::unknown::Input;
use crate::worth::Along;
use crate::worth::figures::{Figures, NUMBERS, SPOTS, UNITS, figures, measure};
use crate::worth::kink;
use crate::worth::place::{Spot, factors};

/// What an uncertain input does to the figures, per standard deviation: down and up. `None` where there is no lap.
#[derive(Clone, Debug)]
pub(crate) struct Effect {
    pub(crate) sides: [Option<Figures>; 2],
}

/// All that is known of a car on a track or a mix.
#[derive(Clone, Debug)]
pub(crate) struct Known {
    pub(crate) name: String,
    pub(crate) figures: Figures,
    pub(crate) errors: Figures,
    /// Of the car's inputs, then of the tracks' own.
    pub(crate) effects: Vec<Effect>,
    /// (towards less, towards more) of each figure, at a kink.
    pub(crate) one_sided: Vec<Option<[f64; 2]>>,
    pub(crate) limits: [f64; Limit::ALL.len()],
    pub(crate) caveats: Vec<Caveat>,
    pub(crate) along: Option<Along>,
}

/// Laps the car, and what its uncertain numbers might make of it.
pub(crate) fn explore(leg: &Leg, car: &Car, inputs: &[Input], spots: &[Spot]) -> Result<Known, StudyError> {
    let course = leg.course;
    let lap = sound_lap(course, car)?;
    let derivatives = lap.derivatives(&NUMBERS);
    let (values, errors) = figures(&lap, &derivatives, spots);
    let not_finite = |what| StudyError::NotFinite { track: leg.name(), what };
    finite(&values).then_some(()).ok_or_else(|| not_finite("the lap time or one of its derivatives"))?;
    finite(&errors).then_some(()).ok_or_else(|| not_finite("a numerical error"))?;

    let all: Vec<&Input> = inputs.iter().chain(leg.inputs).collect();
    let (effects, (one_sided, steps)) = rayon::join(
        || all.par_iter().map(|input| effect(leg, lap.on_day(), input, spots, &values)).collect::<Vec<_>>(),
        || {
            rayon::join(
                || kink::one_sided(course, &lap, spots, &errors),
                || kink::steps(course, &lap, &values[1..SPOTS]),
            )
        },
    );
    let (effects, told): (Vec<_>, Vec<_>) = effects.into_iter().unzip();
    let sides = effects.iter().flat_map(|e: &Effect| &e.sides).flatten();
    if !sides.into_iter().all(|side| finite(side)) {
        return Err(not_finite("the effect of an uncertain number"));
    }
    let mut caveats = Caveat::of(course, &lap);
    caveats.extend(told.into_iter().flatten().chain(steps));
    let mut limits = [0.0; Limit::ALL.len()];
    for (own, (_, share)) in limits.iter_mut().zip(lap.shares()) {
        *own = share;
    }
    let along = Some(along(leg, &lap, &derivatives, spots));
    Ok(Known { name: leg.name(), figures: values, errors, effects, one_sided, limits, caveats, along })
}

fn finite(figures: &[f64]) -> bool {
    figures.iter().all(|x| x.is_finite())
}

/// What one input does: full laps at one standard deviation either way, not a slope.
fn effect(leg: &Leg, on: &OnDay, input: &Input, spots: &[Spot], at: &Figures) -> (Effect, Option<Caveat>) {
    let side = |sds: f64| -> Result<Figures, Option<LapError>> {
        let (car, sds) = input.moved(on, sds).ok_or(None)?;
        let moved = measure(leg.course, &car, spots)?;
        Ok(moved.iter().zip(at).map(|(moved, at)| (moved - at) / sds.abs()).collect())
    };
    let (down, up) = rayon::join(|| side(-1.0), || side(1.0));
    let key = input.key.clone();
    let caveat = match (&down, &up) {
        (Ok(_), Ok(_)) => None,
        (Err(_), Err(_)) => Some(Caveat::NoSide { key }),
        (Err(why), Ok(_)) | (Ok(_), Err(why)) => Some(Caveat::OneSide { key, why: why.clone() }),
    };
    (Effect { sides: [down.ok(), up.ok()] }, caveat)
}

/// Where along the lap the seconds come from.
fn along(leg: &Leg, lap: &Lap, derivatives: &[unladen_lap::Derivative], spots: &[Spot]) -> Along {
    let sum = |factors: [f64; 4]| {
        let stations = derivatives.first().map_or(0, |d| d.along.len());
        (0..stations).map(|s| derivatives.iter().zip(factors).map(|(d, f)| d.along[s] * f).sum()).collect()
    };
    let only = |i: usize| sum(std::array::from_fn(|j| if i == j { UNITS[i] } else { 0.0 }));
    Along {
        s_m: leg.course.stations(),
        s_per_kg: only(0),
        s_per_mm_height: only(1),
        s_per_mm_rearward: only(2),
        s_per_mm_right: only(3),
        places: spots.iter().map(|spot| sum(factors(&lap.car().mass, spot.at))).collect(),
    }
}
