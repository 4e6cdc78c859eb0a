//! Engine and gears: what of a car's file is a list.

use unladen_garage::Measured;

use crate::estimate::source::{NAUNHEIMER, Source};
use crate::estimate::{Class, Times, about};

/// What stands behind the torque curve, by what was given.
pub fn says_of_torque(class: &Class) -> &'static str {
    match class.given.torque {
        Some(_) => "through both points; in between and below by habit",
        None => "a free-breathing engine: most torque at 0.7 of the speed of most power",
    }
}

/// Where the curve's shape is from.
pub const TORQUE: Source = Source::Practice;

/// Full-throttle torque, N m, at engine speeds, rad/s.
///
/// At the speed of most power P/ω is known as well as the power. The limiter is at 1.08 of it, where power has fallen
/// by 5 %. Below, where no torque was given, a free-breathing engine; else through what was given.
pub fn torque(class: &Class) -> Vec<(f64, Measured)> {
    let (at, power) = (class.given.power_at, class.given.power);
    let of_power = power.times(1.0 / at);
    let mut points = match class.given.torque {
        Some((most, speed)) => vec![(0.4 * speed, about(0.78, 0.10).times(most.value)), (speed, most)],
        None => vec![
            (0.30 * at, about(0.90, 0.12).times(of_power.value)),
            (0.70 * at, about(1.13, 0.07).times(of_power.value)),
        ],
    };
    // Engines whose torque and power are at one speed have one point there.
    points.retain(|(speed, _)| *speed < 0.97 * at);
    points.push((at, of_power));
    points.push((1.08 * at, about(0.88, 0.04).times(of_power.value)));
    points
}

/// What stands behind the gears.
pub const GEARS_SAY: &str = "first to 55 km/h at the limiter, last for the top speed";
/// Where the steps between the gears are from.
pub const GEARS: Source = NAUNHEIMER;
/// Only products with it count, and the gears carry the ±.
pub const FINAL_DRIVE: f64 = 4.0;

const COUNT: usize = 5;
/// Each step is so many times the next one.
const PROGRESSION: f64 = 1.1;
/// Speed in first gear at the limiter, m/s.
const FIRST: f64 = 55.0 / 3.6;
/// How far each ratio may be off.
const OFF: f64 = 0.05;

/// Ratios, first gear first: the last such that most power is at the top speed, the first such that the limiter is at
/// 55 km/h; steps between them widen by a tenth each towards the first.
pub fn gears(class: &Class) -> Vec<Measured> {
    let over = |speed: f64, engine: f64| engine * class.radius / (speed * FINAL_DRIVE);
    let last = over(class.top_speed, class.given.power_at);
    let first = over(FIRST, 1.08 * class.given.power_at).max(1.8 * last);
    let steps = COUNT - 1;
    let widened: f64 = (0..steps).map(|i| PROGRESSION.powi(i as i32)).product();
    let least = (first / last / widened).powf(1.0 / steps as f64);
    let mut all = vec![last];
    for i in 0..steps {
        all.push(all[i] * least * PROGRESSION.powi(i as i32));
    }
    all.iter().rev().map(|ratio| about(*ratio, OFF * ratio)).collect()
}
