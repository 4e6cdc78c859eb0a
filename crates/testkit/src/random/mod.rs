//! Random but valid cars and tracks. Counted seeds, so that any case can be looked at again.

mod car;
mod rng;
#[cfg(feature = "tracks")]
mod track;

pub use car::{Kind, car};
pub use rng::Rng;
#[cfg(feature = "tracks")]
pub use track::track;
