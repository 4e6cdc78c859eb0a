//! Two builds of a car.

pub mod brief;
pub mod crossover;
pub mod json;
pub mod tables;
pub mod text;
