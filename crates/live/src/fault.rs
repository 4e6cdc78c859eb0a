//! Why a trial has no answer, in words for whoever tries it.

use unladen_questions::{AskError, Failure};

/// Why there is no answer.
#[derive(Debug, thiserror::Error)]
pub enum LiveError {
    /// What came in is no data of a page.
    #[error("the data of this page can't be read: {0}")]
    Data(#[from] serde_json::Error),
    /// A file's bytes are not what was packed.
    #[error("the files of this page can't be read: {0}")]
    Bytes(#[from] base64::DecodeError),
    /// Files, or a trial that can't be, or that has no lap.
    #[error("{0}")]
    Ask(String),
    /// Nothing is open yet.
    #[error("no car is open")]
    Closed,
    /// No such control.
    #[error("`{0}` is nothing that can be turned here")]
    NoControl(String),
    /// A number that is none, or out of what it can be turned to.
    #[error("{name}: {value} is outside {least} to {most}")]
    Range {
        /// Of which control.
        name: &'static str,
        /// As given.
        value: f64,
        /// Least.
        least: f64,
        /// Most.
        most: f64,
    },
    /// A picture can't be drawn.
    #[error("can't draw: {0}")]
    Draw(#[from] unladen_report::draw::picture::PlotError),
}

impl From<Failure> for LiveError {
    fn from(failure: Failure) -> Self {
        Self::Ask(failure.to_string())
    }
}

impl From<AskError> for LiveError {
    fn from(error: AskError) -> Self {
        Self::Ask(error.to_string())
    }
}

impl From<unladen_study::StudyError> for LiveError {
    fn from(error: unladen_study::StudyError) -> Self {
        Self::from(AskError::from(error))
    }
}
