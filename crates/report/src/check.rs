//! What `check` prints of a file without faults.

use unladen_garage::{CarFile, Checked, Ledger};

use crate::course::text::of_track;
use crate::words::brief::Length;
use crate::words::number::{counted, fixed};
use crate::words::table::{paragraph, printable};

/// Of several files: all sound, or how many are not.
pub fn summary(files: usize, faulty: usize) -> String {
    match faulty {
        0 => format!("All {files} files are sound.\n"),
        n => format!("{n} of {} have faults; what is wrong is on standard error.\n", counted(files, "file")),
    }
}

/// A file without faults, and how many warnings there are about it: in a line, or with what it says.
pub fn checked_text(checked: &Checked, warnings: usize, length: Length) -> String {
    let text = whole(checked, warnings);
    if length == Length::Whole { text } else { text.lines().take(1).map(|line| format!("{line}\n")).collect() }
}

fn whole(checked: &Checked, warnings: usize) -> String {
    let warnings = match warnings {
        0 => "no faults".to_owned(),
        1 => "no faults, one warning".to_owned(),
        n => format!("no faults, {n} warnings"),
    };
    match checked {
        Checked::Car(car) => format!("a car, {warnings}\n{}", indented(&of_car(car))),
        Checked::Track(track) => format!("a track, {warnings}\n{}", indented(&of_track(track))),
        Checked::Ledger(ledger, _) => {
            format!("a ledger of {}, {warnings}\n{}", counted(ledger.entries.len(), "row"), own_columns(ledger))
        }
        Checked::Areas(n) => format!("{}, {warnings}\n", counted(*n, "area")),
        Checked::Readings(file) => format!("{}, {warnings}\n", counted(file.readings.len(), "scale reading")),
        Checked::Blank => "nothing in it yet but comments\n".to_owned(),
        Checked::Ours => "made by unladen, and not looked at\n".to_owned(),
        Checked::Segments(1) => format!("one segment of a track, {warnings}\n"),
        Checked::Segments(n) => format!("{n} segments of a track, {warnings}\n"),
    }
}

/// Columns that are let be, so that a mistyped one is seen.
fn own_columns(ledger: &Ledger) -> String {
    match ledger.own_columns() {
        [] => String::new(),
        own => indented(&format!("Columns of your own, not read: {}.", printable(&own.join(", ")))),
    }
}

fn indented(text: &str) -> String {
    paragraph(text).lines().map(|line| format!("  {line}\n")).collect()
}

fn of_car(file: &CarFile) -> String {
    let (mass, wheelbase) = (&file.car.mass, file.car.chassis.l);
    let mm = |m: f64| fixed(m * 1e3, 0);
    let uncertain = match file.uncertainties.len() {
        0 => "Nothing in it carries a ±, so that no result will.".to_owned(),
        1 => "One number carries a ±.".to_owned(),
        n => format!("{n} numbers carry a ±."),
    };
    let assumed = match file.assumed.len() {
        0 => String::new(),
        n => format!(
            " {} still assumed, from the class of the car ({}): `unladen worth` says which to measure first.",
            if n == 1 { "One value is".to_owned() } else { format!("{n} values are") },
            by_table(&file.assumed)
        ),
    };
    format!(
        "{}. As it laps: {} kg, {} % of it on the front axle; centre of gravity {} mm behind the front axle, {} mm {} of \
         the middle, {} mm up. {uncertain}{assumed}",
        printable(&file.name),
        fixed(mass.m, 0),
        fixed(100.0 * (1.0 - mass.a / wheelbase), 1),
        mm(mass.a),
        mm(mass.y_cg.abs()),
        if mass.y_cg < 0.0 { "left" } else { "right" },
        mm(mass.h)
    )
}

/// Keys by the tables that they stand in: `aero 4, tyres 7`.
fn by_table(keys: &[&str]) -> String {
    let mut tables: Vec<(&str, usize)> = Vec::new();
    for key in keys {
        let table = key.split('.').next().unwrap_or(key);
        match tables.iter_mut().find(|(known, _)| *known == table) {
            Some((_, count)) => *count += 1,
            None => tables.push((table, 1)),
        }
    }
    tables.iter().map(|(table, count)| format!("{table} {count}")).collect::<Vec<_>>().join(", ")
}
