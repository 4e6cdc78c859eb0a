//! A track of a study, its weight in the mix and its own uncertain numbers.

use unladen_lap::Course;

use crate::error::WorthError;
use crate::input::Input;

/// A track of a study.
#[derive(Clone, Copy)]
pub struct Leg<'a> {
    /// The track, ready to be lapped.
    pub course: &'a Course,
    /// Its weight in the mix, > 0; only ratios count.
    pub weight: f64,
    /// What is uncertain of the track itself: its grip, its air.
    pub inputs: &'a [Input],
}

impl<'a> Leg<'a> {
    /// Of weight 1, with nothing uncertain.
    pub fn new(course: &'a Course) -> Self {
        Self { course, weight: 1.0, inputs: &[] }
    }

    /// The track's name.
    pub fn name(&self) -> String {
        self.course.track().name.clone()
    }
}

/// Each track's share of the mix.
///
/// # Errors
/// [`WorthError`] where there is no track, or a weight that is no share of anything.
pub(crate) fn shares(legs: &[Leg]) -> Result<Vec<f64>, WorthError> {
    for leg in legs {
        if !(leg.weight > 0.0 && leg.weight.is_finite()) {
            return Err(WorthError::Weight { track: leg.name(), weight: leg.weight });
        }
    }
    let total: f64 = legs.iter().map(|leg| leg.weight).sum();
    if legs.is_empty() { Err(WorthError::NoTrack) } else { Ok(legs.iter().map(|leg| leg.weight / total).collect()) }
}
