//! Laps against closed forms, other solvers and properties that must hold.
#![allow(clippy::unwrap_used)]

mod beyond;
mod closed_form;
mod common;
mod convergence;
mod derivatives;
mod gears;
mod hairpin;
mod independent_conic;
mod independent_ode;
mod properties;
mod random;
mod tied;
mod tied_random;
