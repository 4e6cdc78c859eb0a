//! The model brought to a logged drive.

pub mod brief;
pub mod json;
pub mod picture;
pub mod text;
