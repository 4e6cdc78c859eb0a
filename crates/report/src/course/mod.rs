//! A track as it was made.

pub mod json;
pub mod picture;
