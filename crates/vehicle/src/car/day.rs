//! The day, and a car on it: a track brings its day, and no car holds one.

use crate::car::{Car, Number};
use crate::scalar::Scalar;

/// The day: air and grip.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Day<S = f64> {
    /// ρ: air density, kg/m³.
    pub rho: S,
    /// γ_0: the day's grip, 1 dry.
    pub gamma_0: S,
}

impl Day {
    /// Dry, in the standard atmosphere at sea level (ISO 2533).
    pub const STANDARD: Day = Day { rho: 1.225, gamma_0: 1.0 };
}

/// A car on a day: all that the equations read.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct OnDay<S = f64> {
    /// The car.
    pub car: Car<S>,
    /// The day.
    pub day: Day<S>,
}

impl<S: Scalar> Day<S> {
    /// The same over another kind of number, each number mapped by `f`.
    pub fn map<T>(self, f: impl Fn(S) -> T) -> Day<T> {
        Day { rho: f(self.rho), gamma_0: f(self.gamma_0) }
    }
}

impl<S: Scalar> Car<S> {
    /// This car on a day.
    pub fn on(&self, day: Day<S>) -> OnDay<S> {
        OnDay { car: self.clone(), day }
    }
}

impl<S: Scalar> OnDay<S> {
    /// Every number that a lap reads, the car's and the day's, in a fixed order.
    pub fn numbers(&self) -> Vec<Number> {
        Number::on_day(&self.car)
    }

    /// A number of the car or of the day; `None` where this car has no such number.
    pub fn number(&self, number: Number) -> Option<S> {
        match number {
            Number::Fixed(i) => self.day.fixed(i).or_else(|| self.car.number(number)),
            _ => self.car.number(number),
        }
    }

    /// The place of a number; `None` where this car has no such number.
    pub fn number_mut(&mut self, number: Number) -> Option<&mut S> {
        match number {
            Number::Fixed(i) => self.day.fixed_mut(i).or_else(|| self.car.number_mut(number)),
            _ => self.car.number_mut(number),
        }
    }

    /// The same over another kind of number, each number mapped by `f`.
    pub fn map<T: Scalar>(&self, f: impl Fn(S) -> T) -> OnDay<T> {
        OnDay { day: self.day.map(&f), car: self.car.map(f) }
    }
}

impl OnDay {
    /// Whether the model is defined for it.
    pub fn is_possible(&self) -> bool {
        let holds = |n: Number| self.number(n).is_some_and(|x| n.row().domain.holds(x));
        holds(Number::RHO) && holds(Number::GAMMA_0) && self.car.is_possible()
    }
}
