//! Pictures of a car that somebody has in hand, drawn for the width that there is.

pub mod car;
pub mod laps;
