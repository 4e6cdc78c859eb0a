//! Studies of a car: many laps, and what follows from them. Pure functions; nothing is read or written.
//!
//! [`worth`] says what a kilogram and a millimetre of the centre of gravity are worth on each of some tracks and on
//! their weighed mix, how well each number is known, and where it changes its mind:
//!
//! ```
//! use unladen_lap::Course;
//! use unladen_study::{Leg, Subject, worth};
//! use unladen_track::{Segment, Track};
//! use unladen_vehicle::example_car;
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
//! let study = worth(&Subject::new(&example_car()), &[Leg::new(&course)])?;
//! let oval = &study.tracks[0];
//! let [bonnet, roof] = [0, 1].map(|i| oval.places[i].s_per_kg.value);
//! assert!(oval.s_per_kg.value > 0.0 && roof > bonnet); // a kilogram costs time, and more of it the higher it sits
//! # Ok::<(), unladen_study::StudyError>(())
//! ```

pub mod compare;
pub mod envelope;
pub mod fit;
pub mod front_first;
mod input;
pub mod ledger;
pub mod made_track;
pub mod measure;
pub mod rank;
pub mod relocate;
pub mod retune;
pub mod sweep;
mod threads;
pub mod trial;
pub mod uncertainty;
pub mod weighing;
mod worth;

pub use input::caveat::Caveat;
pub use input::error::StudyError;
pub use input::leg::{Leg, whole_percent};
pub use input::sound::sound_lap;
pub use input::unknown::Input;
pub use worth::place::{LEAST_ROOF_M, ROOF, Spot, named_spots};
pub use worth::slopes::slopes;
pub use worth::time::{TimeRange, along_lap, time_range};
pub use worth::{Along, Quantity, Study, Subject, Weight, Worth, WorthPlace, worth};
