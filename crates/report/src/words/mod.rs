//! Numbers, tables and certainty in words.

pub mod aboard;
pub mod cell;
pub mod measurement;
pub mod next;
pub mod number;
pub mod said;
pub mod state;
pub mod sure;
pub mod table;
pub mod tuned;
