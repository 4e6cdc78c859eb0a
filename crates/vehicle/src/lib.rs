//! The vehicle model of `docs/model.md` §§2–6: mass properties, tyres, aero, powertrain, brakes, wheel loads. No I/O.
//!
//! [`car::Car`] holds every number of a car, [`car::Day`] the air and the grip; [`Model`] is a car on a day made ready to be evaluated. The two questions a lap
//! asks are [`Model::grip`] (tyres, brakes, balance) and [`Model::power`] (engine and gear).
//!
//! ```
//! use unladen_vehicle::{Model, car::Day, road::Shape};
//! # let car = unladen_vehicle::example_car();
//! let model = Model::new(&car, Day::STANDARD);
//! let bend = Shape { kappa: 0.02, q: 0.0, dq: 0.0, phi: 0.0, gamma: 1.0 }.road();
//! assert!(model.grip(&bend, 15.0 * 15.0, 0.0).value > 0.0); // 15 m/s in a bend of 50 m holds
//! assert!(model.grip(&bend, 30.0 * 30.0, 0.0).value < 0.0); // 30 m/s does not
//! ```

pub mod adhesion;
pub mod air;
mod balance;
pub mod bounds;
pub mod brakes;
mod calculus;
pub mod car;
pub mod grip;
pub mod loads;
pub mod model;
mod parts;
pub mod powertrain;
pub mod road;
pub mod share;
pub mod tyre;

mod example;

pub use car::{Car, G, Number};
pub use example::example_car;
pub use model::Model;
pub use scalar::{Dual, Scalar};

pub use calculus::{branches, scalar, tape};
pub use parts::{change, entry, fuel, mass};
