//! Whether a lap's numbers mean anything.

use unladen_lap::{Course, Lap, LapError};
use unladen_vehicle::Car;

use crate::input::error::StudyError;
use crate::input::leg::Leg;

/// A lap whose numerical error is this share of its time, or that goes slower than this (m/s), says nothing.
const ERROR_SHARE: f64 = 0.1;
const SLOWEST_MPS: f64 = 0.01;

/// The lap of a car, if it is one that says something.
///
/// # Errors
/// [`StudyError::Lap`] where there is none, [`StudyError::Unsound`] where its numbers would mean nothing.
pub fn sound_lap(course: &Course, car: &Car) -> Result<Lap, StudyError> {
    let track = || course.track().name.clone();
    let lap = course.lap(car).map_err(|source| StudyError::Lap { track: track(), source })?;
    let slow = lap.time * SLOWEST_MPS > course.track().length();
    if slow || !lap.time.is_finite() || lap.error > ERROR_SHARE * lap.time {
        return Err(StudyError::Unsound { track: track() });
    }
    Ok(lap)
}

/// The same, for one of many laps.
pub(crate) fn quiet_lap(course: &Course, car: &Car) -> Result<Lap, Option<LapError>> {
    sound_lap(course, car).map_err(|error| match error {
        StudyError::Lap { source, .. } => Some(source),
        _ => None,
    })
}

/// Why a car has no lap on one of these tracks.
pub(crate) fn no_lap(car: &Car, legs: &[Leg]) -> StudyError {
    let why = legs.iter().find_map(|leg| sound_lap(leg.course, car).err());
    why.unwrap_or_else(|| StudyError::Unsound { track: legs.first().map_or_else(String::new, Leg::name) })
}
