//! The mass budget: choices, sums, what must be set again, the scales against it.

pub mod budget;
pub mod reconcile;
pub mod reset;
pub mod selection;
pub mod summary;
