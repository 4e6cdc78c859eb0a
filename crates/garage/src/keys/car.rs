//! The keys of `car.toml` (`docs/files.md`), with what is possible for each. What is merely unlikely is the business of
//! [`crate::car::plausibility`].

use unladen_vehicle::car::Number;

use crate::keys::drive::{AERO, BRAKES, DRIVELINE, ENGINE};
use crate::keys::shop::{CORNERS, LIMITS, SPRINGS, TARGET};
use crate::keys::{Key, Kind, Need, Span, Table, key, number, pure, within};

use Need::{Always, Else, Optional, With};

const FUEL: Need = With(&["fuel"]);
const DRIVER_ABOARD: Need = With(&["driver.as_weighed", "driver.on_track", "driver.seat"]);

const HEAD: [Key; 2] = [
    key("schema", Kind::Schema, Always, "the file's format, 1"),
    key("name", Kind::Text, Always, "what the car is called"),
];

const MASS: [Key; 6] = [
    key(
        "mass.total",
        Kind::Quantity(within("kg", 50.0, 50_000.0).usually(250.0, 4000.0)),
        Always,
        "mass as last weighed",
    ),
    key(
        "mass.cg_x",
        Kind::Quantity(within("mm", -5000.0, 15_000.0)),
        Always,
        "CG behind the front axle line, as weighed",
    ),
    key(
        "mass.cg_y",
        Kind::Quantity(within("mm", -2000.0, 2000.0).usually(-150.0, 150.0)),
        Else(0.0),
        "CG right of the centre plane, as weighed",
    ),
    key(
        "mass.cg_height",
        Kind::Quantity(within("mm", 10.0, 3000.0).usually(200.0, 1000.0)),
        Always,
        "CG above ground, as weighed",
    ),
    key("mass.weighed_with", Kind::Text, Optional, "what was aboard on the scales: \"driver 78 kg, fuel 20 L\""),
    key("mass.weighed_on", Kind::Date, Optional, "the day: ledger rows done until then are in this weighing"),
];

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

const USE: Span = pure(0.05, 1.0).usually(0.6, 1.0);

const DRIVER: [Key; 8] = [
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
    number(
        "driver.use_cornering",
        USE,
        Else(1.0),
        Number::USE_CORNERING,
        "share of the cornering grip that this driver uses",
    ),
    number(
        "driver.use_braking",
        USE,
        Else(1.0),
        Number::USE_BRAKING,
        "share of the braking grip that this driver uses",
    ),
    number("driver.use_traction", USE, Else(1.0), Number::USE_TRACTION, "share of the traction that this driver uses"),
];

const CHASSIS: [Key; 6] = [
    number(
        "chassis.wheelbase",
        within("mm", 500.0, 10_000.0).usually(1500.0, 4000.0),
        Always,
        Number::L,
        "front to rear axle line",
    ),
    number(
        "chassis.track_front",
        within("mm", 300.0, 4000.0).usually(900.0, 2200.0),
        Always,
        Number::T_F,
        "track width, front",
    ),
    number(
        "chassis.track_rear",
        within("mm", 300.0, 4000.0).usually(900.0, 2200.0),
        Always,
        Number::T_R,
        "track width, rear",
    ),
    number(
        "chassis.roll_centre_front",
        within("mm", -1000.0, 2000.0).usually(-150.0, 350.0),
        Always,
        Number::H_RF,
        "roll centre above ground, front",
    ),
    number(
        "chassis.roll_centre_rear",
        within("mm", -1000.0, 2000.0).usually(-150.0, 500.0),
        Always,
        Number::H_RR,
        "roll centre above ground, rear",
    ),
    number(
        "chassis.roll_stiffness_front_share",
        pure(0.0, 1.0).usually(0.2, 0.9),
        Always,
        Number::CHI,
        "front share of the elastic roll stiffness, springs and bars",
    ),
];

macro_rules! tyre {
    ($axle:literal, $n0:ident $mu_x:ident $mu_y:ident $k_x:ident $k_y:ident $r:ident $j:ident) => {
        [
            number(
                concat!("tyres.", $axle, ".reference_load"),
                within("N", 50.0, 100_000.0).usually(500.0, 15_000.0),
                Always,
                Number::$n0,
                "wheel load at which the friction coefficients hold",
            ),
            number(
                concat!("tyres.", $axle, ".peak_friction_long"),
                pure(0.05, 10.0).usually(0.5, 2.0),
                Always,
                Number::$mu_x,
                "peak friction along, at the reference load, on this tyre's best dry day",
            ),
            number(
                concat!("tyres.", $axle, ".peak_friction_lat"),
                pure(0.05, 10.0).usually(0.5, 2.0),
                Always,
                Number::$mu_y,
                "peak friction across, at the reference load",
            ),
            number(
                concat!("tyres.", $axle, ".load_slope_long"),
                pure(-5.0, 0.0).usually(-0.5, 0.0),
                Always,
                Number::$k_x,
                "change of the friction along when load doubles, 0 or negative",
            ),
            number(
                concat!("tyres.", $axle, ".load_slope_lat"),
                pure(-5.0, 0.0).usually(-0.5, 0.0),
                Always,
                Number::$k_y,
                "change of the friction across when load doubles, 0 or negative",
            ),
            key(
                concat!("tyres.", $axle, ".cornering_stiffness"),
                Kind::Quantity(within("N/deg", 1.0, 1e6)),
                Optional,
                "cornering stiffness of one wheel at the reference load; left out, cornering drag is left out",
            ),
            number(
                concat!("tyres.", $axle, ".rolling_radius"),
                within("mm", 50.0, 2000.0).usually(200.0, 450.0),
                Always,
                Number::$r,
                "rolling radius",
            ),
            number(
                concat!("tyres.", $axle, ".wheel_inertia"),
                within("kg m2", 0.0, 200.0).usually(0.1, 5.0),
                Always,
                Number::$j,
                "inertia of one wheel with tyre and disc about its axle",
            ),
        ]
    };
}

const TYRES_FRONT: [Key; 8] = tyre!("front", N0_F MU_X_F MU_Y_F K_X_F K_Y_F R_F J_F);
const TYRES_REAR: [Key; 8] = tyre!("rear", N0_R MU_X_R MU_Y_R K_X_R K_Y_R R_R J_R);

/// Every key of `car.toml`.
pub const CAR: Table = Table(&[
    &HEAD,
    &MASS,
    &FUEL_KEYS,
    &DRIVER,
    &CHASSIS,
    &TYRES_FRONT,
    &TYRES_REAR,
    &AERO,
    &ENGINE,
    &DRIVELINE,
    &BRAKES,
    &TARGET,
    &CORNERS,
    &SPRINGS,
    &LIMITS,
]);
