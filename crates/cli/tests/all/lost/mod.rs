//! Nothing lost, nothing unbounded.

mod edits;
mod limits;
mod outputs;
