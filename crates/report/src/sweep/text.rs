//! What `sweep` prints: the grid in short, its ends, and what had no lap.

use serde_json::{Value, json};
use unladen_questions::stands::standing::Said;

use crate::lap::json::OutError;
use crate::sweep::rows::SweepRow;
use crate::words::change::Change;
use crate::words::number::{counted, decimals_for, distance, fixed};
use crate::words::state;
use crate::words::table::{Align, Table, paragraph, printable};
use crate::worth::text::NOT_MODELLED;

/// A grid with no more cells than this is printed whole.
pub const PRINTED: usize = 30;

/// What has been seen of a sweep so far: as much of it at the end of a long one as of a short one.
#[derive(Clone, Debug, Default)]
pub struct SweepSeen {
    /// Cells.
    pub cells: u64,
    /// Cells without a lap.
    pub without: u64,
    /// The first of them.
    pub first_without: Option<SweepRow>,
    /// The fastest and the slowest; of equals the first.
    pub ends: Option<[SweepRow; 2]>,
    /// Cells whose gears don't repeat from lap to lap.
    pub unsettled: u64,
    /// The largest numerical error of a lap time, s.
    pub error_s: f64,
    /// The first rows, as many as are kept.
    pub rows: Vec<SweepRow>,
    /// How many are kept.
    pub kept: usize,
}

impl SweepSeen {
    /// One more row.
    pub fn see(&mut self, row: &SweepRow) {
        self.cells += 1;
        if self.rows.len() < self.kept {
            self.rows.push(row.clone());
        }
        let Ok(lap) = &row.lap else {
            self.without += 1;
            self.first_without.get_or_insert_with(|| row.clone());
            return;
        };
        self.unsettled += u64::from(!lap.settled);
        self.error_s = self.error_s.max(lap.error_s);
        let time = |row: &SweepRow| row.lap.as_ref().map_or(f64::NAN, |l| l.lap_time_s);
        match &mut self.ends {
            None => self.ends = Some([row.clone(), row.clone()]),
            Some([fastest, slowest]) => {
                if lap.lap_time_s < time(fastest) {
                    *fastest = row.clone();
                }
                if lap.lap_time_s > time(slowest) {
                    *slowest = row.clone();
                }
            }
        }
    }
}

/// A sweep and what it is of.
#[derive(Clone, Debug)]
pub struct SweepView<'a> {
    /// The car.
    pub car: &'a str,
    /// Its state.
    pub state: &'a Said,
    /// The track.
    pub track: &'a str,
    /// Its length, m.
    pub length_m: f64,
    /// Each axis in words: "mass 1000 to 1300 kg in 21".
    pub axes: &'a [String],
    /// The car as it stands.
    pub reference: &'a SweepRow,
    /// The cells.
    pub seen: &'a SweepSeen,
    /// More than mass, height or split was swept.
    pub fuel: bool,
}

/// The whole text.
pub fn sweep_text(v: &SweepView) -> String {
    let seen = v.seen;
    let mut out = paragraph(&format!(
        "{} on {} ({}): {}, {}. {}",
        printable(v.car),
        printable(v.track),
        distance(v.length_m),
        counted(seen.cells as usize, "cell"),
        v.axes.join(", "),
        state::state(v.state)
    ));
    let table = cells(v, PRINTED);
    out += &format!("\n{}", table.text(0));
    out += "Against the car as it stands; the last two columns: slopes there, gears held.\n";
    if let Some(words) = counted_without(seen) {
        out += &paragraph(&format!("No lap {words}."));
    }
    if seen.unsettled > 0 {
        out += &paragraph(&format!(
            "In {} cells the gears don't repeat from lap to lap, or the lap asks somewhere for more than the car can do: the \
             time is about right at best (`unladen lap` tells which).",
            seen.unsettled
        ));
    }
    if seen.ends.is_some() {
        let error = fixed(seen.error_s, decimals_for(seen.error_s).min(6));
        out += &paragraph(&format!("Each lap time is computed to {error} s or better."));
    }
    out + "\n" + &paragraph(NOT_MODELLED)
}

