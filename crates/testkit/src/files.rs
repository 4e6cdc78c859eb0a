//! The demo files of `vehicles` and `tracks`.

use std::path::{Path, PathBuf};

/// The root of the repository.
pub fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..").canonicalize().unwrap()
}

/// Every `vehicles/*/car.toml`.
pub fn cars() -> Vec<PathBuf> {
    found("vehicles", |path| Some(path.join("car.toml")).filter(|car| car.is_file()))
}

/// Every `tracks/*.toml`.
pub fn tracks() -> Vec<PathBuf> {
    found("tracks", |path| Some(path).filter(|path| path.extension().is_some_and(|e| e == "toml")))
}

fn found(folder: &str, wanted: impl Fn(PathBuf) -> Option<PathBuf>) -> Vec<PathBuf> {
    let entries = std::fs::read_dir(root().join(folder)).unwrap();
    let mut all: Vec<_> = entries.filter_map(|e| wanted(e.unwrap().path())).collect();
    all.sort();
    assert!(all.len() >= 3, "{all:?}");
    all
}

/// What a file says.
pub fn text(path: &Path) -> String {
    std::fs::read_to_string(path).unwrap_or_else(|e| panic!("{}: {e}", path.display()))
}

/// Names of demo cars.
pub const CARS: [&str; 3] = ["saloon-awd", "saloon-rwd", "mid-engine"];
/// Names of demo tracks, for tests that need not try them all.
pub const TRACKS: [&str; 3] = ["airfield", "valley", "hillclimb"];

/// A demo car as the garage reads it.
#[cfg(feature = "files")]
pub fn demo_car_file(name: &str) -> unladen_garage::CarFile {
    let path = root().join("vehicles").join(name).join("car.toml");
    unladen_garage::read_car(path, &unladen_garage::Overrides::none()).unwrap_or_else(|e| panic!("{name}: {e}"))
}

/// A demo car as it laps.
#[cfg(feature = "files")]
pub fn demo_car(name: &str) -> unladen_vehicle::Car {
    demo_car_file(name).car
}

/// A demo track.
#[cfg(feature = "files")]
pub fn demo_track(name: &str) -> unladen_track::Track {
    let path = root().join("tracks").join(format!("{name}.toml"));
    let read = unladen_garage::read_track(path, &unladen_garage::Overrides::none(), None);
    read.unwrap_or_else(|e| panic!("{name}: {e}")).track
}
