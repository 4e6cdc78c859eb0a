//! Why a text is no axis of a sweep.

use thiserror::Error;

/// Why a text is no axis.
#[derive(Clone, Debug, PartialEq, Error)]
#[allow(missing_docs)]
pub enum AxisProblem {
    #[error("FROM..TO:COUNT is due")]
    Form,
    #[error("`{given}` is no count")]
    Count { given: String },
    #[error("one value, but two ends")]
    OneForTwo,
    #[error("a value of an axis has no ±")]
    Uncertain,
}

impl AxisProblem {
    pub(crate) fn hint(&self) -> Option<String> {
        match self {
            AxisProblem::Form => Some("for example 1000kg..1300kg:21, both ends among the 21".into()),
            AxisProblem::Count { .. } => Some("a whole number, 1 or more: 1000kg..1300kg:21".into()),
            AxisProblem::OneForTwo => Some("give 2 values or more, or one end alone".into()),
            AxisProblem::Uncertain => None,
        }
    }
}
