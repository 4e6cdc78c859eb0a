//! Why there is no plan, no seal, no reading.

use std::path::PathBuf;

use thiserror::Error;
use unladen_study::trial::reading::ReadingError;

/// Why not.
#[derive(Debug, Error)]
#[allow(missing_docs)]
pub enum TrialError {
    #[error("{given}: changes nothing of the car, so there is nothing to test")]
    NoChange { given: String },
    #[error("{}: {laps} laps are too few to know how they scatter: four more than runs are due; or give --lap-spread SECONDS", path.display())]
    NoScatter { path: PathBuf, laps: usize },
    #[error(
        "a day of {hours:.1} h has no time for three runs of three laps with two changes of {change_min:.0} min: more --hours, or a quicker change"
    )]
    NoTime { hours: f64, change_min: f64 },
    #[error("this order and its laps tell nothing: both A and B, and three runs at least, are due")]
    NothingTold,
    #[error("{}: a trial is sealed there already; a seal is never replaced: give another --name", path.display())]
    Sealed { path: PathBuf },
    #[error("--date {given}: a seal is set before the laps, and this day is over")]
    Past { given: String },
    #[error("{}: sealed for `{sealed}`, and this car is `{car}`: a trial of another car", path.display())]
    OtherCar { path: PathBuf, sealed: String, car: String },
    #[error("{}: its laps are due on {day}, a day to come", path.display())]
    ToCome { path: PathBuf, day: String },
    #[error("the laps are of {driven}, before the seal's day, {sealed}: they can't be what it predicted")]
    Before { driven: String, sealed: String },
    #[error("no laps: give --laps FILE.csv, --times \"A 82.1 82.4 | B 81.9 …\", or --log FILE=A --log FILE=B")]
    NoLaps,
    #[error("{}: has a result already; it stays", path.display())]
    ReadAlready { path: PathBuf },
    #[error("{0}")]
    Reading(#[from] ReadingError),
}
