//! The keys of a track's TOML file and the columns of its segments (`docs/files.md`).

use unladen_vehicle::car::Number;

use crate::keys::{Key, Kind, Need, Span, Table, key, number, pure, within};

const HEAD: [Key; 8] = [
    key("schema", Kind::Schema, Need::Always, "the file's format, 1"),
    key("name", Kind::Text, Need::Always, "what the track is called"),
    key("closed", Kind::Flag, Need::Always, "true: a circuit; false: an open course"),
    key(
        "start_speed",
        Kind::Quantity(within("km/h", 0.0, 1000.0)),
        Need::Optional,
        "speed at the start of an open course",
    ),
    key("segments", Kind::Text, Need::Always, "the CSV file of the segments, beside this one"),
    number("grip", GRIP, Need::Else(1.0), Number::GAMMA_0, "the day's grip: 1 dry, about 0.6 wet"),
    key(
        "closure",
        Kind::Choice(&["as measured"]),
        Need::Optional,
        "keeps a circuit that does not close within the tolerances",
    ),
    key(
        "made_of",
        Kind::Choice(&["positions"]),
        Need::Optional,
        "what `unladen course` made it of: bends and grades are as uncertain as these leave them, which `unladen fit` carries",
    ),
];

const AIR: [Key; 2] = [
    key(
        "air.altitude",
        Kind::Quantity(within("m", -2000.0, 11_000.0).usually(-450.0, 4500.0)),
        Need::Else(0.0),
        "above sea level",
    ),
    key(
        "air.temperature",
        Kind::Quantity(within("°C", -60.0, 60.0).usually(-20.0, 45.0)),
        Need::Optional,
        "of the day; left out, ISO 2533 at the altitude",
    ),
];

/// Every key of a track's TOML file.
pub const TRACK: Table = Table(&[&HEAD, &AIR]);

/// What grip factors are possible.
pub const GRIP: Span = pure(0.05, 5.0).usually(0.2, 1.3);

/// One column of the segments.
pub(crate) struct Column {
    pub(crate) name: &'static str,
    /// Pure numbers, in the unit of the name.
    pub(crate) range: Span,
    /// Value where the column or the cell is left out; `None` where it must be there.
    pub(crate) otherwise: Option<f64>,
}

const fn column(name: &'static str, min: f64, max: f64, otherwise: Option<f64>) -> Column {
    Column { name, range: pure(min, max), otherwise }
}

/// Steepest grade that is read, per cent, and steepest bank, degrees.
const STEEP: f64 = 100.0;
const BANK: f64 = 75.0;

/// The columns of numbers in the segments' file; `place` is the one of words.
pub(crate) static COLUMNS: [Column; 8] = [
    column("length_m", 0.0, 1e5, None),
    column("curvature_start_1pm", -1.0, 1.0, None),
    column("curvature_end_1pm", -1.0, 1.0, None),
    column("grade_start_pct", -STEEP, STEEP, Some(0.0)),
    column("grade_end_pct", -STEEP, STEEP, Some(0.0)),
    column("bank_start_deg", -BANK, BANK, Some(0.0)),
    column("bank_end_deg", -BANK, BANK, Some(0.0)),
    Column { name: "grip", range: GRIP, otherwise: Some(1.0) },
];
