//! Uncertain inputs of a file, and the car when one of them is moved.

use unladen_vehicle::car::{Day, OnDay};
use unladen_vehicle::{Car, Number};

/// An uncertain input, and what of the car it moves.
#[derive(Clone, Debug, PartialEq)]
pub struct Input {
    /// Its dotted key in the file.
    pub key: String,
    /// One standard deviation, SI.
    pub sd: f64,
    /// ∂(number)/∂(input) of every number that depends on it, SI.
    pub onto: Vec<(Number, f64)>,
}

/// What has numbers that an input moves.
pub(crate) trait Movable {
    /// The place of a number; `None` where there is no such number.
    fn place(&mut self, number: Number) -> Option<&mut f64>;
}

impl Movable for Car {
    fn place(&mut self, number: Number) -> Option<&mut f64> {
        self.number_mut(number)
    }
}

impl Movable for OnDay {
    fn place(&mut self, number: Number) -> Option<&mut f64> {
        self.number_mut(number)
    }
}

/// How often a step that leads to no possible car is halved before it is given up.
const HALVINGS: i32 = 6;

impl Input {
    /// Moves numbers by as much as `sds` standard deviations of this input, whether or not such a car can be; `None`
    /// where there is no such number.
    fn shift(&self, what: &mut impl Movable, sds: f64) -> Option<()> {
        for &(number, per_input) in &self.onto {
            *what.place(number)? += per_input * self.sd * sds;
        }
        Some(())
    }

    /// The car on its day with this input moved by as much as `sds` standard deviations, and by how many it was: fewer where the
    /// whole step leads to no possible car (a roll stiffness share of 1.01). `None` where hardly any step is possible.
    pub(crate) fn moved(&self, on: &OnDay, sds: f64) -> Option<(Car, f64)> {
        (0..HALVINGS).map(|i| sds * 0.5f64.powi(i)).find_map(|sds| {
            let mut moved = on.clone();
            self.shift(&mut moved, sds)?;
            moved.is_possible().then(|| (carried(moved, on.day), sds))
        })
    }
}

/// Moves numbers by as much as `z` standard deviations of each input; `None` where there is no such number.
pub(crate) fn shift_all(what: &mut impl Movable, inputs: &[Input], z: &[f64]) -> Option<()> {
    inputs.iter().zip(z).filter(|(_, z)| **z != 0.0).try_for_each(|(input, z)| input.shift(what, *z))
}

/// A car that laps on `day` as this one does on its own: a course has one day, and what differs from it the car carries,
/// which is the same: air acts as ρ C A only, grip as u γ_0 (`docs/model.md` §§2, 4).
pub(crate) fn carried(on: OnDay, day: Day) -> Car {
    let OnDay { mut car, day: own } = on;
    let (air, grip) = (own.rho / day.rho, own.gamma_0 / day.gamma_0);
    car.aero.cd_a *= air;
    car.aero.cf_a *= air;
    car.aero.cr_a *= air;
    car.driver.cornering *= grip;
    car.driver.braking *= grip;
    car.driver.traction *= grip;
    car
}

/// σ² = Σ ½ (Δ₋² + Δ₊²) over what each uncertain input does, down and up; of one that has no lap on one side, the other
/// side's square. `None` where one has no lap on either.
pub(crate) fn two_sided_sd(inputs: impl Iterator<Item = [Option<f64>; 2]>) -> Option<f64> {
    let variance = |sides: [Option<f64>; 2]| {
        let squares: Vec<f64> = sides.into_iter().flatten().map(|change| change * change).collect();
        (!squares.is_empty()).then(|| squares.iter().sum::<f64>() / squares.len() as f64)
    };
    inputs.map(variance).sum::<Option<f64>>().map(f64::sqrt)
}

#[cfg(test)]
mod tests {
    use super::*;
    use unladen_vehicle::example_car;

    fn input(number: Number, sd: f64) -> Input {
        Input { key: "it".into(), sd, onto: vec![(number, 1.0)] }
    }

    #[test]
    fn closed_form_an_input_moves_all_that_depends_on_it() {
        let car = example_car().on(Day::STANDARD);
        let total = Input { key: "mass.total".into(), sd: 2.0, onto: vec![(Number::M, 1.0), (Number::A, -1e-4)] };
        let (moved, sds) = total.moved(&car, -1.0).unwrap();
        assert_eq!((moved.mass.m, sds), (car.car.mass.m - 2.0, -1.0));
        assert!((moved.mass.a - car.car.mass.a - 2e-4).abs() < 1e-15);
        assert_eq!(moved.chassis, car.car.chassis);
    }

    #[test]
    fn closed_form_steps_end_where_cars_do() {
        let car = example_car().on(Day::STANDARD); // χ 0.58, every use 1
        let (moved, sds) = input(Number::CHI, 0.5).moved(&car, 1.0).unwrap();
        assert_eq!((moved.chassis.chi, sds), (0.83, 0.5));
        assert!(input(Number::USE_CORNERING, 0.05).moved(&car, 1.0).is_none());
        assert_eq!(input(Number::USE_CORNERING, 0.05).moved(&car, -1.0).unwrap().1, -1.0);
        assert!(input(Number::LIMITER_KNEE, 10.0).moved(&example_car_without_limiter(), 1.0).is_none());
    }

    fn example_car_without_limiter() -> OnDay {
        let mut car = example_car();
        car.brakes.rear_limiter = None;
        car.on(Day::STANDARD)
    }

    #[test]
    fn property_the_car_carries_what_the_day_does_not() {
        let car = example_car().on(Day::STANDARD);
        let (moved, _) = input(Number::GAMMA_0, 0.1).moved(&car, -1.0).unwrap();
        assert!((moved.driver.braking - 0.9).abs() < 1e-15);
        let (moved, _) = input(Number::RHO, 0.1225).moved(&car, 1.0).unwrap();
        assert!((moved.aero.cr_a / car.car.aero.cr_a - 1.1).abs() < 1e-15);
    }
}
