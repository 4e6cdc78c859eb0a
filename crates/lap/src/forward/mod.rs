//! The forward pass: as hard as grip, engine and gears allow, under K(s).

mod after;
mod cell;
pub(crate) mod drive;
mod events;
mod gears;
mod labels;
mod origins;
mod paths;
pub(crate) mod profile;
mod step;
