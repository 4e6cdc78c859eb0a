//! Tracks made ready for a study.

use unladen_garage::TrackFile;
use unladen_lap::Course;
use unladen_study::{Input, Leg, whole_percent};
use unladen_track::Track;

use crate::error::Asked;
use crate::read::scene::uncertain;

/// More stations than this are not solved: memory would not hold them (about 2 kB each), and no track needs them.
const MOST_STATIONS: u64 = 500_000;

/// The track with its stations.
///
/// # Errors
/// [`Asked::TooLong`].
pub fn course(track: &Track, step_m: f64) -> Result<Course, Asked> {
    let segments = 2 * track.segments.len() as u64;
    let stations = (track.length() / step_m) as u64 + segments;
    if stations > MOST_STATIONS {
        let by_step = segments < MOST_STATIONS / 2;
        return Err(Asked::TooLong { track: track.name.clone(), stations, most: MOST_STATIONS, by_step });
    }
    Ok(Course::with_step(track, step_m))
}

/// Some tracks.
pub struct Roads {
    courses: Vec<Course>,
    weights: Vec<f64>,
    inputs: Vec<Vec<Input>>,
}

impl Roads {
    /// With stations about `step_m` apart.
    ///
    /// # Errors
    /// [`Asked::TooLong`].
    pub fn new(tracks: &[(TrackFile, f64)], step_m: f64) -> Result<Self, Asked> {
        Ok(Self {
            courses: tracks.iter().map(|(file, _)| course(&file.track, step_m)).collect::<Result<Vec<_>, _>>()?,
            weights: tracks.iter().map(|(_, weight)| *weight).collect(),
            inputs: tracks.iter().map(|(file, _)| uncertain(&file.uncertainties)).collect(),
        })
    }

    /// The tracks with their stations.
    pub fn courses(&self) -> &[Course] {
        &self.courses
    }

    /// For a study.
    pub fn legs(&self) -> Vec<Leg<'_>> {
        let parts = self.courses.iter().zip(&self.weights).zip(&self.inputs);
        parts.map(|((course, weight), inputs)| Leg { course, weight: *weight, inputs }).collect()
    }
}

/// The tracks in words: a name, or the names with their shares.
pub fn mixed(tracks: &[(TrackFile, f64)]) -> String {
    match tracks {
        [(file, _)] => file.track.name.clone(),
        several => {
            let weights: Vec<f64> = several.iter().map(|(_, weight)| *weight).collect();
            let share = |(percent, (file, _)): (u32, &(TrackFile, f64))| format!("{percent} % {}", file.track.name);
            whole_percent(&weights).into_iter().zip(several).map(share).collect::<Vec<_>>().join(", ")
        }
    }
}
