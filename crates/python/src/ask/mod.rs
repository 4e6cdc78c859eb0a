//! The questions, each with its arguments.

pub mod answer;
pub mod compare;
pub mod given;
pub mod rank;
pub mod relocate;
pub mod worth;
