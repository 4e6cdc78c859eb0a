//! Files that are written whole or not at all.

pub mod partial;
pub mod write;
