//! What `worth` prints: the answer first, or all figures, and what to measure next where they are open.

use unladen_questions::worth::Answer;

use crate::words::next::of_worth;
use crate::words::state::state;
use crate::words::table::paragraph;
use crate::worth::brief::worth_brief;
use crate::worth::text::worth_text;

/// The answer first.
pub fn answer_brief(answer: &Answer) -> String {
    let next = answer.open().and_then(|(open, next)| of_worth(&open, next.as_ref()));
    worth_brief(&answer.file.name, &state(&answer.state), &answer.study.tracks, &answer.study.mix, next)
}

/// The whole text.
pub fn answer_text(answer: &Answer) -> String {
    let text = worth_text(&answer.file.name, &state(&answer.state), &answer.study.tracks, &answer.study.mix);
    let next = answer.open().and_then(|(open, next)| of_worth(&open, next.as_ref()));
    next.map_or_else(|| text.clone(), |next| format!("{text}\n{}", paragraph(&next)))
}
