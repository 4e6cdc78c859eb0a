//! What must be set again.

pub mod brief;
pub mod picture;
pub mod text;
