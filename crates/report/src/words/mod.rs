//! Numbers, tables and certainty in words.

pub mod cell;
pub mod number;
pub mod sure;
pub mod table;
pub mod tuned;
