//! The keys of a trial: what was sealed before the laps, and what was read from them; and the columns of its laps.

use crate::keys::ledger::Column;
use crate::keys::{Key, Kind, Need, Table, key, pure, within};

use Need::{Always, Optional};

const fn seconds(path: &'static str, need: Need, help: &'static str) -> Key {
    key(path, Kind::Quantity(within("s", -3600.0, 3600.0)), need, help)
}

const fn number(path: &'static str, most: f64, need: Need, help: &'static str) -> Key {
    key(path, Kind::Quantity(pure(0.0, most)), need, help)
}

const HEAD: [Key; 8] = [
    key("schema", Kind::Schema, Always, "the file's format, 1"),
    key("seal", Kind::Text, Always, "SHA-256 of all that stands below this line"),
    key("name", Kind::Text, Always, "which trial this is"),
    key("date", Kind::Date, Always, "the day of the laps"),
    key("sealed_with", Kind::Text, Always, "the version of unladen"),
    key("car", Kind::Text, Always, "the car's name"),
    key("track", Kind::Text, Always, "the track's name"),
    key("change", Kind::Text, Always, "what is fitted in runs B and not in runs A"),
];

const PREDICTION: [Key; 6] = [
    seconds("prediction.gain", Always, "s a lap, ± one standard deviation; positive: B is quicker"),
    seconds("prediction.low", Always, "lower end of the 90 % interval"),
    seconds("prediction.high", Always, "upper end of the 90 % interval"),
    seconds("prediction.lap", Always, "a lap of the model without the change"),
    seconds("prediction.besides", Always, "what it is unsure of that no number of car.toml tells"),
    key("prediction.s_per_kg", Kind::Quantity(pure(-10.0, 10.0)), Always, "what a kilogram of fuel costs a lap, s"),
];

const PLAN: [Key; 7] = [
    key("plan.order", Kind::Text, Always, "A-B-B-A: what is fitted, run by run"),
    number("plan.laps", 1000.0, Always, "flying laps a run"),
    seconds("plan.scatter", Always, "standard deviation of a lap"),
    number("plan.shows", 1.0, Always, "chance that such a day shows what is predicted"),
    key("plan.burn", Kind::Quantity(within("kg", 0.0, 200.0)), Always, "fuel burnt a lap"),
    key("plan.change_takes", Kind::Quantity(within("min", 0.0, 2000.0)), Always, "to fit or take off the change"),
    key("plan.stop_takes", Kind::Quantity(within("min", 0.0, 2000.0)), Always, "a stop without a change"),
];

/// Every key of a sealed trial that is not in one of its lists.
pub const SEALED: Table = Table(&[&HEAD, &PREDICTION, &PLAN]);

const SLOPE: [Key; 2] = [
    key("key", Kind::Text, Always, "an uncertain number of car.toml"),
    seconds("gain", Always, "by how much the gain changes with one standard deviation of it"),
];
/// The keys of `[[hangs_on]]`.
pub const HANGS_ON: Table = Table(&[&SLOPE]);

const STRETCH: [Key; 4] = [
    key("name", Kind::Text, Optional, "what it is called"),
    key("from", Kind::Quantity(within("m", 0.0, 1e6)), Always, "where it starts"),
    key("to", Kind::Quantity(within("m", 0.0, 1e6)), Always, "where it ends"),
    seconds("gain", Always, "what is predicted to be gained on it"),
];
/// The keys of `[[stretch]]`.
pub const STRETCHES: Table = Table(&[&STRETCH]);

const FILE: [Key; 2] = [
    key("path", Kind::Text, Always, "a file that the prediction was made from"),
    key("sha256", Kind::Text, Always, "what it held"),
];
/// The keys of `[[file]]`.
pub const FILES: Table = Table(&[&FILE]);

const RESULT_HEAD: [Key; 5] = [
    key("schema", Kind::Schema, Always, "the file's format, 1"),
    key("seal", Kind::Text, Always, "SHA-256 of all that stands below this line"),
    key("of", Kind::Text, Always, "the seal of the trial that was read"),
    key("date", Kind::Date, Always, "the day it was read"),
    key("verdict", Kind::Text, Always, "confirmed, not_seen, not_seen_and_could_not_have_been or contradicted"),
];
const MEASURED: [Key; 6] = [
    seconds("measured.gain", Always, "s a lap, ± one standard error; positive: B is quicker"),
    seconds("measured.low", Always, "lower end of the 90 % interval"),
    seconds("measured.high", Always, "upper end of the 90 % interval"),
    number("measured.laps_a", 1e6, Always, "laps that counted, without the change"),
    number("measured.laps_b", 1e6, Always, "laps that counted, with it"),
    number("measured.effective", 1e6, Always, "so many laps that know nothing of each other tell as much"),
];
/// Every key of a trial's result.
pub const RESULT: Table = Table(&[&RESULT_HEAD, &MEASURED]);

const fn words(name: &'static str, due: bool, help: &'static str) -> Column {
    Column { name, span: None, due, help }
}

/// Columns of a trial's laps, in the order driven.
pub static LAPS: &[Column] = &[
    words("run", true, "a word or number that the laps between two stops share"),
    words("fitted", true, "A, without the change, or B, with it"),
    words("lap_time_s", true, "82.31, or 1:22.31"),
    words("lap", false, "out or in; anything else is a flying lap"),
    words("driver", false, "where several drove"),
    words("weather", false, "dry, wet, …: where it changed"),
    words("date", false, "where laps are of several days"),
    words("clock", false, "when the lap began, 14:05 or 14:05:30"),
    Column { name: "fuel_kg", span: Some(within("kg", 0.0, 500.0)), due: false, help: "aboard when the lap began" },
    words("note", false, "anything else"),
];
