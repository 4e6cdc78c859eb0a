//! The model against published values, closed forms and a second reading of its equations.
#![allow(clippy::unwrap_used)]

mod common;
mod duals;
mod loads;
mod second_reading;
mod traction_and_brakes;
mod tyre;
