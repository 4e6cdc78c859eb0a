//! What may be done about a caveat or an error of a study, in the words of the command line.

use std::error::Error;

use unladen_study::rank::RankError;
use unladen_study::relocate::RelocateError;
use unladen_study::{Caveat, StudyError};

/// A caveat, and what may be done about it.
pub fn advised(caveat: &Caveat) -> String {
    match caveat {
        Caveat::Coarse { .. } => format!("{caveat}: try a smaller --step"),
        _ => caveat.to_string(),
    }
}

/// What may be done about an error, to be said behind it.
pub(crate) fn after(error: &(dyn Error + 'static)) -> &'static str {
    let of_study = |error: &(dyn Error + 'static)| match (error.downcast_ref(), error.downcast_ref()) {
        (Some(RankError::Tracks(inner)), _) | (_, Some(RelocateError::Worth(inner))) => is_unsound(inner),
        _ => error.downcast_ref().is_some_and(is_unsound),
    };
    let mut causes = std::iter::successors(Some(error), |&error| error.source());
    if causes.any(of_study) { "; `unladen check` may say what is unlikely in the files" } else { "" }
}

fn is_unsound(error: &StudyError) -> bool {
    matches!(error, StudyError::Unsound { .. })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::error::{AskError, NoResult};

    /// Whichever study it comes from, once, at the end.
    #[test]
    fn closed_form_advice_for_laps_that_mean_nothing() {
        let unsound = || StudyError::Unsound { track: "ring".into() };
        let ranked = RankError::Lap { name: "it".into(), source: unsound() };
        let from: [NoResult; 4] = [
            unsound().into(),
            RankError::Tracks(unsound()).into(),
            ranked.into(),
            RelocateError::Worth(unsound()).into(),
        ];
        for error in from {
            let said = AskError::from(error).to_string();
            assert!(said.ends_with("fails on it; `unladen check` may say what is unlikely in the files"), "{said}");
            assert_eq!(said.matches("unladen check").count(), 1);
        }
        assert!(!AskError::from(StudyError::NoTrack).to_string().contains("unladen check"));
        assert!(advised(&Caveat::Coarse { error_s: 0.5 }).ends_with("as coarsely: try a smaller --step"));
    }
}
