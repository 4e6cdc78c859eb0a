//! Numbers that carry derivatives, and the branches that conditions took.

pub mod branches;
pub mod scalar;
pub mod tape;
