//! The keys of `car.toml` (`docs/files.md`), with what is possible for each. What is merely unlikely is the business of
//! [`crate::car::plausibility`].

use crate::keys::drive::{AERO, BRAKES, DRIVELINE, ENGINE};
use crate::keys::shop::{CORNERS, LIMITS, MONEY, SPRINGS, TARGET};
use crate::keys::{Key, Kind, Need, Table, count, key, numbers, of_both, within};

use unladen_vehicle::car::Number;

use Need::{Always, Optional, With};

const FUEL: Need = With(&["fuel"]);
const DRIVER_ABOARD: Need = With(&["driver.as_weighed", "driver.on_track", "driver.seat"]);

const HEAD: [Key; 2] = [
    key("schema", Kind::Schema, Always, "the file's format, 1"),
    key("name", Kind::Text, Always, "what the car is called"),
];

const MASS: [Key; count("mass.") + 2] = numbers(
    "mass.",
    &[
        (
            4,
            key(
                "mass.weighed_with",
                Kind::Text,
                Optional,
                "what was aboard on the scales: \"driver 78 kg, fuel 20 L\"",
            ),
        ),
        (5, key("mass.weighed_on", Kind::Date, Optional, "the day: ledger rows done until then are in this weighing")),
    ],
);

const POSITION: (f64, f64) = (-3000.0, 15_000.0);

const FUEL_KEYS: [Key; 9] = [
    key("fuel.as_weighed", Kind::Quantity(within("L", 0.0, 1000.0)), FUEL, "fuel in the tank on the scales"),
    key("fuel.on_track", Kind::Quantity(within("L", 0.0, 1000.0)), Optional, "fuel as it laps; left out, as weighed"),
    key(
        "fuel.density",
        Kind::Quantity(within("kg/L", 0.5, 1.2).usually(0.68, 0.88)),
        FUEL,
        "fuel density, petrol about 0.745 kg/L",
    ),
    key(
        "fuel.tank.x",
        Kind::Quantity(within("mm", POSITION.0, POSITION.1)),
        FUEL,
        "the box tank's centre in plan, behind the front axle line",
    ),
    key(
        "fuel.tank.y",
        Kind::Quantity(within("mm", -2000.0, 2000.0)),
        FUEL,
        "the box tank's centre in plan, right of the centre plane",
    ),
    key("fuel.tank.z", Kind::Quantity(within("mm", 0.0, 3000.0)), FUEL, "floor of the tank above ground, inside"),
    key("fuel.tank.length", Kind::Quantity(within("mm", 1.0, 5000.0)), FUEL, "inner length along the car"),
    key("fuel.tank.width", Kind::Quantity(within("mm", 1.0, 5000.0)), FUEL, "inner width across the car"),
    key("fuel.tank.height", Kind::Quantity(within("mm", 1.0, 5000.0)), FUEL, "inner height, floor to roof"),
];

const DRIVER: [Key; 5] = [
    key(
        "driver.as_weighed",
        Kind::Quantity(within("kg", 0.0, 500.0)),
        DRIVER_ABOARD,
        "driver (and passengers) on the scales",
    ),
    key(
        "driver.on_track",
        Kind::Quantity(within("kg", 0.0, 500.0)),
        Optional,
        "driver (and passengers) as it laps; left out, as weighed",
    ),
    key(
        "driver.seat.x",
        Kind::Quantity(within("mm", POSITION.0, POSITION.1)),
        DRIVER_ABOARD,
        "the seated driver's CG, behind the front axle line",
    ),
    key(
        "driver.seat.y",
        Kind::Quantity(within("mm", -2000.0, 2000.0)),
        DRIVER_ABOARD,
        "the seated driver's CG, right of the centre plane",
    ),
    key(
        "driver.seat.z",
        Kind::Quantity(within("mm", 0.0, 3000.0)),
        DRIVER_ABOARD,
        "the seated driver's CG above ground",
    ),
];

const USE: [Key; count("driver.")] = numbers("driver.", &[]);
const CHASSIS: [Key; count("chassis.")] = numbers("chassis.", &[]);
/// What holds for both axles, where an axle's own table says nothing else: one value, and one unknown.
const BOTH_AXLES: [Key; 8] = [
    of_both("tyres.reference_load", Number::N0_F),
    of_both("tyres.peak_friction_long", Number::MU_X_F),
    of_both("tyres.peak_friction_lat", Number::MU_Y_F),
    of_both("tyres.load_slope_long", Number::K_X_F),
    of_both("tyres.load_slope_lat", Number::K_Y_F),
    of_both("tyres.cornering_stiffness", Number::INV_C_ALPHA_F),
    of_both("tyres.rolling_radius", Number::R_F),
    of_both("tyres.wheel_inertia", Number::J_F),
];
const TYRES: [Key; count("tyres.")] = numbers("tyres.", &[]);

/// Every key of `car.toml`.
pub const CAR: Table = Table(&[
    &HEAD,
    &MASS,
    &FUEL_KEYS,
    &DRIVER,
    &USE,
    &CHASSIS,
    &BOTH_AXLES,
    &TYRES,
    &AERO,
    &ENGINE,
    &DRIVELINE,
    &BRAKES,
    &TARGET,
    &MONEY,
    &CORNERS,
    &SPRINGS,
    &LIMITS,
]);

#[cfg(test)]
mod tests {
    use super::*;

    /// A number whose table of the file is none of those above would never be read.
    #[test]
    fn property_every_written_number_is_a_key_of_the_file() {
        for number in Number::fixed().chain([Number::Torque(0), Number::Gear(0)]) {
            let Some(written) = number.row().written else { continue };
            let keys: Vec<&Key> = CAR.keys().filter(|key| key.path == number.row().in_file().0).collect();
            assert!(keys.len() == 1, "{}: {keys:?}", number.key());
            assert!(
                written.as_weighed
                    || matches!(number, Number::Torque(_) | Number::Gear(_))
                    || keys[0].number == Some(number)
            );
        }
        assert!(CAR.keys().all(|key| !key.path.is_empty() && !key.help.is_empty()));
    }

    /// Units are those of the table of units and of the right dimension; whatever may be written the model is defined
    /// for.
    #[test]
    fn property_what_may_be_written_is_possible() {
        for number in Number::fixed().chain([Number::Torque(0), Number::Gear(0)]) {
            let row = number.row();
            let Some(written) = row.written else { continue };
            let (span, unit) = (crate::keys::span(row), crate::unit::find(written.unit));
            assert!(unit.is_some(), "{}: {}", row.key, written.unit);
            let due = if row.in_file().1 { "N/rad" } else { span.unit().dimension.si() };
            assert!(due == row.unit || (due, row.unit) == ("N/rad", "rad/N"), "{}: {due} {}", row.key, row.unit);
            for end in
                [written.range.0, written.range.1, written.usual.0, written.usual.1].map(|x| span.unit().to_si(x))
            {
                let x = if row.in_file().1 { 1.0 / end } else { end };
                assert!(!span.allows(end) || row.domain.holds(x), "{}: {end}", row.key);
            }
            assert!(written.usual.0 < written.usual.1 && written.range.0 < written.range.1, "{}", row.key);
        }
    }
}
