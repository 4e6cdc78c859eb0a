//! A track as it was made.

pub mod brief;
pub mod drawn;
pub mod json;
pub mod picture;
pub mod text;
