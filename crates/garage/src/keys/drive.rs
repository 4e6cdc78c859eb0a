//! The keys of `car.toml` about what drives, slows and stops it; rows of [`crate::keys::car::CAR`].

use unladen_vehicle::car::Number;

use crate::keys::{Key, Kind, Need, Span, between, key, number, pure, within};

use Need::{Always, Else, With};

const INF: f64 = f64::INFINITY;

pub(crate) const AERO: [Key; 4] = [
    number(
        "aero.drag_area",
        within("m2", 0.0, 50.0).usually(0.2, 2.0),
        Always,
        Number::CD_A,
        "drag coefficient times frontal area",
    ),
    number(
        "aero.downforce_area_front",
        within("m2", -20.0, 50.0).usually(-0.5, 5.0),
        Else(0.0),
        Number::CF_A,
        "downforce area reacted at the front axle, lift negative",
    ),
    number(
        "aero.downforce_area_rear",
        within("m2", -20.0, 50.0).usually(-0.5, 5.0),
        Else(0.0),
        Number::CR_A,
        "downforce area reacted at the rear axle, lift negative",
    ),
    number(
        "aero.rolling_resistance",
        pure(0.0, 0.5).usually(0.005, 0.05),
        Always,
        Number::C_RR,
        "rolling resistance over load",
    ),
];

pub(crate) const ENGINE: [Key; 4] = [
    key(
        "engine.torque",
        Kind::Pairs(within("rpm", 0.0, 100_000.0), within("Nm", 0.0, 50_000.0)),
        Always,
        "full-throttle torque at engine speeds, rising; linear between, constant outside",
    ),
    number(
        "engine.launch",
        within("rpm", 0.0, 100_000.0).usually(800.0, 10_000.0),
        Always,
        Number::LAUNCH,
        "engine speed that the slipping clutch holds from rest",
    ),
    number("engine.limit", within("rpm", 10.0, 100_000.0).usually(3000.0, 16_000.0), Always, Number::LIMIT, "limiter"),
    number(
        "engine.inertia",
        within("kg m2", 0.0, 200.0).usually(0.005, 2.0),
        Always,
        Number::J_ENGINE,
        "inertia of crank, flywheel and clutch",
    ),
];

/// Words of `driveline.layout`.
pub const LAYOUTS: &[&str] = &["front", "rear", "all"];
/// Words of `brakes.anti_lock`.
pub const ANTI_LOCKS: &[&str] = &["none", "3-channel", "4-channel"];
const LAYOUT: &str = "driveline.layout";
const BIAS: Span = pure(1.0, INF);

pub(crate) const DRIVELINE: [Key; 9] = [
    key(LAYOUT, Kind::Choice(LAYOUTS), Always, "driven axles"),
    number(
        "driveline.front_share",
        between(0.0, 1.0),
        Need::When(LAYOUT, &["all"], 0.5),
        Number::FRONT_SHARE,
        "front axle's share of the torque, all-wheel drive",
    ),
    number(
        "driveline.centre_bias",
        BIAS,
        Need::When(LAYOUT, &["all"], 1.0),
        Number::CENTRE_BIAS,
        "torque bias ratio of the centre differential, 1 open, inf locked",
    ),
    number(
        "driveline.front_bias",
        BIAS,
        Need::When(LAYOUT, &["all", "front"], 1.0),
        Number::FRONT_BIAS,
        "torque bias ratio of the front differential, 1 open, inf locked",
    ),
    number(
        "driveline.rear_bias",
        BIAS,
        Need::When(LAYOUT, &["all", "rear"], 1.0),
        Number::REAR_BIAS,
        "torque bias ratio of the rear differential, 1 open, inf locked",
    ),
    key("driveline.gears", Kind::List(pure(0.05, 100.0)), Always, "gear ratios, first gear first"),
    number(
        "driveline.final_drive",
        pure(0.05, 100.0).usually(0.8, 8.0),
        Always,
        Number::FINAL_DRIVE,
        "final drive ratio",
    ),
    number("driveline.efficiency", pure(0.05, 1.0).usually(0.7, 0.99), Always, Number::EFFICIENCY, "engine to wheels"),
    number(
        "driveline.shift_time",
        within("s", 0.0, 10.0).usually(0.0, 1.0),
        Always,
        Number::SHIFT_TIME,
        "time without drive at an upshift",
    ),
];

const LIMITER: Need = With(&["brakes.rear_limiter"]);

pub(crate) const BRAKES: [Key; 4] = [
    number(
        "brakes.front_share",
        pure(0.0, 1.0).usually(0.4, 0.9),
        Always,
        Number::BETA_F,
        "front share of the braking force at the axles, without anti-lock",
    ),
    key("brakes.anti_lock", Kind::Choice(ANTI_LOCKS), Always, "anti-lock channels"),
    number(
        "brakes.rear_limiter.knee",
        within("N", 0.0, 1e6),
        LIMITER,
        Number::LIMITER_KNEE,
        "rear axle's brake force at which the limiter starts",
    ),
    number(
        "brakes.rear_limiter.slope",
        pure(0.0, 1.0),
        LIMITER,
        Number::LIMITER_SLOPE,
        "how far the rear force still rises above the knee",
    ),
];
