//! What needs no canvas: how wide words are and what letters look like, and where an axis has its ticks.

pub mod font;
pub(crate) mod outline;
pub mod ticks;
