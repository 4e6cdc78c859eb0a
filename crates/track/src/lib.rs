//! A track as segments of linear curvature, grade and bank, and what it is at a station (`model.md` §§2, 7).

mod check;
mod closure;
mod geometry;
mod segment;
mod shape;

pub use check::{BANK_LIMIT, KAPPA_LIMIT, LENGTH_LIMIT, SLOPE_LIMIT, STEP_LIMIT, TrackError};
pub use closure::Closure;
pub use geometry::Pose;
pub use segment::{Segment, Track};
