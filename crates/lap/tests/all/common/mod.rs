//! What the lap tests share.

pub mod judge;

pub use unladen_testkit::check::quantile;
pub use unladen_testkit::files::{CARS, TRACKS, demo_car, demo_track};
pub use unladen_testkit::roads::{circuit, flat, open};
pub use unladen_testkit::{plain, random};
