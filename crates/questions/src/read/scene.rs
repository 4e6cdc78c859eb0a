//! The car, the tracks and the day that a question about laps is asked of.

use std::path::PathBuf;

use unladen_garage::{TrackFile, Uncertainty};
use unladen_lap::STEP_M;
use unladen_study::Input;
use unladen_track::Track;

use crate::stands::standing::Standing;
use crate::stands::state::State;

/// Which car, on which tracks, on which day.
#[derive(Clone, Debug, PartialEq)]
pub struct Scene {
    /// A car: its car.toml, or the folder that holds one.
    pub car: PathBuf,
    /// Tracks: their TOML files, each with its weight in the mix; only ratios count.
    pub tracks: Vec<(PathBuf, f64)>,
    /// The state in which the car is asked about; as it stands where nothing is said.
    pub state: State,
    /// Values of these files to be changed, as `KEY=VALUE` with a unit, `mass.total=1200kg`, or `KEY+=`, `KEY-=`, `KEY*=`.
    pub set: Vec<String>,
    /// The day's grip in place of the tracks': 1 dry, about 0.6 wet.
    pub grip: Option<f64>,
    /// Distance between the solver's stations, about, m.
    pub step_m: f64,
}

impl Scene {
    /// A car on tracks that count alike, all as their files have it.
    pub fn new<P: Into<PathBuf>>(car: impl Into<PathBuf>, tracks: impl IntoIterator<Item = P>) -> Self {
        let tracks = tracks.into_iter().map(|track| (track.into(), 1.0)).collect();
        Self { car: car.into(), tracks, state: State::default(), set: Vec::new(), grip: None, step_m: STEP_M }
    }
}

/// A car and tracks, read.
#[derive(Clone, Debug)]
pub struct Inputs {
    /// The car in its state.
    pub car: Standing,
    /// Each track with its weight.
    pub tracks: Vec<(TrackFile, f64)>,
}

impl Inputs {
    /// The tracks without what their files say besides.
    pub fn of_tracks(&self) -> Vec<Track> {
        self.tracks.iter().map(|(file, _)| file.track.clone()).collect()
    }
}

/// Uncertain numbers, for a study.
pub fn uncertain(file: &[Uncertainty]) -> Vec<Input> {
    file.iter().map(|u| Input { key: u.key.clone(), sd: u.sd, onto: u.onto.clone() }).collect()
}
