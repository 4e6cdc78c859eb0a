//! Why positions or a log make no course.

use thiserror::Error;
use unladen_garage::log::{LogError, Note, point_at};
use unladen_garage::{Located, SurveyError};
use unladen_positions::{AlignError, CentreError};
use unladen_track::TrackError;

use crate::error::AskError;

/// Positions or a log that no course is made of, and no fit.
#[derive(Debug, Error)]
#[allow(missing_docs)]
pub enum LoggedError {
    /// What was said of its columns.
    #[error("{0}")]
    Columns(#[from] LogError),
    /// At its cell, where it has one.
    #[error("{0}")]
    Cell(Located<LogError>),
    #[error("{0}")]
    Survey(#[from] SurveyError),
    #[error(
        "{0}; --noise METRES says how far positions are off, --open and --closed what kind of course it is, --start LAT,LON where a lap begins"
    )]
    Centre(#[from] CentreError),
    #[error("{file}: no times in it; a fit needs a logged drive, not a line on a map")]
    NoTimes { file: String },
    #[error("{0}")]
    Align(#[from] AlignError),
    #[error("the positions make no track that holds: {fault}")]
    Track { fault: TrackError },
}

impl LoggedError {
    /// A log's fault at its cell.
    pub(crate) fn at_cell(error: SurveyError, files: &[(String, Vec<u8>)]) -> Self {
        match error {
            SurveyError::Log { file, what } => {
                let bytes = files.iter().find(|f| f.0 == file).map_or(&[][..], |f| &f.1);
                LoggedError::Cell(point_at(&file, bytes, what))
            }
            other => other.into(),
        }
    }
}

/// No course or fit of these positions, and what was made of the files until then.
#[derive(Debug, Error)]
#[error("{why}")]
pub struct Unmade {
    /// What the files were taken for.
    pub notes: Vec<Note>,
    /// Why.
    #[source]
    pub why: Box<AskError>,
}

impl Unmade {
    /// What `make` makes; where it fails, with what it told until then.
    pub(crate) fn telling<T>(make: impl FnOnce(&mut Vec<Note>) -> Result<T, AskError>) -> Result<T, Unmade> {
        let mut notes = Vec::new();
        make(&mut notes).map_err(|why| Unmade { notes, why: Box::new(why) })
    }
}
