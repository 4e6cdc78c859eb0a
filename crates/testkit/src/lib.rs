//! What the tests of several crates share: random and plain cars and tracks, the demo files, comparisons that tell
//! their distance, parts of long random runs, and the rule of the house's rooms. A dev-dependency, never anything else.
//!
//! ```
//! use unladen_testkit::random::{Kind, Rng, car};
//! let same = |seed| car(&mut Rng::new(seed), Kind::Usual);
//! assert_eq!(same(7), same(7)); // counted seeds: any case can be looked at again
//! ```
#![allow(clippy::unwrap_used)]

pub mod check;
pub mod files;
pub mod parts;
pub mod plain;
pub mod random;
#[cfg(feature = "tracks")]
pub mod roads;
pub mod rooms;
