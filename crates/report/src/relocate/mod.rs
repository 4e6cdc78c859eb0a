//! Something moved within the car.

pub mod brief;
pub mod json;
pub mod picture;
pub mod text;
