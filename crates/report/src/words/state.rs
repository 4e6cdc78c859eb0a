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
    let moved: Vec<String> = of.moved.iter().map(|m| format!("the {} {}", m.item, by(m.by))).collect();
    if !moved.is_empty() {
        out += &format!("; asked about with {}", moved.join(", "));
    }
    out + "."
}

/// How far something was moved, in words: "600 mm forward, 60 mm down".
pub fn by(by: [f64; 3]) -> String {
    let words = [["forward", "back"], ["left", "right"], ["down", "up"]];
    let along = |(by, words): (f64, [&str; 2])| {
        let mm = fixed(1e3 * by.abs(), 0);
        (mm != "0").then(|| format!("{mm} mm {}", words[usize::from(by > 0.0)]))
    };
    let all: Vec<String> = by.into_iter().zip(words).filter_map(along).collect();
    if all.is_empty() { "where it was".to_owned() } else { all.join(", ") }
}

/// For machines.
pub fn json(s: &Said) -> Value {
    json!({
        "as": s.state.of.word(), "with": s.state.with, "without": s.state.without, "moved": s.state.moved.iter().map(|m| json!({ "item": m.item, "by_m": m.by })).collect::<Vec<_>>(), "weighed_on": s.weighed_on.map(written),
        "rows_on": s.on, "rows_undone": s.undone, "change_kg": s.change_kg, "mass_kg": s.mass_kg,
    })
}
