//! Scale readings and what they tell.

pub mod brief;
pub mod picture;
pub mod reconcile;
pub mod text;
