//! Two builds of a car.

pub mod crossover;
pub mod json;
pub mod tables;
pub mod text;
