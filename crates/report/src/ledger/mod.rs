//! The mass budget.

pub mod brief;
pub mod burn;
pub mod dated;
pub mod json;
pub mod text;
pub mod waterfall;
