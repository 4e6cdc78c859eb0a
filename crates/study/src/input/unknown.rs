//! Uncertain inputs of a file, and the car when one of them is moved.

use unladen_vehicle::car::Day;
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

/// How often a step that leads to no possible car is halved before it is given up.
const HALVINGS: i32 = 6;

impl Input {
    /// Moves the car's numbers by as much as `sds` standard deviations of this input, whether or not such a car can be;
    /// `None` where it has no such number.
    fn shift(&self, car: &mut Car, sds: f64) -> Option<()> {
        for &(number, per_input) in &self.onto {
            *car.number_mut(number)? += per_input * self.sd * sds;
        }
        Some(())
    }

    /// The car with this input moved by as much as `sds` standard deviations, and by how many it was: fewer where the
    /// whole step leads to no possible car (a roll stiffness share of 1.01). `None` where hardly any step is possible.
    pub(crate) fn moved(&self, car: &Car, sds: f64) -> Option<(Car, f64)> {
        (0..HALVINGS).map(|i| sds * 0.5f64.powi(i)).find_map(|sds| {
            let mut moved = car.clone();
            self.shift(&mut moved, sds)?;
            moved.is_possible().then(|| (carrying_its_day(moved, car.day), sds))
        })
    }
}

/// Moves the car's numbers by as much as `z` standard deviations of each input; `None` where it has no such number.
pub(crate) fn shift_all(car: &mut Car, inputs: &[Input], z: &[f64]) -> Option<()> {
    inputs.iter().zip(z).filter(|(_, z)| **z != 0.0).try_for_each(|(input, z)| input.shift(car, *z))
}

/// A track puts its own day onto each car. What differs from it the car carries instead, which is the same: air acts as
/// ρ C A only, grip as u γ_0 (`docs/model.md` §§2, 4).
pub(crate) fn carrying_its_day(mut car: Car, day: Day) -> Car {
    let (air, grip) = (car.day.rho / day.rho, car.day.gamma_0 / day.gamma_0);
    car.aero.cd_a *= air;
    car.aero.cf_a *= air;
    car.aero.cr_a *= air;
    car.driver.cornering *= grip;
    car.driver.braking *= grip;
    car.driver.traction *= grip;
    car.day = day;
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
        let car = example_car();
        let total = Input { key: "mass.total".into(), sd: 2.0, onto: vec![(Number::M, 1.0), (Number::A, -1e-4)] };
        let (moved, sds) = total.moved(&car, -1.0).unwrap();
        assert_eq!((moved.mass.m, sds), (car.mass.m - 2.0, -1.0));
        assert!((moved.mass.a - car.mass.a - 2e-4).abs() < 1e-15);
        assert_eq!(moved.chassis, car.chassis);
    }

    #[test]
    fn closed_form_steps_end_where_cars_do() {
        let car = example_car(); // χ 0.58, every use 1
        let (moved, sds) = input(Number::CHI, 0.5).moved(&car, 1.0).unwrap();
        assert_eq!((moved.chassis.chi, sds), (0.83, 0.5));
        assert!(input(Number::USE_CORNERING, 0.05).moved(&car, 1.0).is_none());
        assert_eq!(input(Number::USE_CORNERING, 0.05).moved(&car, -1.0).unwrap().1, -1.0);
        assert!(input(Number::LIMITER_KNEE, 10.0).moved(&example_car_without_limiter(), 1.0).is_none());
    }

    fn example_car_without_limiter() -> Car {
        let mut car = example_car();
        car.brakes.rear_limiter = None;
        car
    }

    #[test]
    fn property_the_car_carries_what_the_day_does_not() {
        let car = example_car();
        let (moved, _) = input(Number::GAMMA_0, 0.1).moved(&car, -1.0).unwrap();
        assert!((moved.driver.braking - 0.9).abs() < 1e-15 && moved.day == car.day);
        let (moved, _) = input(Number::RHO, 0.1225).moved(&car, 1.0).unwrap();
        assert!((moved.aero.cr_a / car.aero.cr_a - 1.1).abs() < 1e-15 && moved.day == car.day);
    }
}
