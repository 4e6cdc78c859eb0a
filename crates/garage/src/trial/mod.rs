//! Trials: what is sealed before the laps, laps as people write them down, and what is learnt written into car.toml.

pub mod laps;
pub mod learnt;
mod seal;
pub mod sealed;
pub mod typed;
