//! Files that are written whole or not at all, and never over what somebody else wrote.

pub mod lock;
pub mod marks;
pub(crate) mod ours;
pub mod pair;
mod part;
pub mod partial;
pub mod write;
