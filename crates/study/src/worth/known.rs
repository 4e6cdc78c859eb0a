//! All that is found out about a car on one track, before it is published or mixed with other tracks.

use unladen_lap::{Course, Lap, Limit};
use unladen_vehicle::Car;

use crate::input::caveat::Caveat;
use crate::input::error::StudyError;
use crate::input::leg::Leg;
use crate::input::sound::sound_lap;
use crate::threads::join;
use crate::worth::Along;
use crate::worth::figures::{Figures, NUMBERS, SPOTS, UNITS, figures};
use crate::worth::kink;
use crate::worth::place::{Spot, factors};

/// All that is known of a car on a track or a mix.
#[derive(Clone, Debug)]
pub(crate) struct Known {
    pub(crate) name: String,
    pub(crate) figures: Figures,
    pub(crate) errors: Figures,
    /// (towards less, towards more) of each figure, at a kink.
    pub(crate) one_sided: Vec<Option<[f64; 2]>>,
    pub(crate) limits: [f64; Limit::ALL.len()],
    pub(crate) caveats: Vec<Caveat>,
    pub(crate) along: Option<Along>,
}

/// Laps the car.
pub(crate) fn explore(leg: &Leg, car: &Car, spots: &[Spot]) -> Result<Known, StudyError> {
    let course = leg.course;
    let lap = sound_lap(course, car)?;
    let derivatives = lap.derivatives(&NUMBERS);
    let (values, errors) = figures(&lap, &derivatives, spots);
    let not_finite = |what| StudyError::NotFinite { track: leg.name(), what };
    finite(&values).then_some(()).ok_or_else(|| not_finite("the lap time or one of its derivatives"))?;
    finite(&errors).then_some(()).ok_or_else(|| not_finite("a numerical error"))?;

    let (one_sided, steps) =
        join(|| kink::one_sided(course, &lap, spots, &errors), || kink::steps(course, &lap, &values[1..SPOTS]));
    let mut caveats = Caveat::of(course, &lap);
    caveats.extend(steps);
    let mut limits = [0.0; Limit::ALL.len()];
    for (own, (_, share)) in limits.iter_mut().zip(lap.shares()) {
        *own = share;
    }
    let along = Some(along(course, &lap, &derivatives, spots));
    Ok(Known { name: leg.name(), figures: values, errors, one_sided, limits, caveats, along })
}

fn finite(figures: &[f64]) -> bool {
    figures.iter().all(|x| x.is_finite())
}

/// Where along the lap the seconds come from.
pub(crate) fn along(course: &Course, lap: &Lap, derivatives: &[unladen_lap::Derivative], spots: &[Spot]) -> Along {
    let sum = |factors: [f64; 4]| {
        let stations = derivatives.first().map_or(0, |d| d.along.len());
        (0..stations).map(|s| derivatives.iter().zip(factors).map(|(d, f)| d.along[s] * f).sum()).collect()
    };
    let only = |i: usize| sum(std::array::from_fn(|j| if i == j { UNITS[i] } else { 0.0 }));
    Along {
        s_m: course.stations(),
        s_per_kg: only(0),
        s_per_mm_height: only(1),
        s_per_mm_rearward: only(2),
        s_per_mm_right: only(3),
        places: spots.iter().map(|spot| sum(factors(&lap.car().mass, spot.at))).collect(),
    }
}
