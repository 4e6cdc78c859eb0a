//! CSV files: encodings, dialects, cells.

pub(crate) mod cells;
pub(crate) mod dialect;
pub(crate) mod encoding;
