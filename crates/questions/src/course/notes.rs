//! What to know about a course made of positions.

use std::path::Path;

use unladen_garage::Survey;
use unladen_garage::log::Note;
use unladen_positions::Line;

use crate::course::mapping_file;

/// A log whose columns were made out, once for all.
pub fn kept(log: &Path) -> Note {
    said(format!("what its columns are is kept in {}", mapping_file(log).display()))
}

/// What to know about the line.
pub fn words(found: &Survey, line: &Line, banked: bool) -> Vec<Note> {
    let mut all = Vec::new();
    let mut add = |text: String| all.push(said(text));
    if found.outline {
        add("positions without times are a map's line, most likely its middle: a driven line is shorter and wider in bends; --line WIDTH approximates one".into());
    }
    if line.left_out > 0 {
        add(format!(
            "{} of {} positions lie more than five standard deviations off the line and are not used",
            line.left_out,
            line.used + line.left_out
        ));
    }
    if line.slope.is_none() {
        add("no heights: the track is flat".into());
    }
    if banked {
        add("grip: dry, for positions say nothing of it".into());
    } else {
        add("positions say nothing of bank and grip: both are left level and dry; a banked bend is quicker than this track has it".into());
        add("--bank FROM..TO=DEGREES gives a bend its bank; a logged lateral acceleration does not, for the car's own roll of some degrees looks the same as a bank".into());
    }
    all
}

/// A note of this text.
pub fn said(text: impl Into<String>) -> Note {
    Note { text: text.into(), instead: None }
}
