//! Laps on a track that is not known exactly.

pub mod doubt;
pub mod lines;
pub mod synthetic;
