//! Whether a lap's numbers mean anything.

use unladen_lap::{Course, Lap, LapError};
use unladen_vehicle::Car;

use crate::input::error::WorthError;

/// A lap whose numerical error is this share of its time, or that goes slower than this (m/s), says nothing.
const ERROR_SHARE: f64 = 0.1;
const SLOWEST_MPS: f64 = 0.01;

/// The lap of a car, if it is one that says something.
///
/// # Errors
/// [`WorthError::Lap`] where there is none, [`WorthError::Unsound`] where its numbers would mean nothing.
pub fn sound_lap(course: &Course, car: &Car) -> Result<Lap, WorthError> {
    let track = || course.track().name.clone();
    let lap = course.lap(car).map_err(|source| WorthError::Lap { track: track(), source })?;
    let slow = lap.time * SLOWEST_MPS > course.track().length();
    if slow || !lap.time.is_finite() || lap.error > ERROR_SHARE * lap.time {
        return Err(WorthError::Unsound { track: track() });
    }
    Ok(lap)
}

/// The same, for one of many laps.
pub(crate) fn quiet_lap(course: &Course, car: &Car) -> Result<Lap, Option<LapError>> {
    sound_lap(course, car).map_err(|error| match error {
        WorthError::Lap { source, .. } => Some(source),
        _ => None,
    })
}
