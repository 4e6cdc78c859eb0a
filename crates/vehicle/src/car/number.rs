//! Which number of a car: for derivatives, uncertainty and files.

use crate::car::row::Row;
use crate::car::{Car, Engine, table};
use crate::scalar::Scalar;

/// One scalar number of a [`Car`], for derivatives and uncertainty.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Number {
    /// One with a fixed place in the car; see [`Number::all`].
    Fixed(usize),
    /// Torque at the i-th point of the curve, N m.
    Torque(usize),
    /// The i-th gear's ratio.
    Gear(usize),
}

impl Number {
    /// Every number that any car has at a fixed place, in the order of the table.
    pub fn fixed() -> impl Iterator<Item = Number> {
        (0..Number::ROWS.len()).map(Number::Fixed)
    }

    /// Every number of this car, in a fixed order; [`OnDay::numbers`](crate::car::OnDay::numbers) has the day's besides.
    pub fn all<S: Scalar>(car: &Car<S>) -> Vec<Number> {
        Self::on_day(car).into_iter().filter(|number| !number.is_of_day()).collect()
    }

    /// Air and grip, which a track brings.
    const fn is_of_day(self) -> bool {
        matches!(self, Number::RHO | Number::GAMMA_0)
    }

    /// Every number that a lap of this car reads, its own and the day's.
    pub(super) fn on_day<S: Scalar>(car: &Car<S>) -> Vec<Number> {
        let fixed = if car.brakes.rear_limiter.is_some() { Number::ROWS.len() } else { Number::ALWAYS };
        (0..fixed)
            .map(Number::Fixed)
            .chain((0..car.engine.torque.len()).map(Number::Torque))
            .chain((0..car.driveline.gears.len()).map(Number::Gear))
            .collect()
    }

    /// All that is known of it.
    pub const fn row(self) -> &'static Row {
        match self {
            Number::Fixed(i) => &Number::ROWS[i],
            Number::Torque(_) => &table::TORQUE,
            Number::Gear(_) => &table::GEAR,
        }
    }

    /// Its dotted key in the car's file, or the model's word for what the file gives in another form.
    pub fn key(self) -> String {
        let key = self.row().key;
        match self {
            Number::Fixed(_) => key.into(),
            Number::Torque(i) | Number::Gear(i) => format!("{key}[{i}]"),
        }
    }

    /// Its SI unit ("1" for a pure number).
    pub fn unit(self) -> &'static str {
        self.row().unit
    }
}

impl<S: Scalar> Car<S> {
    /// A number; `None` where this car has no such number.
    pub fn number(&self, number: Number) -> Option<S> {
        match number {
            Number::Fixed(i) => self.fixed(i),
            Number::Torque(i) => self.engine.torque.get(i).map(|p| p.1),
            Number::Gear(i) => self.driveline.gears.get(i).copied(),
        }
    }

    /// The place of a number; `None` where this car has no such number.
    pub fn number_mut(&mut self, number: Number) -> Option<&mut S> {
        match number {
            Number::Fixed(i) => self.fixed_mut(i),
            Number::Torque(i) => self.engine.torque.get_mut(i).map(|p| &mut p.1),
            Number::Gear(i) => self.driveline.gears.get_mut(i),
        }
    }

    /// The same car over another kind of number, each number mapped by `f`.
    pub fn map<T: Scalar>(&self, f: impl Fn(S) -> T) -> Car<T> {
        let mut car = Car::<T> {
            engine: Engine {
                torque: self.engine.torque.iter().map(|&(w, _)| (w, T::default())).collect(),
                ..Engine::default()
            },
            ..Car::default()
        };
        car.driveline.layout = self.driveline.layout;
        car.driveline.gears = vec![T::default(); self.driveline.gears.len()];
        car.brakes.anti_lock = self.brakes.anti_lock;
        car.brakes.rear_limiter = self.brakes.rear_limiter.map(|_| super::RearLimiter::default());
        for number in Number::all(self) {
            if let (Some(place), Some(own)) = (car.number_mut(number), self.number(number)) {
                *place = f(own);
            }
        }
        car
    }
}

impl Car {
    /// Whether the model is defined for it: each number's domain, and what binds two of them.
    pub fn is_possible(&self) -> bool {
        let holds = |n: Number| self.number(n).is_some_and(|x| n.row().domain.holds(x));
        Number::all(self).into_iter().all(holds)
            && self.engine.launch < self.engine.limit
            && self.driveline.gears.windows(2).all(|pair| pair[1] < pair[0])
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::car::Day;
    use crate::example_car;

    /// A field without a row would stay at 0: no other number may be left in a car all of whose numbers are 7.25.
    #[test]
    fn property_every_field_of_a_car_has_a_row() {
        let mut on = example_car().on(Day::STANDARD).map(|_| 7.25);
        let car = &mut on.car;
        car.engine.torque.iter_mut().for_each(|point| point.0 = 7.25);
        let points = car.engine.torque.len();
        let text = format!("{on:?}");
        let numbers: Vec<&str> = text
            .split(|c: char| !(c.is_ascii_digit() || c == '.' || c == '-'))
            .filter(|word| word.contains('.'))
            .collect();
        assert!(numbers.len() == on.numbers().len() + points, "{text}");
        assert!(numbers.iter().all(|word| *word == "7.25"), "{text}");
    }

    #[test]
    fn property_each_row_has_a_place_and_a_key_of_its_own() {
        let car = example_car().on(Day::STANDARD);
        let all = car.numbers();
        for (i, number) in all.iter().enumerate() {
            assert!(all[..i].iter().all(|other| other.key() != number.key()), "{}", number.key());
            let mut other = car.clone();
            *other.number_mut(*number).unwrap() = -7.25;
            assert_eq!(other.number(*number), Some(-7.25));
            assert_eq!(all.iter().filter(|n| other.number(**n) != car.number(**n)).count(), 1, "{}", number.key());
        }
        let mut without = car.car.clone();
        without.brakes.rear_limiter = None;
        assert_eq!(Number::all(&without).len(), Number::all(&car.car).len() - 2);
        assert_eq!((without.number(Number::LIMITER_KNEE), without.number(Number::Gear(99))), (None, None));
    }

    #[test]
    fn bad_input_a_number_outside_its_domain_is_no_car() {
        let car = example_car();
        let on = car.on(Day::STANDARD);
        assert!(on.is_possible());
        for number in on.numbers() {
            for x in [-1e9, -1e-9, 0.0, 1.0, 1e9] {
                let mut other = on.clone();
                *other.number_mut(number).unwrap() = x;
                if !number.row().domain.holds(x) {
                    assert!(!other.is_possible(), "{} {x}", number.key());
                }
            }
        }
        let mut fast = car.clone();
        fast.engine.launch = fast.engine.limit;
        let mut rising = car;
        rising.driveline.gears.reverse();
        assert!(!fast.is_possible() && !rising.is_possible());
    }
}
