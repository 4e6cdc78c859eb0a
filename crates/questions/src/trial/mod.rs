//! Trials: a test planned, its prediction sealed, its laps read, what they teach, and the diary of all of them.

pub mod change;
pub mod diary;
mod error;
mod given;
pub mod plan;
pub mod read;
mod seal;
mod splits;
mod stretches;

use std::path::{Path, PathBuf};

use unladen_garage::Files;

pub use error::TrialError;
pub use seal::Stamp;

use crate::read::project::car_file;

/// The folder of a car's trials.
pub fn folder(files: &dyn Files, car: &Path) -> PathBuf {
    car_file(files, car).parent().unwrap_or(Path::new("")).join("trials")
}

/// A trial's file: as it is given, or by its name among the car's.
pub fn file_of(files: &dyn Files, car: &Path, given: &Path) -> PathBuf {
    if files.is_file(given) {
        return given.to_owned();
    }
    let name = given.file_name().unwrap_or_default().to_string_lossy();
    folder(files, car).join(if name.ends_with(".toml") { name.into_owned() } else { format!("{name}.toml") })
}

/// Where a trial's result is kept.
pub fn result_file(trial: &Path) -> PathBuf {
    trial.with_extension("result.toml")
}
