//! Logs of a drive, as CSV from whatever wrote them: no logger's format is known by name. What a column is follows from
//! its name, its unit and from what the columns say about one another; every guess is told ([`Note`]) and can be
//! overruled.

mod check;
mod columns;
mod error;
mod hemisphere;
mod mapping;
mod nmea;
mod number;
mod point;
mod quantity;
mod read;
mod sheet;
#[cfg(test)]
mod tests;
mod time;

pub use error::LogError;
pub use mapping::Mapping;
pub(crate) use number::instant;
pub use point::point_at;
pub use quantity::Quantity;
pub use read::{Imported, Log, Note, read_log, read_log_telling};