/// The car as it stands, then the cells: all, or where there are more than `most` the quickest and the slowest.
pub(crate) fn cells(v: &SweepView, most: usize) -> Table {
    let seen = v.seen;
    let mut columns = vec![("", Align::Left), ("kg", Align::Point), ("mm up", Align::Point), ("front", Align::Point)];
    if v.fuel {
        columns.push(("fuel, L", Align::Point));
    }
    let mut rows = seen.rows.iter().chain(seen.ends.iter().flatten());
    let gripped = rows.any(|row| row.grip != v.reference.grip);
    if gripped {
        columns.push(("grip", Align::Point));
    }
    columns.extend([
        ("lap, s", Align::Point),
        ("which is", Align::Point),
        ("ms/kg", Align::Point),
        ("ms/mm up", Align::Point),
    ]);
    let mut table = Table::new(&columns);
    let mut add = |name: &str, row: &SweepRow| {
        let mut cells = vec![
            name.to_owned(),
            fixed(row.mass_kg, 1),
            fixed(row.cg_height_mm, 1),
            format!("{} %", fixed(100.0 * row.front_share, 2)),
        ];
        if v.fuel {
            cells.push(row.fuel_l.map_or_else(String::new, |l| fixed(l, 1)));
        }
        if gripped {
            cells.push(fixed(row.grip, 2));
        }
        match &row.lap {
            Ok(lap) => cells.extend([
                fixed(lap.lap_time_s, 3),
                Change { quicker_s: -lap.delta_s, interval: None, error_s: lap.error_s }.cell(),
                fixed(1e3 * lap.slopes[0], 1),
                fixed(1e3 * lap.slopes[1], 1),
            ]),
            Err(_) => cells.push("no lap".into()),
        }
        table.row(&cells);
    };
    add("as it stands", v.reference);
    if seen.cells as usize <= most {
        for (i, row) in seen.rows.iter().enumerate() {
            add(&(i + 1).to_string(), row);
        }
    } else if let Some([fastest, slowest]) = &seen.ends {
        add("fastest", fastest);
        add("slowest", slowest);
    }
    table
}

/// How many have no lap, and why the first has none.
pub(crate) fn counted_without(seen: &SweepSeen) -> Option<String> {
    let why = seen.first_without.as_ref().and_then(|r| r.lap.as_ref().err()).map_or("", String::as_str);
    (seen.without > 0).then(|| {
        format!("in {} of {}. The first: {}", seen.without, counted(seen.cells as usize, "cell"), printable(why))
    })
}

/// The whole of `sweep --json`: what was swept in short; the rows are in the file of `--csv`.
///
/// # Errors
/// [`OutError`] where a number can't be written.
pub fn sweep_json(v: &SweepView) -> Result<String, OutError> {
    let row = |row: &SweepRow| -> Value {
        let lap = row.lap.as_ref().ok();
        let of = |f: &dyn Fn(&crate::sweep::rows::SweepLap) -> f64| lap.map(f);
        json!({
            "mass_kg": row.mass_kg, "cg_height_mm": row.cg_height_mm, "front_share": row.front_share,
            "fuel_l": row.fuel_l, "grip": row.grip, "lap_time_s": of(&|l| l.lap_time_s), "delta_s": of(&|l| l.delta_s),
            "s_per_kg": of(&|l| l.slopes[0]), "s_per_mm_height": of(&|l| l.slopes[1]),
            "s_per_mm_rearward": of(&|l| l.slopes[2]), "lap_time_error_s": of(&|l| l.error_s),
            "reason": row.lap.as_ref().err(),
        })
    };
    let seen = v.seen;
    let [fastest, slowest] = [0, 1].map(|i| seen.ends.as_ref().map(|e| row(&e[i])));
    let mut out = json!({
        "car": v.car, "state": state::json(v.state), "track": v.track, "cells": seen.cells, "without_lap": seen.without, "unsettled": seen.unsettled,
        "lap_time_error_s": seen.error_s, "as_it_stands": row(v.reference), "fastest": fastest, "slowest": slowest,
    });
    if seen.cells as usize <= PRINTED {
        out["rows"] = seen.rows.iter().map(row).collect();
    }
    Ok(serde_json::to_string_pretty(&out)? + "\n")
}
