//! The demo files, for every test of this folder.
#![allow(dead_code, clippy::unwrap_used)]

use std::path::{Path, PathBuf};
use std::sync::Arc;

use unladen_garage::{CarFile, FileErrors, Overrides, Source, TrackFile, parse_car, parse_track};

pub fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

/// Every `vehicles/*/car.toml`.
pub fn cars() -> Vec<PathBuf> {
    let mut cars: Vec<_> = std::fs::read_dir(root().join("vehicles"))
        .unwrap()
        .map(|e| e.unwrap().path().join("car.toml"))
        .filter(|p| p.is_file())
        .collect();
    cars.sort();
    assert!(cars.len() >= 3, "{cars:?}");
    cars
}

/// Every `tracks/*.toml`.
pub fn tracks() -> Vec<PathBuf> {
    let mut tracks: Vec<_> = std::fs::read_dir(root().join("tracks"))
        .unwrap()
        .map(|e| e.unwrap().path())
        .filter(|p| p.extension().is_some_and(|e| e == "toml"))
        .collect();
    tracks.sort();
    assert!(tracks.len() >= 3, "{tracks:?}");
    tracks
}

pub fn text(path: &Path) -> String {
    std::fs::read_to_string(path).unwrap()
}

pub fn saloon() -> String {
    text(&root().join("vehicles/saloon-awd/car.toml"))
}

pub fn car(text: &str) -> Result<CarFile, FileErrors> {
    parse_car(&Source::new("car.toml", text), &Overrides::none())
}

pub fn track(toml: &str, csv: &str) -> Result<TrackFile, FileErrors> {
    parse_track(&Source::new("track.toml", toml), &Overrides::none(), None, |_| {
        Ok::<Arc<Source>, _>(Source::new("track.csv", csv))
    })
}

pub const CIRCUIT: &str = "schema = 1\nname = \"t\"\nclosed = true\nsegments = \"track.csv\"\n";
pub const COURSE: &str =
    "schema = 1\nname = \"t\"\nclosed = false\nstart_speed = \"0 km/h\"\nsegments = \"track.csv\"\n";
/// A circle of 100 m radius.
pub const CIRCLE: &str = "length_m,curvature_start_1pm,curvature_end_1pm\n628.3185307,0.01,0.01\n";
