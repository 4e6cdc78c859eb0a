//! What must be set again.

pub mod picture;
pub mod text;
