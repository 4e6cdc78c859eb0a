//! Derivatives of a finished lap.

pub(crate) mod derivatives;
pub(crate) mod replay;
