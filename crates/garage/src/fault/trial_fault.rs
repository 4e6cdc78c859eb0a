//! What can be wrong with a trial or its laps.

use thiserror::Error;

/// What is wrong.
#[derive(Clone, Debug, PartialEq, Error)]
#[allow(missing_docs)]
pub enum TrialFault {
    #[error("this file was changed after it was sealed")]
    Edited,
    #[error("no seal: this is no sealed trial")]
    NoSeal,
    #[error("`{given}` is no order of runs")]
    Order { given: String },
    #[error("`{given}` is no lap time")]
    Time { given: String },
    #[error("`{given}` is no lap time: {why}")]
    TimeRange { given: String, why: &'static str },
    #[error("`{given}`: A or B is due")]
    Side { given: String },
    #[error("run `{run}` comes again after others: laps are out of order")]
    RunAgain { run: String },
    #[error("run `{run}` is both A and B: a change needs a stop")]
    TwoSides { run: String },
    #[error("`{given}`: earlier than the lap before")]
    ClockBack { given: String },
    #[error("`{given}` is no time of day")]
    Clock { given: String },
    #[error("{given} is a day to come")]
    ToCome { given: String },
    #[error("{given} is before the lap above")]
    DayBack { given: String },
    #[error("no laps")]
    NoLaps,
}

impl TrialFault {
    pub(crate) fn label(&self) -> String {
        match self {
            TrialFault::Edited => "not the hash of what stands below".into(),
            TrialFault::Order { .. } => "A-B-B-A is one".into(),
            TrialFault::Time { .. } | TrialFault::TimeRange { .. } => "82.31 or 1:22.31 is one".into(),
            TrialFault::Side { .. } => "A: without the change; B: with it".into(),
            TrialFault::Clock { .. } => "14:05 is one".into(),
            _ => "here".into(),
        }
    }

    pub(crate) fn hint(&self) -> Option<String> {
        let hint = match self {
            TrialFault::Edited => {
                "what it predicts now can't be held against laps; put back what was sealed, or seal a new trial before new laps"
            }
            TrialFault::RunAgain { .. } => "give each run between two stops a word of its own, in the order driven",
            TrialFault::TwoSides { .. } => "give the laps behind the stop another run",
            TrialFault::ClockBack { .. } => "rows are due in the order driven; another day needs its `date`",
            TrialFault::ToCome { .. } => "laps that are not driven yet say nothing",
            TrialFault::NoLaps => "a row a lap: run, fitted (A or B), lap_time_s",
            _ => return None,
        };
        Some(hint.into())
    }
}
