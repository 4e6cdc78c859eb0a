//! The figures that a lap is run for, in the units in which they are published.

use unladen_lap::{Course, Derivative, Lap, LapError};
use unladen_vehicle::{Car, Number};

use crate::input::sound::quiet_lap;
use crate::worth::place::{Spot, factors};

/// What the lap time is differentiated by, in the order of the figures.
pub(crate) const NUMBERS: [Number; 4] = [Number::M, Number::H, Number::A, Number::Y_CG];
/// One published unit of each, SI: kg, mm, mm, mm.
pub(crate) const UNITS: [f64; 4] = [1.0, 1e-3, 1e-3, 1e-3];
/// The figure at which those of the spots begin.
pub(crate) const SPOTS: usize = 1 + NUMBERS.len();

/// Lap time, s; ∂T/∂(m, h, a, y_cg), s/kg and s/mm; then w at each spot, s/kg.
pub(crate) type Figures = Vec<f64>;

/// The figures of a lap and estimates of their numerical errors.
pub(crate) fn figures(lap: &Lap, derivatives: &[Derivative], spots: &[Spot]) -> (Figures, Figures) {
    let mut values = vec![lap.time];
    let mut errors = vec![lap.error];
    for (derivative, unit) in derivatives.iter().zip(UNITS) {
        values.push(derivative.value * unit);
        errors.push(derivative.error * unit);
    }
    for spot in spots {
        let factors = factors(&lap.car().mass, spot.at);
        let parts = || derivatives.iter().zip(factors);
        values.push(parts().map(|(d, f)| d.value * f).sum());
        errors.push(parts().map(|(d, f)| d.error * f.abs()).sum());
    }
    (values, errors)
}

/// Laps a car for its figures; `None` for a lap that says nothing.
pub(crate) fn measure(course: &Course, car: &Car, spots: &[Spot]) -> Result<Figures, Option<LapError>> {
    let lap = quiet_lap(course, car)?;
    Ok(figures(&lap, &lap.derivatives(&NUMBERS), spots).0)
}

/// A way in which mass or CG can change; each has its figure.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Way {
    /// The i-th of [`NUMBERS`].
    Number(usize),
    /// Mass put on, or taken off, at the i-th spot.
    Spot(usize),
}

impl Way {
    /// The figure that is the slope of lap time this way.
    pub(crate) fn figure(self) -> usize {
        match self {
            Way::Number(i) => 1 + i,
            Way::Spot(i) => SPOTS + i,
        }
    }

    /// The car `step` kg or mm further this way.
    pub(crate) fn moved(self, car: &Car, spots: &[Spot], step: f64) -> Car {
        match self {
            Way::Number(i) => {
                let mut car = car.clone();
                if let Some(number) = car.number_mut(NUMBERS[i]) {
                    *number += step * UNITS[i];
                }
                car
            }
            Way::Spot(i) => crate::worth::place::loaded(car, spots[i].at, step),
        }
    }
}
