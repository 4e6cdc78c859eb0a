//! A finished lap: its time and error, its rows, and whether the model allows them.

pub(crate) mod lap;
pub(crate) mod trace;
pub(crate) mod verify;
