//! Files that are written whole or not at all, and never over what somebody else wrote.

pub mod lock;
pub mod mark;
mod ours;
pub mod pair;
mod part;
pub mod partial;
pub mod write;
