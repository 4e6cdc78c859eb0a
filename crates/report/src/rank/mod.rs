//! Planned changes by what they gain.

pub mod best_set;
pub mod brief;
pub(crate) mod certainty;
pub mod json;
pub mod picture;
pub mod text;
