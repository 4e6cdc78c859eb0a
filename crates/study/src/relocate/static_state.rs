//! How a car stands with some fuel aboard, before any lap; and what lies within a car at all.

use unladen_vehicle::Car;
use unladen_vehicle::adhesion::stability_factor;
use unladen_vehicle::mass::Part;

use crate::relocate::RelocateError;

/// How far a car reaches beyond its axles, beyond its wheels, and how high, m: wide enough for any road car.
const BEYOND: (f64, f64, f64) = (1.3, 0.35, 2.0);

/// Refuses a box (of a point: without size) that is in no car of these dimensions. `at`: centre in plan, and its floor.
///
/// # Errors
/// [`RelocateError::Outside`].
pub fn inside(car: &Car, what: &str, at: [f64; 3], size: [f64; 3]) -> Result<(), RelocateError> {
    let (along, across, high) = BEYOND;
    let half_track = 0.5 * car.chassis.t_f.max(car.chassis.t_r) + across;
    let spans = [
        ('x', [at[0] - 0.5 * size[0], at[0] + 0.5 * size[0]], [-along, car.chassis.l + along]),
        ('y', [at[1] - 0.5 * size[1], at[1] + 0.5 * size[1]], [-half_track, half_track]),
        ('z', [at[2], at[2] + size[2]], [0.0, high]),
    ];
    for (axis, ends, [least_m, most_m]) in spans {
        for at_m in ends {
            if !(least_m..=most_m).contains(&at_m) {
                return Err(RelocateError::Outside { what: what.into(), axis, at_m, least_m, most_m });
            }
        }
    }
    Ok(())
}

/// A car with some fuel, without its laps.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StaticState {
    /// kg.
    pub mass: f64,
    /// CG behind the front axle, right of the centre plane, above ground, m.
    pub cg: [f64; 3],
    /// Share of the weight on the front axle.
    pub front_share: f64,
    /// Axle loads, kg.
    pub axles: [f64; 2],
    /// About the CG, kg m².
    pub yaw_inertia: f64,
    /// t/2h.
    pub stability: f64,
}

impl StaticState {
    pub(crate) fn of(part: &Part, car: &Car) -> Self {
        let front_share = 1.0 - part.x / car.chassis.l;
        Self {
            mass: part.m,
            cg: [part.x, part.y, part.z],
            front_share,
            axles: [part.m * front_share, part.m * (1.0 - front_share)],
            yaw_inertia: part.i_zz.unwrap_or(0.0),
            stability: stability_factor(car.chassis.t_f, car.chassis.t_r, part.z),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use unladen_vehicle::example_car;

    #[test]
    fn bad_input_places_in_no_car() {
        let car = example_car();
        assert!(inside(&car, "tank", [1.2, 0.0, 0.2], [0.4, 0.7, 0.2]).is_ok());
        for (at, size, axis) in [
            ([9.0, 0.0, 0.2], [0.0; 3], 'x'),
            ([1.0, -1.3, 0.2], [0.0; 3], 'y'),
            ([1.0, 0.0, -0.1], [0.0; 3], 'z'),
            ([1.0, 0.0, 0.2], [9.0, 0.1, 0.1], 'x'),
            ([1.0, 0.0, 1.9], [0.1, 0.1, 0.2], 'z'),
            ([f64::NAN, 0.0, 0.2], [0.0; 3], 'x'),
        ] {
            let error = inside(&car, "tank", at, size).unwrap_err();
            assert!(matches!(error, RelocateError::Outside { axis: a, .. } if a == axis), "{error}");
        }
    }
}
