//! Segments made of a centre line.

pub(crate) mod build;
pub(crate) mod chain;
pub(crate) mod segmenting;
pub(crate) mod unflattened;
