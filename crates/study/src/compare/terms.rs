//! Why one build is quicker: the groups of numbers in which two cars differ, exchanged one after another. In which order
//! would make a difference; so each group's part is its mean over all orders (the Shapley value), and the parts add up.

use rayon::prelude::*;
use unladen_vehicle::Car;

use crate::input::leg::{Leg, mean_time};

/// Numbers of a car that belong together.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Group {
    /// Mass, its centre held.
    Mass,
    /// Where the centre of gravity is, all three ways.
    Cg,
    /// Driveline efficiency.
    Loss,
    /// Inertia of wheels and engine.
    Rotating,
    /// Which axles are driven, and the differentials.
    Traction,
    /// Brake share, limiter, anti-lock.
    Brakes,
    /// Wheelbase, tracks, roll centres, roll stiffness.
    Chassis,
    /// Tyres without their inertia.
    Tyres,
    /// Air and rolling resistance.
    Aero,
    /// Torque, limiter, clutch, gears, shift time.
    Engine,
    /// The driver's use of the grip.
    Driver,
}

impl Group {
    /// All, in the order of tables.
    pub const ALL: [Group; 11] = [
        Group::Mass,
        Group::Cg,
        Group::Loss,
        Group::Rotating,
        Group::Traction,
        Group::Brakes,
        Group::Chassis,
        Group::Tyres,
        Group::Aero,
        Group::Engine,
        Group::Driver,
    ];

    /// Gives `to` this group of `from`.
    pub(crate) fn put(self, from: &Car, to: &mut Car) {
        match self {
            Group::Mass => to.mass.m = from.mass.m,
            Group::Cg => to.mass = unladen_vehicle::car::Mass { m: to.mass.m, ..from.mass },
            Group::Loss => to.driveline.efficiency = from.driveline.efficiency,
            Group::Rotating => {
                (to.front.j_wheel, to.rear.j_wheel) = (from.front.j_wheel, from.rear.j_wheel);
                to.engine.inertia = from.engine.inertia;
            }
            Group::Traction => {
                let (line, own) = (&from.driveline, &mut to.driveline);
                own.layout = line.layout;
                own.front_share = line.front_share;
                (own.centre_bias, own.front_bias, own.rear_bias) = (line.centre_bias, line.front_bias, line.rear_bias);
            }
            Group::Brakes => to.brakes = from.brakes,
            Group::Chassis => to.chassis = from.chassis,
            Group::Tyres => {
                let wheels = [to.front.j_wheel, to.rear.j_wheel];
                (to.front, to.rear) = (from.front, from.rear);
                [to.front.j_wheel, to.rear.j_wheel] = wheels;
            }
            Group::Aero => to.aero = from.aero,
            Group::Engine => {
                let inertia = to.engine.inertia;
                to.engine = from.engine.clone();
                to.engine.inertia = inertia;
                let (line, own) = (&from.driveline, &mut to.driveline);
                own.gears = line.gears.clone();
                (own.final_drive, own.shift_time) = (line.final_drive, line.shift_time);
            }
            Group::Driver => to.driver = from.driver,
        }
    }

    /// Those in which two cars differ.
    pub fn between(cars: [&Car; 2]) -> Vec<Group> {
        let differs = |group: &Group| {
            let mut car = cars[0].clone();
            group.put(cars[1], &mut car);
            car != *cars[0]
        };
        Group::ALL.into_iter().filter(differs).collect()
    }
}

/// The part that a group has in a difference.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Term {
    /// Which.
    pub group: Group,
    /// What it gains, s: the mean over all orders of exchanging; positive where the second car is quicker by it.
    pub gain_s: f64,
    /// The least and the most that it gains, whatever was exchanged before it.
    pub range_s: [f64; 2],
}

/// The parts of the difference in weighted mean lap time; they sum to it. `None` where a car half-way between the two has no
/// lap. 2ⁿ laps a track for n groups.
pub fn terms(cars: [&Car; 2], legs: &[Leg]) -> Option<Vec<Term>> {
    let groups = Group::between(cars);
    let n = groups.len();
    let time = |set: usize| {
        let mut car = cars[0].clone();
        for (_, group) in groups.iter().enumerate().filter(|(i, _)| set >> i & 1 == 1) {
            group.put(cars[1], &mut car);
        }
        mean_time(&car, legs, &[])
    };
    let times: Vec<f64> =
        (0..1usize << n).into_par_iter().map(time).collect::<Vec<_>>().into_iter().collect::<Option<_>>()?;
    let term = |i: usize| {
        let (mut sum, mut range) = (0.0, [f64::INFINITY, f64::NEG_INFINITY]);
        for set in (0..1usize << n).filter(|set| set >> i & 1 == 0) {
            let gain = times[set] - times[set | 1 << i];
            range = [range[0].min(gain), range[1].max(gain)];
            sum += gain * weight(set.count_ones() as usize, n);
        }
        Term { group: groups[i], gain_s: sum, range_s: range }
    };
    Some((0..n).map(term).collect())
}

/// Share of the orders of n in which exactly such a set of k comes before: k! (n − k − 1)!/n!.
fn weight(k: usize, n: usize) -> f64 {
    let factorial = |n: usize| (1..=n).map(|i| i as f64).product::<f64>();
    factorial(k) * factorial(n - k - 1) / factorial(n)
}

#[cfg(test)]
mod tests {
    use super::*;
    use unladen_vehicle::car::{AntiLock, Layout};
    use unladen_vehicle::{Number, example_car};

    #[test]
    fn closed_form_weights_of_orders() {
        for n in 1..9 {
            // Over the subsets of the other n − 1 they sum to one.
            let sum: f64 = (0..1usize << (n - 1)).map(|set: usize| weight(set.count_ones() as usize, n)).sum();
            assert!((sum - 1.0).abs() < 1e-12);
        }
        assert!((weight(0, 3) - 1.0 / 3.0).abs() < 1e-15 && (weight(1, 3) - 1.0 / 6.0).abs() < 1e-15);
    }

    /// Every number of a car belongs to one group, and to one only: nothing is left out of a sum, nothing counted twice.
    #[test]
    fn property_every_number_has_one_group() {
        let car = example_car();
        for number in Number::all(&car) {
            if [Number::RHO, Number::GAMMA_0].contains(&number) {
                continue; // the day, which a track brings
            }
            let mut other = car.clone();
            *other.number_mut(number).unwrap() *= 1.01;
            *other.number_mut(number).unwrap() += 1e-3;
            let groups = Group::between([&car, &other]);
            assert_eq!(groups.len(), 1, "{}: {groups:?}", number.key());
            let mut put = car.clone();
            groups[0].put(&other, &mut put);
            assert_eq!(put, other, "{}", number.key());
        }
        let mut other = car.clone();
        other.driveline.layout = Layout::Front;
        assert_eq!(Group::between([&car, &other]), [Group::Traction]);
        other = car.clone();
        other.brakes.anti_lock = AntiLock::FourChannel;
        assert_eq!(Group::between([&car, &other]), [Group::Brakes]);
        assert!(Group::between([&car, &car]).is_empty());
    }
}
