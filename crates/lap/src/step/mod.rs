//! A step along the edge of the set: stations, tableau, arc.

pub(crate) mod arc;
pub(crate) mod mesh;
pub(crate) mod tableau;
