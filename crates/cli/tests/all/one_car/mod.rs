//! One car, one answer: asked through every command, and what its ledger plans.

mod answer;
mod plan;
mod questions;
