//! The car and the doubts that several studies are asked about.

use unladen_study::Input;
use unladen_vehicle::car::AntiLock;
use unladen_vehicle::{Car, Number, example_car};

/// With anti-lock on every wheel, and its centre of gravity this far off the middle, m: neither side is the other's
/// mirror.
pub fn car(y_cg: f64) -> Car {
    let mut car = example_car();
    (car.brakes.anti_lock, car.mass.y_cg) = (AntiLock::FourChannel, y_cg);
    car
}

/// A number of the car known to a standard deviation, SI.
pub fn input(number: Number, sd: f64) -> Input {
    Input { key: number.key(), sd, onto: vec![(number, 1.0)] }
}
