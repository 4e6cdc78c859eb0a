//! What mass and its place are worth by laps that are there already: slopes alone, for a picture that follows a hand.

use unladen_lap::{Lap, Limit};
use unladen_vehicle::Car;

use crate::input::error::StudyError;
use crate::input::leg::{Leg, shares};
use crate::worth::figures::{Figures, NUMBERS, SPOTS, figures};
use crate::worth::place::Spot;
use crate::worth::{Quantity, Worth, WorthPlace};

/// Of a car and its laps on these legs, one each: the weighted mean. Without ±, and without a look for kinks: those are
/// [`crate::worth`]'s.
///
/// # Errors
/// [`StudyError`] where there is no track, or a weight that is no share of anything.
pub fn slopes(car: &Car, laps: &[Lap], legs: &[Leg], spots: &[Spot]) -> Result<Worth, StudyError> {
    let shares = shares(legs)?;
    let (mut values, mut errors): (Figures, Figures) = (vec![0.0; SPOTS + spots.len()], vec![0.0; SPOTS + spots.len()]);
    let mut limits = [0.0; Limit::ALL.len()];
    for (lap, share) in laps.iter().zip(&shares) {
        let (value, error) = figures(lap, &lap.derivatives(&NUMBERS), spots);
        values.iter_mut().zip(value).for_each(|(sum, x)| *sum += share * x);
        errors.iter_mut().zip(error).for_each(|(sum, x)| *sum += share * x);
        limits.iter_mut().zip(lap.shares()).for_each(|(sum, (_, of))| *sum += share * of * lap.time);
    }
    let time_s = values[0];
    let of = |i: usize| Quantity::new(values[i], errors[i]);
    let place = |(i, spot): (usize, &Spot)| WorthPlace { spot: spot.clone(), s_per_kg: of(SPOTS + i) };
    Ok(Worth {
        track: legs.first().filter(|_| legs.len() == 1).map_or_else(|| "the mix".into(), Leg::name),
        lap_time_s: time_s,
        lap_time_error_s: errors[0],
        lap_time_sd_s: None,
        lap_time_interval_s: None,
        s_per_kg: of(1),
        s_per_mm_height: of(2),
        s_per_mm_rearward: of(3),
        s_per_mm_right: of(4),
        places: spots.iter().enumerate().map(place).collect(),
        limits: limits.map(|time| time / time_s),
        elasticity: car.mass.m / time_s * values[1],
        caveats: Vec::new(),
        along: None,
        hangs_on: Vec::new(),
    })
}
