//! What a line itself shows: several rounds in one, crossings.

use unladen_positions::{Line, self_crossings};

use super::SurveyError;
use crate::log::Note;

/// What the line itself shows to be wrong or worth a word: several rounds, crossings.
///
/// # Errors
/// [`SurveyError::Rounds`].
pub fn look_at(line: &Line) -> Result<Vec<Note>, SurveyError> {
    let turned: f64 = line.kappa.iter().sum::<f64>() * line.step_m / (2.0 * std::f64::consts::PI);
    let rounds = turned.round().abs() as i64;
    if line.closed && rounds > 1 {
        return Err(SurveyError::Rounds { rounds });
    }
    let mut notes = Vec::new();
    let crossings = self_crossings(&line.points, line.step_m);
    for s in crossings.iter().take(3) {
        let text = format!(
            "the line crosses itself at {:.0} m and {:.0} m: a bridge or a figure of eight is kept as it is; a mistake in the positions would look the same",
            s.0, s.1
        );
        notes.push(Note { text, instead: None });
    }
    Ok(notes)
}
