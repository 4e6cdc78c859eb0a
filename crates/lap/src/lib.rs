//! The lap: feasible accelerations, the time-optimal profile, its trace and its derivatives (`docs/model.md` §§7, 8).
//!
//! A [`Course`] is a track made ready; it laps cars.
//!
//! ```
//! use unladen_lap::Course;
//! use unladen_track::{Segment, Track};
//! use unladen_vehicle::{Number, example_car};
//!
//! let flat = |length: f64, kappa: f64| Segment {
//!     length, kappa: [kappa; 2], q: [0.0; 2], phi: [0.0; 2], gamma: 1.0, place: None,
//! };
//! let half_circle = std::f64::consts::PI * 50.0;
//! let oval = Track {
//!     name: "oval".into(), closed: true, start_speed: 0.0, rho: 1.225, grip: 1.0,
//!     segments: vec![flat(400.0, 0.0), flat(half_circle, 0.02), flat(400.0, 0.0), flat(half_circle, 0.02)],
//! };
//! let course = Course::new(&oval);
//! let lap = course.lap(&example_car())?;
//! let per_kg = &lap.derivatives(&[Number::M])[0];
//! assert!(lap.error < 1e-2 && per_kg.value > 0.0); // one more kilogram costs time
//! # Ok::<(), unladen_lap::LapError>(())
//! ```

mod backward;
mod beside;
mod course;
mod error;
mod forward;
mod set;
mod slopes;
mod solved;
mod step;

pub use course::{Course, Derivative, Lap, Rival, STEP_M, Slope, Status};
pub use error::LapError;
pub use solved::trace::{Limit, Row};
