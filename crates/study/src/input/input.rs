//! Uncertain inputs of a file, and the car when one of them is moved.

use unladen_vehicle::car::{Day, Tyre};
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
    /// Moves the car's numbers by as much as `sds` standard deviations of this input, whether or not such a car can be.
    pub(crate) fn shift(&self, car: &mut Car, sds: f64) {
        for &(number, per_input) in &self.onto {
            if let Some(place) = car.number_mut(number) {
                *place += per_input * self.sd * sds;
            }
        }
    }

    /// The car with this input moved by as much as `sds` standard deviations, and by how many it was: fewer where the
    /// whole step leads to no possible car (a roll stiffness share of 1.01). `None` where hardly any step is possible.
    pub(crate) fn moved(&self, car: &Car, sds: f64) -> Option<(Car, f64)> {
        (0..HALVINGS).map(|i| sds * 0.5f64.powi(i)).find_map(|sds| {
            let mut moved = car.clone();
            for &(number, per_input) in &self.onto {
                *moved.number_mut(number)? += per_input * self.sd * sds;
            }
            possible(&moved).then(|| (carrying_its_day(moved, car.day), sds))
        })
    }
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

/// Whether the model is defined for this car: the hard limits of the car's file.
pub(crate) fn possible(car: &Car) -> bool {
    let share = |x: f64| (0.0..=1.0).contains(&x);
    let (mass, chassis, engine, line, brakes) = (&car.mass, &car.chassis, &car.engine, &car.driveline, &car.brakes);
    let tyre = |t: &Tyre| {
        let positive = [t.n_0, t.mu_x0, t.mu_y0, t.r].iter().all(|&x| x > 0.0);
        positive && t.k_x <= 0.0 && t.k_y <= 0.0 && t.inv_c_alpha >= 0.0 && t.j_wheel >= 0.0
    };
    [mass.m, mass.h, chassis.l, chassis.t_f, chassis.t_r].iter().all(|&x| x > 0.0)
        && share(chassis.chi)
        && tyre(&car.front)
        && tyre(&car.rear)
        && car.aero.cd_a >= 0.0
        && car.aero.c_rr >= 0.0
        && engine.torque.iter().all(|&(_, t)| t >= 0.0)
        && (0.0..engine.limit).contains(&engine.launch)
        && engine.inertia >= 0.0
        && line.front_share > 0.0
        && line.front_share < 1.0
        && [line.centre_bias, line.front_bias, line.rear_bias].iter().all(|&b| b >= 1.0)
        && line.gears.windows(2).all(|pair| pair[1] < pair[0])
        && line.gears.last().is_none_or(|&g| g > 0.0)
        && line.final_drive > 0.0
        && line.efficiency > 0.0
        && line.efficiency <= 1.0
        && line.shift_time >= 0.0
        && share(brakes.beta_f)
        && brakes.rear_limiter.is_none_or(|l| l.knee >= 0.0 && share(l.slope))
        && [car.driver.cornering, car.driver.braking, car.driver.traction].iter().all(|&u| u > 0.0 && u <= 1.0)
        && car.day.rho > 0.0
        && car.day.gamma_0 > 0.0
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
