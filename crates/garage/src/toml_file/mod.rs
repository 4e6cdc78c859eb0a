//! TOML files: from text to checked values.

pub(crate) mod axis;
pub(crate) mod nested;
pub(crate) mod presence;
pub(crate) mod schema;
pub(crate) mod set;
pub(crate) mod shift;
pub(crate) mod tree;
pub(crate) mod typed;
pub(crate) mod unusual;
