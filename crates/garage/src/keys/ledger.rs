//! The columns of `ledger.csv` and `areas.csv` (`docs/files.md`), with what is possible in each.

use crate::keys::{Span, within};

/// A column.
#[derive(Debug)]
pub struct Column {
    /// Its head.
    pub name: &'static str,
    /// What is possible, for numbers.
    pub span: Option<Span>,
    /// It must be there.
    pub due: bool,
    /// What it holds.
    pub help: &'static str,
}

const fn words(name: &'static str, due: bool, help: &'static str) -> Column {
    Column { name, span: None, due, help }
}

const fn number(name: &'static str, span: Span, due: bool, help: &'static str) -> Column {
    Column { name, span: Some(span), due, help }
}

/// A part's mass.
pub const MASS: Span = within("kg", 0.0, 50_000.0);
const X: Span = within("mm", -5000.0, 15_000.0);
const Y: Span = within("mm", -3000.0, 3000.0);
const Z: Span = within("mm", -100.0, 5000.0);
/// Money, or hours.
pub const AMOUNT: Span = within("", 0.0, 1e9);

/// Columns of `ledger.csv`, in the order that `unladen new` writes.
pub static LEDGER: &[Column] = &[
    words("item", true, "what comes off, goes on, is swapped or moved"),
    words("area", false, "where in the car, a row of areas.csv"),
    words("state", true, "done, planned or idea"),
    number("mass_before_kg", MASS, true, "what comes off; empty: nothing"),
    number("x_before_mm", X, false, "its CG behind the front axle line"),
    number("y_before_mm", Y, false, "right of the centre plane"),
    number("z_before_mm", Z, false, "above ground"),
    number("mass_after_kg", MASS, true, "what goes on; empty: nothing"),
    number("x_after_mm", X, false, "its CG behind the front axle line"),
    number("y_after_mm", Y, false, "right of the centre plane"),
    number("z_after_mm", Z, false, "above ground"),
    number("mass_sd_kg", within("kg", 0.0, 5000.0), false, "one standard deviation of the mass that changes hands"),
    words("source", false, "of the mass: weighed, quoted or guessed; empty: guessed"),
    words("scale", false, "the scale that it was weighed on, as in car.toml's [scales]"),
    number("rotating_inertia_kgm2", within("kg m2", -50.0, 50.0), false, "change of inertia of what turns"),
    words("turns_with", false, "what that turns with: wheels, shaft (a propshaft) or engine; empty: wheels"),
    number("cost", AMOUNT, false, "money, in your own"),
    number("hours", AMOUNT, false, "work"),
    words("date", false, "when it was done, 2026-03-14"),
    words("group", false, "rows that happen together share this word"),
    words("excludes", false, "items that can't be in the car with it"),
    words("needs", false, "items that it can't be without; one of several: this or that"),
    words(
        "one_of",
        false,
        "what a car must have one of, a fuel tank: a word that all rows share that take it out or put it in",
    ),
    words("becomes", false, "the car whose file says what the car is with it done, beyond mass: ../saloon-rwd"),
    words("note", false, "anything else"),
];

/// Columns of `areas.csv`.
pub static AREAS: &[Column] = &[
    words("area", true, "a word for a part of the car"),
    number("x_mm", X, true, "its middle behind the front axle line"),
    number("y_mm", Y, true, "right of the centre plane"),
    number("z_mm", Z, true, "above ground"),
    words("note", false, "anything else"),
];

/// Where a column stands in a list of columns.
pub(crate) fn index(columns: &[Column], name: &str) -> usize {
    columns.iter().position(|c| c.name == name).unwrap_or(usize::MAX)
}
