//! What a change should gain: the same drawn car with and without it, what a kilogram is worth, and how the gain hangs on
//! each uncertain number.

use unladen_lap::Course;
use unladen_vehicle::Car;

use super::learn::Slope;
use super::verdict::Prediction;
use crate::input::error::StudyError;
use crate::input::leg::{Leg, difference_error, on_days, weighed};
use crate::input::sound::no_lap;
use crate::input::unknown::{Input, shift_all};
use crate::uncertainty::laps::{Driven, half_difference};
use crate::uncertainty::paired::{Paired, Sampling, Unknown, of_tracks, paired};
use crate::uncertainty::spread::Difference;

/// A car with and without a change.
#[derive(Clone, Copy, Debug)]
pub struct Changed<'a> {
    /// Without.
    pub before: &'a Car,
    /// With.
    pub after: &'a Car,
    /// Without, and a kilogram's worth tried: [`DOSE_KG`] more where the fuel is.
    pub heavier: &'a Car,
    /// What is uncertain of all of them.
    pub inputs: &'a [Input],
    /// What is uncertain of the change itself.
    pub own: &'a [Input],
}

/// Kilograms that a kilogram's worth is found by.
pub const DOSE_KG: f64 = 10.0;

/// What it should gain.
#[derive(Clone, Debug, PartialEq)]
pub struct Predicted {
    /// A lap without it, s.
    pub lap_s: f64,
    /// What it gains.
    pub gain: Difference,
    /// Numerical error of that, s.
    pub error_s: f64,
    /// What a kilogram costs, s, and its standard deviation.
    pub s_per_kg: (f64, f64),
    /// What is not known.
    pub unknowns: Vec<Unknown>,
    /// How the gain hangs on what is uncertain of the car.
    pub slopes: Vec<Slope>,
    /// What it is unsure of besides, s: the change's own, the tracks', what slopes don't tell.
    pub rest_s: f64,
}

impl Predicted {
    /// For a seal.
    pub fn prediction(&self) -> Prediction {
        let [low, high] = self.gain.interval;
        let sd_s = self.gain.sd.hypot(self.error_s);
        Prediction { gain_s: self.gain.median, sd_s, interval: [low - self.error_s, high + self.error_s] }
    }
}

const BEFORE: usize = 0;
const AFTER: usize = 1;
const HEAVIER: usize = 2;

struct Cars<'a> {
    of: Changed<'a>,
    legs: &'a [Leg<'a>],
    unknowns: Vec<Unknown>,
}

impl Cars<'_> {
    fn car(&self, side: usize, z: &[f64]) -> Option<Car> {
        let mut car = [self.of.before, self.of.after, self.of.heavier][side].clone();
        let inputs = self.of.inputs.len().min(z.len());
        shift_all(&mut car, self.of.inputs, &z[..inputs])?;
        if side == AFTER {
            shift_all(&mut car, self.of.own, &z[inputs..])?;
        }
        car.is_possible().then_some(car)
    }

    fn of_tracks<'z>(&self, z: &'z [f64]) -> &'z [f64] {
        z.get(self.of.inputs.len() + self.of.own.len()..).unwrap_or(&[])
    }
}

impl Driven for Cars<'_> {
    fn doubts(&self) -> &[Unknown] {
        &self.unknowns
    }

    fn sides(&self) -> usize {
        3
    }

    fn depends(&self, side: usize, unknown: usize) -> bool {
        let own = self.of.inputs.len()..self.of.inputs.len() + self.of.own.len();
        side == AFTER || !own.contains(&unknown)
    }

    fn laps(&self) -> Vec<(&Course, f64)> {
        weighed(self.legs)
    }

    fn cars(&self, side: usize, z: &[f64]) -> Option<Vec<Car>> {
        on_days(&self.car(side, z)?, self.legs, self.of_tracks(z))
    }
}

/// Laps all of it.
///
/// # Errors
/// [`StudyError`] where one of the cars has no lap.
pub fn predict(of: Changed, legs: &[Leg], sampling: Sampling) -> Result<Predicted, StudyError> {
    let named = |input: &Input| Unknown { name: input.key.clone(), sd: input.sd, unit: String::new() };
    let mut unknowns: Vec<Unknown> = of.inputs.iter().chain(of.own).map(named).collect();
    unknowns.extend(of_tracks(legs, |_| ""));
    let cars = Cars { of, legs, unknowns };
    let found = paired(&cars, &[(AFTER, BEFORE), (BEFORE, HEAVIER)], sampling);
    let found = found.map_err(|e| {
        let crate::uncertainty::paired::PairedError::NoLap { side } = e;
        no_lap([of.before, of.after, of.heavier][side], legs)
    })?;
    let [gain, kg] = &found.differences[..] else { return Err(no_lap(of.before, legs)) };
    let half = half_difference(&cars, BEFORE, AFTER);
    let all = slopes(&found, cars.unknowns.len());
    let of_car = of.inputs.len();
    let told: f64 = all[..of_car].iter().map(|s| s * s).sum();
    let slopes = of.inputs.iter().zip(&all).map(|(input, s)| Slope { key: input.key.clone(), gain_s: *s }).collect();
    Ok(Predicted {
        lap_s: found.nominal[BEFORE],
        error_s: difference_error(gain.gain, half, [of.before, of.after], legs),
        s_per_kg: (kg.median / DOSE_KG, kg.sd / DOSE_KG),
        rest_s: (gain.sd * gain.sd - told).max(0.0).sqrt(),
        gain: gain.clone(),
        unknowns: cars.unknowns,
        slopes,
    })
}

/// The gain of the change per standard deviation of each unknown; none where it has no lap on either side.
fn slopes(found: &Paired, unknowns: usize) -> Vec<f64> {
    let gain = found.nominal[BEFORE] - found.nominal[AFTER];
    let end = |unknown: usize, k: usize| -> Option<(f64, f64)> {
        let at = |side: usize| {
            let step = found.steps[unknown][side];
            if step.still { Some((None, found.nominal[side])) } else { step.ends[k].map(|(off, t)| (Some(off), t)) }
        };
        let (before, after) = (at(BEFORE)?, at(AFTER)?);
        let off = match (before.0, after.0) {
            (Some(a), Some(b)) if a != b => return None,
            (a, b) => a.or(b)?,
        };
        Some((off, before.1 - after.1))
    };
    let slope = |unknown: usize| match [end(unknown, 0), end(unknown, 1)] {
        [Some(down), Some(up)] => (up.1 - down.1) / (up.0 - down.0),
        [Some((off, then)), None] | [None, Some((off, then))] => (then - gain) / off,
        [None, None] => 0.0,
    };
    (0..unknowns).map(slope).collect()
}
