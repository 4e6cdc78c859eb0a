//! Nothing is lost, nothing is unbounded.

mod edits;
mod limits;
mod outputs;
