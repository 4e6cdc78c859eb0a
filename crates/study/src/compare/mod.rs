//! Two builds: which is quicker, by what, where, and where it turns over.

pub mod builds;
pub mod changed;
pub mod crossover;
pub mod stretches;
pub mod terms;
