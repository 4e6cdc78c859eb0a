//! The bench of a page, natively: its answers are those of the questions, and what can't be says why.
#![allow(clippy::unwrap_used)]

mod module;
mod trials;
