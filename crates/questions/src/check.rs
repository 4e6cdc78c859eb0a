//! Faults in files, whatever kind each is; of a car's folder in all of them, and in what they say of one another.

use std::path::{Path, PathBuf};

use unladen_garage::{
    CarFile, Checked, FileErrors, Files, Overrides, Warning, areas_outside, check_one, readings_differ,
};

use crate::read::project::size;

/// Some files: cars (files or folders), tracks, segments, ledgers, areas, scale readings.
#[derive(Clone, Debug, PartialEq)]
pub struct Question {
    /// Where they are.
    pub files: Vec<PathBuf>,
}

/// What was found in a file.
#[derive(Debug)]
pub struct Found {
    /// Which.
    pub path: PathBuf,
    /// What it is, warnings with it; or every fault of it.
    pub what: Result<Checked, FileErrors>,
    /// Where it and another file of its folder speak of the same, and differ.
    pub beside: Vec<Warning>,
}

impl Question {
    /// Reads each; its kind follows from what it says. A folder that holds a car is read whole: the car, its ledger and
    /// areas, and every TOML file of readings or of a track.
    pub fn answer(&self, files: &dyn Files) -> Vec<Found> {
        self.files.iter().flat_map(|path| of_path(files, path)).collect()
    }
}

fn of_path(files: &dyn Files, path: &Path) -> Vec<Found> {
    let car = path.join("car.toml");
    if !(files.is_dir(path) && files.is_file(&car)) {
        return vec![alone(files, path.to_owned())];
    }
    // For what is told of it, whatever else is wrong with the folder.
    let read = files.car(&car, &Overrides::none()).ok();
    let first = [car.clone(), path.join("ledger.csv"), path.join("areas.csv")];
    let rest = files.list(path).into_iter().filter(|file| !first.contains(file) && is_readings_or_track(file));
    let there = first.iter().filter(|file| files.is_file(file)).cloned();
    let one = |file: PathBuf| {
        let mut found = alone(files, file);
        if let Some(car) = &read {
            found.beside = beside(files, path, &found, car);
        }
        found
    };
    there.chain(rest).map(one).collect()
}

/// What a log's columns were taken for stands in a TOML file too; it is read with its log.
fn is_readings_or_track(file: &Path) -> bool {
    let name = file.file_name().unwrap_or_default().to_string_lossy().to_lowercase();
    name.ends_with(".toml") && !name.ends_with(".columns.toml")
}

fn alone(files: &dyn Files, path: PathBuf) -> Found {
    let what = check_one(files, &path);
    Found { path, what, beside: Vec::new() }
}

fn beside(files: &dyn Files, folder: &Path, found: &Found, car: &CarFile) -> Vec<Warning> {
    match &found.what {
        Ok(Checked::Readings(readings)) => readings_differ(&found.path, readings, car),
        Ok(Checked::Areas(_)) => match files.areas(folder) {
            Ok(Some(areas)) => areas_outside(&areas, size(car)),
            _ => Vec::new(),
        },
        _ => Vec::new(),
    }
}
