//! Over power and grip: where each of two cars is quicker.

use unladen_lap::Course;
use unladen_vehicle::Car;

use crate::input::leg::{Leg, TimeOf, mean_time_of};
use crate::threads::{each, each_of};

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
fn time_at(car: &Car, legs: &[Leg], (power, grip): (f64, f64), time: TimeOf) -> Option<f64> {
    let on_track = |leg: &Leg| {
        let factor = grip / leg.course.track().grip;
        let mut car = car.clone();
        car.engine.power *= power;
        for used in [&mut car.driver.cornering, &mut car.driver.braking, &mut car.driver.traction] {
            *used *= factor;
        }
        car
    };
    mean_time_of(&legs.iter().map(on_track).collect::<Vec<_>>(), legs, time)
}

/// What the second gains, s, by laps on all stations or on few.
fn gain_at(cars: [&Car; 2], legs: &[Leg], at: (f64, f64), time: TimeOf) -> Option<f64> {
    Some(time_at(cars[0], legs, at, time)? - time_at(cars[1], legs, at, time)?)
}

/// Every cell, power by power, each over all grips.
pub fn crossover(cars: [&Car; 2], legs: &[Leg], powers: &[f64], grips: &[f64]) -> Vec<Cell> {
    let all: Vec<(f64, f64)> = powers.iter().flat_map(|&p| grips.iter().map(move |&g| (p, g))).collect();
    let cell = |&at: &(f64, f64)| {
        let times_s = cars.map(|car| time_at(car, legs, at, Course::time));
        Cell { power: at.0, grip: at.1, times_s }
    };
    each_of(&all, cell)
}

/// How far off a crossing may be found, of a step of the map.
const CLOSE: f64 = 2e-3;
/// Looks for one at most.
const MOST: usize = 12;

/// Where the gain changes its sign along rising `points`, found by laps between them. What is no larger than its own
/// numerical error has no sign. `gain`: by laps on all stations, or on few; these are looked at everywhere, those at both
/// ends and where a crossing is.
fn crossings(points: &[f64], error: f64, gain: impl Fn(f64, bool) -> Option<f64> + Sync) -> Vec<Crossing> {
    let Some((first, last)) = points.first().zip(points.last()) else { return Vec::new() };
    let off = |x: f64| Some(gain(x, true)? - gain(x, false)?);
    let ends = [off(*first), off(*last)];
    let at = |x: f64| -> Option<f64> {
        let share = if last > first { (x - first) / (last - first) } else { 0.0 };
        match ends {
            [Some(a), Some(b)] => Some(gain(x, false)? + a + share * (b - a)),
            _ => gain(x, true),
        }
    };
    let values: Vec<(f64, Option<f64>)> = each_of(points, |&x| (x, at(x)));
    let told: Vec<(f64, Option<f64>)> = values.into_iter().filter(|(_, v)| v.is_none_or(|v| v.abs() > error)).collect();
    let look = |pair: &[(f64, Option<f64>)]| -> Option<Crossing> {
        let (a, b) = ((pair[0].0, pair[0].1?), (pair[1].0, pair[1].1?));
        if (a.1 > 0.0) == (b.1 > 0.0) {
            return None;
        }
        let close = CLOSE * (b.0 - a.0);
        let near = zero(a, b, close, &at)?;
        let off = off(near)? - (at(near)? - gain(near, false)?);
        let found = zero((a.0, a.1 + off), (b.0, b.1 + off), close, &|x| Some(at(x)? + off))?;
        Some(Crossing { at: found, second_above: b.1 > 0.0 })
    };
    each(told.len().saturating_sub(1), |i| look(&told[i..i + 2])).into_iter().flatten().collect()
}

/// Where a function is zero between two places at which it has either sign: by secants that keep it between them (the
/// Illinois rule; M. Dowell and P. Jarratt, BIT 11, 1971). Where it has one sign at both, the end at which it is nearer.
fn zero(mut a: (f64, f64), mut b: (f64, f64), close: f64, f: &impl Fn(f64) -> Option<f64>) -> Option<f64> {
    if (a.1 > 0.0) == (b.1 > 0.0) {
        return Some(if a.1.abs() < b.1.abs() { a.0 } else { b.0 });
    }
    let (mut x, mut kept) = (a.0, None);
    for _ in 0..MOST {
        let last = x;
        x = b.0 - b.1 * (b.0 - a.0) / (b.1 - a.1);
        if (x - last).abs() < close {
            break;
        }
        let value = f(x)?;
        let like_a = (value > 0.0) == (a.1 > 0.0);
        let (end, other) = if like_a { (&mut a, &mut b) } else { (&mut b, &mut a) };
        *end = (x, value);
        if kept == Some(like_a) {
            other.1 *= 0.5;
        }
        kept = Some(like_a);
        if value == 0.0 || (b.0 - a.0).abs() < close {
            break;
        }
    }
    Some(x)
}

fn by(whole: bool) -> TimeOf {
    if whole { Course::time } else { Course::rough_time }
}

/// At which grips neither is quicker, both engines as they are; `error` is the numerical error of a difference, s.
pub fn over_grip(cars: [&Car; 2], legs: &[Leg], grips: &[f64], error: f64) -> Vec<Crossing> {
    crossings(grips, error, |grip, whole| gain_at(cars, legs, (1.0, grip), by(whole)))
}

/// At which factors on the torque neither is quicker, at this grip.
pub fn over_power(cars: [&Car; 2], legs: &[Leg], powers: &[f64], (grip, error): (f64, f64)) -> Vec<Crossing> {
    crossings(powers, error, |power, whole| gain_at(cars, legs, (power, grip), by(whole)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn closed_form_signs_change_where_they_do() {
        let points: Vec<f64> = (0..=10).map(f64::from).collect();
        // Few stations are off by this.
        let few = |x: f64, whole: bool| if whole { 0.0 } else { 0.02 * (1.0 + x).sin() };
        let found = crossings(&points, 1e-6, |x, whole| Some((x - 2.3) * (7.8 - x) + few(x, whole)));
        assert_eq!(found.iter().map(|c| c.second_above).collect::<Vec<_>>(), [true, false]);
        assert!((found[0].at - 2.3).abs() < 2e-3 && (found[1].at - 7.8).abs() < 2e-3, "{found:?}");
        // Noise about zero is no crossing; what lies beyond it on either side is.
        assert!(crossings(&points, 0.1, |x, _| Some(0.05 * (9.0 * x).sin())).is_empty());
        let across =
            crossings(&points, 0.1, |x, _| Some(if (4.0..7.0).contains(&x) { 0.01 * (x - 5.5) } else { x - 5.5 }));
        assert!(across.len() == 1 && (across[0].at - 5.5).abs() < 0.02, "{across:?}");
        assert!(crossings(&points, 0.1, |x, _| (x > 5.0).then_some(1.0)).is_empty());
        assert!(crossings(&[], 0.1, |_, _| None).is_empty() && crossings(&[1.0], 0.1, |_, _| Some(0.0)).is_empty());
    }
}
