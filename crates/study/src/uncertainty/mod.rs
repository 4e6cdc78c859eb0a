//! Differences under uncertainty: draws, paired laps, and what a stopwatch would see.

pub mod alternative;
pub(crate) mod draws;
pub mod paired;
pub mod reversal;
pub mod spread;
pub mod stopwatch;
pub mod verdict;
