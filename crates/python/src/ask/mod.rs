//! The questions, each with its arguments.

pub mod answer;
pub mod compare;
pub mod given;
pub mod lap;
pub mod many;
pub mod rank;
pub mod relocate;
pub mod slopes;
pub mod sweep;
pub mod trial;
pub mod worth;
