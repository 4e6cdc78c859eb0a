//! What to know about a course made of positions.

use std::path::Path;

use unladen_garage::Survey;
use unladen_garage::log::Note;
use unladen_positions::{Line, Wish};

use crate::course::mapping_file;

/// A log whose columns were made out, once for all.
pub fn kept(log: &Path) -> Note {
    said(format!("what its columns are is kept in {}", mapping_file(log).display()))
}

/// Positions without any noise to be seen are copies or smoothed, not exact.
pub fn noiseless(found: &Survey, wish: Wish, line: &Line) -> Option<Note> {
    let taken = wish.noise_m.is_none() && line.noise_m == found.least_noise.1;
    taken.then(|| Note {
        text: format!(
            "the positions show hardly any noise, as copies and smoothed ones do: {:.2} m are taken",
            line.noise_m
        ),
        instead: Some("--noise METRES".into()),
    })
}

/// How many corners got a number.
pub fn numbered(corners: usize) -> Option<Note> {
    let text = match corners {
        0 => return None,
        1 => "one corner without a name has a number".into(),
        n => format!("{n} corners without a name have numbers"),
    };
    Some(Note { text, instead: Some("--place NAME=LAT,LON".into()) })
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
