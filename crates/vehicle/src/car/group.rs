//! Numbers of a car that belong together, and cars that swap them.

use crate::car::{Car, Number};

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

    /// Gives `to` this group of `from`: what is no single number of it first, then each number of the table.
    pub fn put(self, from: &Car, to: &mut Car) {
        match self {
            Group::Traction => to.driveline.layout = from.driveline.layout,
            Group::Brakes => {
                to.brakes.anti_lock = from.brakes.anti_lock;
                to.brakes.rear_limiter = from.brakes.rear_limiter;
            }
            Group::Engine => {
                to.engine.torque = from.engine.torque.clone();
                to.driveline.gears = from.driveline.gears.clone();
            }
            _ => {}
        }
        for number in Number::fixed().filter(|number| number.row().group == Some(self)) {
            if let (Some(place), Some(own)) = (to.number_mut(number), from.number(number)) {
                *place = own;
            }
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::car::{AntiLock, Layout};
    use crate::example_car;

    /// Every number of a car belongs to one group, and to one only: nothing is left out of a sum, nothing counted
    /// twice.
    #[test]
    fn property_every_number_has_one_group() {
        let car = example_car();
        for number in Number::all(&car) {
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
        other = car.clone();
        other.brakes.rear_limiter = None;
        assert_eq!(Group::between([&car, &other]), [Group::Brakes]);
        assert!(Group::between([&car, &car]).is_empty());
    }
}
