//! Tracks made ready for a study, and the same with stations twice as far apart, which tell numerical errors.

use unladen_garage::TrackFile;
use unladen_lap::Course;
use unladen_study::{Input, Leg};

use crate::error::CliError;
use crate::inputs::{course, uncertain};

/// Some tracks.
pub struct Roads {
    courses: [Vec<Course>; 2],
    weights: Vec<f64>,
    inputs: Vec<Vec<Input>>,
}

impl Roads {
    /// With stations about `step_m` apart.
    pub fn new(tracks: &[(TrackFile, f64)], step_m: f64) -> Result<Self, CliError> {
        let courses = |step| tracks.iter().map(|(file, _)| course(&file.track, step)).collect::<Result<Vec<_>, _>>();
        Ok(Self {
            courses: [courses(step_m)?, courses(2.0 * step_m)?],
            weights: tracks.iter().map(|(_, weight)| *weight).collect(),
            inputs: tracks.iter().map(|(file, _)| uncertain(&file.uncertainties)).collect(),
        })
    }

    /// For a study.
    pub fn legs(&self) -> Vec<Leg<'_>> {
        self.of(0)
    }

    /// The same with fewer stations.
    pub fn coarse(&self) -> Vec<Leg<'_>> {
        self.of(1)
    }

    fn of(&self, which: usize) -> Vec<Leg<'_>> {
        let parts = self.courses[which].iter().zip(&self.weights).zip(&self.inputs);
        parts.map(|((course, weight), inputs)| Leg { course, weight: *weight, inputs }).collect()
    }
}

/// The tracks in words: a name, or the names with their shares.
pub fn mixed(tracks: &[(TrackFile, f64)]) -> String {
    let total: f64 = tracks.iter().map(|(_, weight)| weight).sum();
    match tracks {
        [(file, _)] => file.track.name.clone(),
        several => {
            let share =
                |(file, weight): &(TrackFile, f64)| format!("{:.0} % {}", 100.0 * weight / total, file.track.name);
            several.iter().map(share).collect::<Vec<_>>().join(", ")
        }
    }
}
