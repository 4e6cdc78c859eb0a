//! Which keys and columns there are, for a terminal and for machines.

use serde_json::{Value, json};
use unladen_questions::keys::{File, Row};

use crate::words::table::paragraph;

/// Each with what may be written there, and below it what it is.
pub fn keys_text(rows: &[Row]) -> String {
    let mut out = String::new();
    let mut last = None;
    for row in rows {
        if last != Some(row.file) {
            out += &format!("{}{}\n\n", if last.is_some() { "\n" } else { "" }, title(row.file));
            last = Some(row.file);
        }
        out += &paragraph(&format!("{}: {}; {}", row.key, row.possible, row.need));
        out += &paragraph(row.means).lines().map(|line| format!("    {line}\n")).collect::<String>();
    }
    out
}

fn title(file: File) -> &'static str {
    match file {
        File::Car => "car.toml",
        File::Track => "a track's TOML file",
        File::Ledger => "ledger.csv",
        File::Areas => "areas.csv",
        File::Readings => "scale readings, a TOML file",
    }
}

/// A list of rows; what has no number has no range.
pub fn keys_json(rows: &[Row]) -> String {
    let finite = |x: f64| if x.is_finite() { json!(x) } else { Value::Null };
    let row = |row: &Row| {
        json!({
            "file": word(row.file),
            "key": row.key,
            "unit": row.unit,
            "least": row.range.map_or(Value::Null, |range| finite(range.0)),
            "most": row.range.map_or(Value::Null, |range| finite(range.1)),
            "possible": row.possible,
            "need": row.need,
            "means": row.means,
        })
    };
    format!("{:#}\n", json!(rows.iter().map(row).collect::<Vec<_>>()))
}

fn word(file: File) -> &'static str {
    match file {
        File::Car => "car",
        File::Track => "track",
        File::Ledger => "ledger",
        File::Areas => "areas",
        File::Readings => "readings",
    }
}
