//! K(s): ceilings, and the hardest braking that reaches them.

pub(crate) mod brake;
pub(crate) mod ceilings;
pub(crate) mod fastest;
