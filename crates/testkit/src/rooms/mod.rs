//! The house's rooms: a folder with its files is one room, and so is a file among its neighbours. Folders may look one
//! way only, at each other and at files beside them, and no folder holds more files than one can keep in mind.
//!
//! Read are a crate's `use crate::…`, `use super::…` and paths written out, apart from test code (`#[cfg(test)]`). A
//! name that a room re-exports is looked up where it is. What a folder's own file (`mod.rs`, `lib.rs`) and what is
//! below it share is their own business: only sides of one level are compared.

mod circle;
mod folder;
mod read;
mod tree;

pub use circle::circles;
pub use folder::{MOST_FILES, crowded, left_out};
pub use tree::Crate;
