//! Why positions or a log make no course.

use thiserror::Error;
use unladen_garage::log::{LogError, point_at};
use unladen_garage::{Located, SurveyError};
use unladen_positions::{AlignError, CentreError};
use unladen_track::TrackError;

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
    #[error("{0}")]
    Centre(#[from] CentreError),
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
