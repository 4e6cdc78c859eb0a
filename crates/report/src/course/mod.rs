//! A track as it was made.

pub mod drawn;
pub mod json;
pub mod picture;
pub mod text;
