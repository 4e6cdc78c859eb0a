//! Something moved within the car.

pub mod json;
pub mod picture;
pub mod text;
