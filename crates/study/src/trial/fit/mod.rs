//! The regression behind a reading: least squares, a robust loss, and what the laps can't tell of the noise.

pub mod least_squares;
pub mod mixture;
pub mod noise;
pub mod robust;
