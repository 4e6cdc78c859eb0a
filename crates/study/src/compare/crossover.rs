//! Over power and grip: where each of two cars is quicker.

use unladen_vehicle::Car;

use crate::input::leg::{Leg, mean_time_of};
use crate::threads::*;

/// One point of the map.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Cell {
    /// Factor on the torque of both engines.
    pub power: f64,
    /// The day's grip, in place of the tracks' own.
    pub grip: f64,
    /// Weighted mean lap times of the two, s; `None` where one has no lap.
    pub times_s: [Option<f64>; 2],
}

impl Cell {
    /// What the second car gains on the first, s.
    pub fn gain_s(&self) -> Option<f64> {
        Some(self.times_s[0]? - self.times_s[1]?)
    }
}

/// A crossing: where neither is quicker.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Crossing {
    /// Where, as a power or a grip.
    pub at: f64,
    /// The second car is quicker above it, the first below.
    pub second_above: bool,
}

/// The weighted mean lap time with a factor on the torque, at a day's grip.
///
/// Both tracks' and drivers' factors act as u γ_0 (`docs/model.md` §4): what the grip differs from a track's own, the
/// car carries.
pub fn time_at(car: &Car, legs: &[Leg], power: f64, grip: f64) -> Option<f64> {
    let on_track = |leg: &Leg| {
        let factor = grip / leg.course.track().grip;
        let mut car = car.clone();
        car.engine.power *= power;
        for used in [&mut car.driver.cornering, &mut car.driver.braking, &mut car.driver.traction] {
            *used *= factor;
        }
        car
    };
    mean_time_of(&legs.iter().map(on_track).collect::<Vec<_>>(), legs)
}

/// Every cell, power by power, each over all grips.
pub fn crossover(cars: [&Car; 2], legs: &[Leg], powers: &[f64], grips: &[f64]) -> Vec<Cell> {
    let all: Vec<(f64, f64)> = powers.iter().flat_map(|&p| grips.iter().map(move |&g| (p, g))).collect();
    all.into_par_iter()
        .map(|(power, grip)| Cell { power, grip, times_s: cars.map(|car| time_at(car, legs, power, grip)) })
        .collect()
}

/// Halvings of a step of the map: to a five-hundredth of it.
const HALVINGS: usize = 9;

/// Where the gain changes its sign along rising `points`, found by laps between them. What is no larger than its own
/// numerical error has no sign.
fn crossings(points: &[f64], error: f64, gain: impl Fn(f64) -> Option<f64> + Sync) -> Vec<Crossing> {
    let values: Vec<(f64, Option<f64>)> = points.par_iter().map(|&x| (x, gain(x))).collect();
    let told: Vec<(f64, Option<f64>)> = values.into_iter().filter(|(_, v)| v.is_none_or(|v| v.abs() > error)).collect();
    let look = |pair: &[(f64, Option<f64>)]| -> Option<Crossing> {
        let ((mut a, low), (mut b, high)) = ((pair[0].0, pair[0].1?), (pair[1].0, pair[1].1?));
        if (low > 0.0) == (high > 0.0) {
            return None;
        }
        for _ in 0..HALVINGS {
            let middle = 0.5 * (a + b);
            if (gain(middle)? > 0.0) == (low > 0.0) { a = middle } else { b = middle }
        }
        Some(Crossing { at: 0.5 * (a + b), second_above: high > 0.0 })
    };
    told.windows(2).collect::<Vec<_>>().into_par_iter().filter_map(look).collect()
}

/// At which grips neither is quicker, both engines as they are; `error` is the numerical error of a difference, s.
pub fn over_grip(cars: [&Car; 2], legs: &[Leg], grips: &[f64], error: f64) -> Vec<Crossing> {
    crossings(grips, error, |grip| Some(time_at(cars[0], legs, 1.0, grip)? - time_at(cars[1], legs, 1.0, grip)?))
}

/// At which factors on the torque neither is quicker, at this grip.
pub fn over_power(cars: [&Car; 2], legs: &[Leg], powers: &[f64], (grip, error): (f64, f64)) -> Vec<Crossing> {
    crossings(powers, error, |power| Some(time_at(cars[0], legs, power, grip)? - time_at(cars[1], legs, power, grip)?))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn closed_form_signs_change_where_they_do() {
        let points: Vec<f64> = (0..=10).map(f64::from).collect();
        let found = crossings(&points, 1e-6, |x| Some((x - 2.3) * (7.8 - x)));
        assert_eq!(found.iter().map(|c| c.second_above).collect::<Vec<_>>(), [true, false]);
        assert!((found[0].at - 2.3).abs() < 2e-3 && (found[1].at - 7.8).abs() < 2e-3, "{found:?}");
        // Noise about zero is no crossing; what lies beyond it on either side is.
        assert!(crossings(&points, 0.1, |x| Some(0.05 * (9.0 * x).sin())).is_empty());
        let across =
            crossings(&points, 0.1, |x| Some(if (4.0..7.0).contains(&x) { 0.01 * (x - 5.5) } else { x - 5.5 }));
        assert!(across.len() == 1 && (across[0].at - 5.5).abs() < 0.02, "{across:?}");
        assert!(crossings(&points, 0.1, |x| (x > 5.0).then_some(1.0)).is_empty());
        assert!(crossings(&[], 0.1, |_| None).is_empty() && crossings(&[1.0], 0.1, |_| Some(0.0)).is_empty());
    }
}
