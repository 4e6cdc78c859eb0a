//! Reads what a command names: the car, its tracks, the values set for this run.

use std::path::{Path, PathBuf};

use unladen_garage::argument::WEIGHT;
use unladen_garage::{CarFile, FileErrors, Overrides, TrackFile, argument, read_car, read_track};
use unladen_lap::Course;
use unladen_study::Input;
use unladen_track::Track;

use crate::args::Run;
use crate::error::CliError;
use crate::output::warn;

/// A car and tracks, read.
pub struct Inputs {
    /// The car.
    pub car: CarFile,
    /// Each track with its weight.
    pub tracks: Vec<(TrackFile, f64)>,
}

/// Reads the car and the tracks; every fault of all of them at once. Warnings go to standard error.
pub fn read(car: &Path, tracks: &[(PathBuf, f64)], run: &Run) -> Result<Inputs, CliError> {
    read_with(car, tracks, &run.set, run.grip)
}

/// The same, with these values set and this grip.
pub fn read_with(car: &Path, tracks: &[(PathBuf, f64)], set: &[String], grip: Option<f64>) -> Result<Inputs, CliError> {
    let overrides = Overrides::parse(set).map_err(|e| CliError::Files(vec![e]))?;
    let mut errors: Vec<FileErrors> = Vec::new();
    let mut keep = |e: FileErrors| {
        // A fault in a --set is one of every file that it goes into.
        if errors.iter().all(|known| known.to_string() != e.to_string()) {
            errors.push(e);
        }
    };
    let car = read_car(car_file(car), &overrides).map_err(&mut keep).ok();
    let mut read = Vec::new();
    for (path, weight) in tracks {
        match read_track(path, &overrides, grip) {
            Ok(track) => read.push((track, *weight)),
            Err(e) => keep(e),
        }
    }
    let Some(car) = car.filter(|_| errors.is_empty()) else { return Err(CliError::Files(errors)) };
    warn(&car.warnings);
    for (track, _) in &read {
        warn(&track.warnings);
    }
    Ok(Inputs { car, tracks: read })
}

/// A car's file, where its folder was named.
pub fn car_file(path: &Path) -> PathBuf {
    let inside = path.join("car.toml");
    if path.is_dir() && inside.is_file() { inside } else { path.to_owned() }
}

/// `TRACK` or `TRACK=WEIGHT`; a file of that whole name comes first.
pub fn weighted(given: &str) -> Result<(PathBuf, f64), CliError> {
    let Some((track, weight)) = given.rsplit_once('=').filter(|_| !Path::new(given).exists()) else {
        return Ok((given.into(), 1.0));
    };
    match argument(weight, WEIGHT) {
        Ok(weight) => Ok((track.into(), weight)),
        Err(why) => Err(CliError::Weight { given: given.into(), track: track.into(), why }),
    }
}

/// More stations than this are not solved: memory would not hold them (about 2 kB each), and no track needs them.
const MOST_STATIONS: u64 = 500_000;

/// The track with its stations.
pub fn course(track: &Track, step_m: f64) -> Result<Course, CliError> {
    let segments = 2 * track.segments.len() as u64;
    let stations = (track.length() / step_m) as u64 + segments;
    if stations > MOST_STATIONS {
        let by_step = segments < MOST_STATIONS / 2;
        return Err(CliError::TooLong { track: track.name.clone(), stations, most: MOST_STATIONS, by_step });
    }
    Ok(Course::with_step(track, step_m))
}

/// Uncertain numbers, for a study.
pub fn uncertain(file: &[unladen_garage::Uncertainty]) -> Vec<Input> {
    file.iter().map(|u| Input { key: u.key.clone(), sd: u.sd, onto: u.onto.clone() }).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn closed_form_weights() {
        let path = |given: &str| weighted(given).map(|(path, weight)| (path.display().to_string(), weight)).ok();
        assert_eq!(path("a.toml"), Some(("a.toml".into(), 1.0)));
        assert_eq!(path("a.toml=2.5"), Some(("a.toml".into(), 2.5)));
        assert_eq!(path("x=y/a.toml=1"), Some(("x=y/a.toml".into(), 1.0)));
    }

    #[test]
    fn bad_input_weights() {
        for given in ["a.toml=", "a.toml=x", "a.toml=0", "a.toml=-1", "a.toml=nan", "a.toml=inf", "a.toml=1 kg"] {
            let error = weighted(given).unwrap_err().to_string();
            assert!(error.starts_with(given) && error.contains("a.toml=2"), "{error}");
        }
    }
}
