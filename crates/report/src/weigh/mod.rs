//! Scale readings and what they tell.

pub mod picture;
pub mod reconcile;
pub mod text;
