//! The forward pass: as hard as grip, engine and gears allow, under K(s).

pub(crate) mod cell;
pub(crate) mod drive;
pub(crate) mod events;
pub(crate) mod profile;
pub(crate) mod step;
