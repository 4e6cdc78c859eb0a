//! Numbers, tables and certainty in words.

pub mod aboard;
pub mod brief;
pub mod cell;
pub mod change;
pub mod money;
pub mod next;
pub mod number;
pub mod said;
pub mod state;
pub mod sure;
pub mod table;
pub mod tuned;
pub mod verdict;
