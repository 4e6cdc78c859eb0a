//! Differences under uncertainty: draws, paired laps, and what a stopwatch would see.

pub(crate) mod alone;
pub mod alternative;
mod checked;
pub(crate) mod draws;
pub mod laps;
mod law;
pub mod paired;
pub mod price;
pub mod reversal;
pub mod spread;
pub(crate) mod step;
pub mod stopwatch;
pub mod verdict;
mod ways;
