//! Mass properties of parts, changes of them, and what a ledger knows of them.

pub mod change;
pub mod entry;
pub mod fuel;
pub mod mass;
