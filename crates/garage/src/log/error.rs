//! Why a log can't be used: what, where, and what would be right.

use super::Quantity;

/// Why a log can't be used.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[allow(missing_docs)]
pub enum LogError {
    #[error("no text that can be read: {reason}; a CSV file is due")]
    NotText { reason: &'static str },
    #[error(
        "no table in it: no {least} rows of numbers with the same number of fields follow one another; export the log as CSV"
    )]
    NoTable { least: usize },
    #[error(
        "line {line}: the columns have no names; give each with --column, for example --column time=1 --column latitude=2"
    )]
    NoNames { line: usize },
    #[error("neither positions nor speed: there must be latitude and longitude, x and y, or speed; the columns are {}; say which is which with --column, for example --column speed={}", names.join(", "), names.first().map_or("NAME", |n| n))]
    Nothing { names: Vec<String> },
    #[error("no time: without it a log can't be cut into laps; the columns are {}; say --column time=NAME", names.join(", "))]
    NoTime { names: Vec<String> },
    #[error("--column {key}={given}: no such column; the columns are {}", names.join(", "))]
    NoColumn { key: &'static str, given: String, names: Vec<String> },
    #[error("--unit {key}={given}: no unit of it; possible are {}", units.join(", "))]
    NoUnit { key: &'static str, given: String, units: Vec<&'static str> },
    #[error("{given}: no quantity of a log; known are {}", Quantity::ALL.map(Quantity::key).join(", "))]
    NoQuantity { given: String },
    #[error("line {line}: time goes back by {back_s:.3} s; two logs in one file? Cut it there")]
    TimeBack { line: usize, back_s: f64, text: String },
    #[error("column {name}: nothing in it can be read as {key}; for example {text:?} on line {line}")]
    Unread { name: String, key: &'static str, text: String, line: usize },
    #[error("more than {most} rows; cut it, or log fewer samples a second")]
    TooLong { most: usize },
    #[error("a table of more than {most} columns; export fewer channels")]
    Wide { most: usize },
    #[error(
        "line {line}: the clock stands still: every row has the same time; say which column it is, --column time=NAME, or that there is none"
    )]
    Stopped { line: usize },
    #[error(
        "speed is never above 0 ({least:.1} to {most:.1} m/s): which column is it? say --column speed=NAME, or take the column out where the car stood"
    )]
    NoSpeed { least: f64, most: f64 },
    #[error(
        "yaw_rate turns the other way than the positions (correlation {correlation:.2}): does it count right as positive, or are the positions mirrored, a west longitude or a south latitude without its sign? Say --unit yaw_rate=-deg/s (or -rad/s), --unit longitude=-deg or --unit latitude=-deg; or go without it, --column yaw_rate=none"
    )]
    TurnsOtherWay { correlation: f64 },
    #[error("every position is void, the same, or at 0°, 0°: the logger had no fix")]
    NoFix,
}
