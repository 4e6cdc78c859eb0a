//! In which state a car was asked about, in words and for machines.

use serde_json::{Value, json};
use unladen_garage::written;
use unladen_questions::stands::standing::Said;
use unladen_questions::stands::state::As;

use crate::draw::header::sentence;
use crate::words::number::{fixed, signed};

/// In a sentence: the state, its mass as it laps, and what makes it.
pub fn state(s: &Said) -> String {
    let of = &s.state;
    let mut out = format!("{}, {} kg as it laps", sentence(of.of.said()), fixed(s.mass_kg, 1));
    let weighing =
        s.weighed_on.map_or_else(|| "the weighing".into(), |day| format!("the weighing of {}", written(day)));
    match s.on.len() {
        0 => out += &format!(": {weighing}"),
        1 => out += &format!(": {weighing} and the ledger's {}", s.on[0]),
        rows if of.of == As::Now && of.with.is_empty() => {
            out += &format!(": {weighing} and {rows} rows of the ledger done since");
        }
        rows => out += &format!(": {weighing} and {rows} rows of the ledger"),
    }
    if !s.undone.is_empty() {
        out += &format!(", without {}", s.undone.join(", "));
    }
    if s.change_kg.abs() >= 0.05 {
        out += &format!(", {} kg", signed(&fixed(s.change_kg, 1)));
    }
    for (word, names) in [("with", &of.with), ("without", &of.without)] {
        if !names.is_empty() {
            out += &format!("; asked about {word} {}", names.join(", "));
        }
    }
    out + "."
}

/// For machines.
pub fn json(s: &Said) -> Value {
    json!({
        "as": s.state.of.word(), "with": s.state.with, "without": s.state.without, "weighed_on": s.weighed_on.map(written),
        "rows_on": s.on, "rows_undone": s.undone, "change_kg": s.change_kg, "mass_kg": s.mass_kg,
    })
}
