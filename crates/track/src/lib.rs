//! A track as segments of linear curvature, grade and bank, and what it is at a station (`docs/model.md` §§2, 7).
//!
//! [`Track`] is a list of [`Segment`]s with the day's air and grip; a circuit or an open course.
//!
//! ```
//! use unladen_track::{Segment, Track};
//!
//! let bend = |length: f64, kappa: [f64; 2]| Segment {
//!     length, kappa, q: [0.0; 2], phi: [0.0; 2], gamma: 1.0, place: None,
//! };
//! // A clothoid of 60 m into an arc of R 100 m.
//! let segments = vec![bend(60.0, [0.0, 0.01]), bend(80.0, [0.01, 0.01])];
//! let track = Track { name: "corner".into(), closed: false, start_speed: 20.0, segments, rho: 1.2, grip: 1.0 };
//! assert!(track.check().is_empty());
//! let joins = track.joins();
//! assert!((joins[1].heading - 0.3).abs() < 1e-12 && (joins[2].heading - 1.1).abs() < 1e-12);
//! ```

mod bank;
mod check;
mod closure;
mod geometry;
pub mod place;
mod segment;
mod shape;

pub use check::{BANK_LIMIT, KAPPA_LIMIT, LENGTH_LIMIT, SLOPE_LIMIT, STEP_LIMIT, TrackError};
pub use closure::Closure;
pub use geometry::Pose;
pub use segment::{Segment, Track};
