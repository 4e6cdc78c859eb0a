//! The table of the numbers of a car and of its day. Reading, `--set`, range checks, the schema, derivatives, uncertainty, what is possible
//! and the terms of a comparison follow from its rows: a new number is a field of [`crate::car`], a row here and its
//! equation.

use crate::car::row::{Domain, Need, Row, Written, within};
use crate::car::{Car, Day, Group, Number};
use crate::scalar::Scalar;

use Domain::{Any, Between, FromOne, NotNegative, NotPositive, Positive, PositiveShare, Share};
use Need::{Else, When};

const fn row(key: &'static str, unit: &'static str, domain: Domain, group: Group, written: Written) -> Row {
    Row { key, unit, domain, group: Some(group), written: Some(written) }
}

/// One that the file doesn't hold, or in another form.
const fn unwritten(key: &'static str, unit: &'static str, domain: Domain, group: Option<Group>) -> Row {
    Row { key, unit, domain, group, written: None }
}

const fn pure(least: f64, most: f64, help: &'static str) -> Written {
    within("", least, most, help)
}

macro_rules! numbers {
    ($( $name:ident $($path:ident).+ = $row:expr; )+
     { day: $( $of_day:ident $that:ident = $day_row:expr; )+ }
     { $($part:ident).+: $( $own:ident $field:ident = $own_row:expr; )+ }) => {
        /// Numbers with a fixed place, by name, and their rows.
        #[allow(non_upper_case_globals, missing_docs)]
        impl Number {
            numbers!(@consts 0usize; $($name)+ $($of_day)+ $($own)+);
            pub const ROWS: &'static [Row] = &[$($row,)+ $($day_row,)+ $($own_row),+];
            /// How many every car has: those of a part that may be missing come last.
            pub(super) const ALWAYS: usize = [$(stringify!($name),)+ $(stringify!($of_day)),+].len();
            /// The first of those that the day brings.
            const DAY: usize = [$(stringify!($name)),+].len();
        }
        impl<S: Scalar> Car<S> {
            pub(super) fn fixed(&self, i: usize) -> Option<S> {
                let mut n = 0usize;
                $( if i == n { return Some(self.$($path).+); } n += 1; )+
                n = Number::ALWAYS;
                let part = self.$($part).+.as_ref()?;
                $( if i == n { return Some(part.$field); } n += 1; )+
                let _ = n;
                None
            }
            pub(super) fn fixed_mut(&mut self, i: usize) -> Option<&mut S> {
                let mut n = 0usize;
                $( if i == n { return Some(&mut self.$($path).+); } n += 1; )+
                n = Number::ALWAYS;
                let part = self.$($part).+.as_mut()?;
                $( if i == n { return Some(&mut part.$field); } n += 1; )+
                let _ = n;
                None
            }
        }
        impl<S: Scalar> Day<S> {
            pub(super) fn fixed(&self, i: usize) -> Option<S> {
                let mut n = Number::DAY;
                $( if i == n { return Some(self.$that); } n += 1; )+
                let _ = n;
                None
            }
            pub(super) fn fixed_mut(&mut self, i: usize) -> Option<&mut S> {
                let mut n = Number::DAY;
                $( if i == n { return Some(&mut self.$that); } n += 1; )+
                let _ = n;
                None
            }
        }
    };
    (@consts $i:expr; $name:ident $($rest:ident)*) => {
        pub const $name: Number = Number::Fixed($i);
        numbers!(@consts $i + 1usize; $($rest)*);
    };
    (@consts $i:expr;) => {};
}

/// One row for the same number of either axle's tyres.
macro_rules! tyre {
    ($axle:literal reference_load) => {
        row(
            concat!("tyres.", $axle, ".reference_load"),
            "N",
            Positive,
            Group::Tyres,
            within("N", 50.0, 100_000.0, "wheel load at which the friction coefficients hold").usually(500.0, 15_000.0),
        )
    };
    ($axle:literal peak_friction_long) => {
        row(
            concat!("tyres.", $axle, ".peak_friction_long"),
            "1",
            Positive,
            Group::Tyres,
            pure(0.05, 10.0, "peak friction along, at the reference load, on this tyre's best dry day")
                .usually(0.5, 2.0),
        )
    };
    ($axle:literal peak_friction_lat) => {
        row(
            concat!("tyres.", $axle, ".peak_friction_lat"),
            "1",
            Positive,
            Group::Tyres,
            pure(0.05, 10.0, "peak friction across, at the reference load").usually(0.5, 2.0),
        )
    };
    ($axle:literal load_slope_long) => {
        row(
            concat!("tyres.", $axle, ".load_slope_long"),
            "1",
            NotPositive,
            Group::Tyres,
            pure(-5.0, 0.0, "change of the friction along when load doubles, 0 or negative").usually(-0.5, 0.0),
        )
    };
    ($axle:literal load_slope_lat) => {
        row(
            concat!("tyres.", $axle, ".load_slope_lat"),
            "1",
            NotPositive,
            Group::Tyres,
            pure(-5.0, 0.0, "change of the friction across when load doubles, 0 or negative").usually(-0.5, 0.0),
        )
    };
    ($axle:literal cornering_stiffness) => {
        row(
            concat!("1/tyres.", $axle, ".cornering_stiffness"),
            "rad/N",
            NotNegative,
            Group::Tyres,
            within(
                "N/deg",
                1.0,
                1e6,
                "cornering stiffness of one wheel at the reference load; left out, cornering drag is left out",
            )
            .need(Need::Optional),
        )
    };
    ($axle:literal rolling_radius) => {
        row(
            concat!("tyres.", $axle, ".rolling_radius"),
            "m",
            Positive,
            Group::Tyres,
            within("mm", 50.0, 2000.0, "rolling radius").usually(200.0, 450.0),
        )
    };
    ($axle:literal wheel_inertia) => {
        row(
            concat!("tyres.", $axle, ".wheel_inertia"),
            "kg m2",
            NotNegative,
            Group::Rotating,
            within("kg m2", 0.0, 200.0, "inertia of one wheel with tyre and disc about its axle").usually(0.1, 5.0),
        )
    };
}

const LAYOUT: &str = "driveline.layout";

/// A differential's torque bias ratio, read for these layouts.
const fn bias(layouts: &'static [&'static str], help: &'static str) -> Written {
    pure(1.0, f64::INFINITY, help).need(When(LAYOUT, layouts, 1.0))
}

const fn used(help: &'static str) -> Written {
    pure(0.05, 1.0, help).usually(0.6, 1.0).need(Else(1.0))
}

const LIMITER: Need = Need::With(&["brakes.rear_limiter"]);

#[rustfmt::skip]
numbers! {
    M mass.m = row("mass.total", "kg", Positive, Group::Mass,
        within("kg", 50.0, 50_000.0, "mass as last weighed").usually(250.0, 4000.0).as_weighed());
    A mass.a = row("mass.cg_x", "m", Any, Group::Cg,
        within("mm", -5000.0, 15_000.0, "CG behind the front axle line, as weighed").as_weighed());
    Y_CG mass.y_cg = row("mass.cg_y", "m", Any, Group::Cg,
        within("mm", -2000.0, 2000.0, "CG right of the centre plane, as weighed")
            .usually(-150.0, 150.0).need(Else(0.0)).as_weighed());
    H mass.h = row("mass.cg_height", "m", Positive, Group::Cg,
        within("mm", 10.0, 3000.0, "CG above ground, as weighed").usually(200.0, 1000.0).as_weighed());
    L chassis.l = row("chassis.wheelbase", "m", Positive, Group::Chassis,
        within("mm", 500.0, 10_000.0, "front to rear axle line").usually(1500.0, 4000.0));
    T_F chassis.t_f = row("chassis.track_front", "m", Positive, Group::Chassis,
        within("mm", 300.0, 4000.0, "track width, front").usually(900.0, 2200.0));
    T_R chassis.t_r = row("chassis.track_rear", "m", Positive, Group::Chassis,
        within("mm", 300.0, 4000.0, "track width, rear").usually(900.0, 2200.0));
    H_RF chassis.h_rf = row("chassis.roll_centre_front", "m", Any, Group::Chassis,
        within("mm", -1000.0, 2000.0, "roll centre above ground, front").usually(-150.0, 350.0));
    H_RR chassis.h_rr = row("chassis.roll_centre_rear", "m", Any, Group::Chassis,
        within("mm", -1000.0, 2000.0, "roll centre above ground, rear").usually(-150.0, 500.0));
    CHI chassis.chi = row("chassis.roll_stiffness_front_share", "1", Share, Group::Chassis,
        pure(0.0, 1.0, "front share of the elastic roll stiffness, springs and bars").usually(0.2, 0.9));
    N0_F front.n_0 = tyre!("front" reference_load);
    MU_X_F front.mu_x0 = tyre!("front" peak_friction_long);
    MU_Y_F front.mu_y0 = tyre!("front" peak_friction_lat);
    K_X_F front.k_x = tyre!("front" load_slope_long);
    K_Y_F front.k_y = tyre!("front" load_slope_lat);
    INV_C_ALPHA_F front.inv_c_alpha = tyre!("front" cornering_stiffness);
    R_F front.r = tyre!("front" rolling_radius);
    J_F front.j_wheel = tyre!("front" wheel_inertia);
    N0_R rear.n_0 = tyre!("rear" reference_load);
    MU_X_R rear.mu_x0 = tyre!("rear" peak_friction_long);
    MU_Y_R rear.mu_y0 = tyre!("rear" peak_friction_lat);
    K_X_R rear.k_x = tyre!("rear" load_slope_long);
    K_Y_R rear.k_y = tyre!("rear" load_slope_lat);
    INV_C_ALPHA_R rear.inv_c_alpha = tyre!("rear" cornering_stiffness);
    R_R rear.r = tyre!("rear" rolling_radius);
    J_R rear.j_wheel = tyre!("rear" wheel_inertia);
    CD_A aero.cd_a = row("aero.drag_area", "m2", NotNegative, Group::Aero,
        within("m2", 0.0, 50.0, "drag coefficient times frontal area").usually(0.2, 2.0));
    CF_A aero.cf_a = row("aero.downforce_area_front", "m2", Any, Group::Aero,
        within("m2", -20.0, 50.0, "downforce area reacted at the front axle, lift negative")
            .usually(-0.5, 5.0).need(Else(0.0)));
    CR_A aero.cr_a = row("aero.downforce_area_rear", "m2", Any, Group::Aero,
        within("m2", -20.0, 50.0, "downforce area reacted at the rear axle, lift negative")
            .usually(-0.5, 5.0).need(Else(0.0)));
    C_RR aero.c_rr = row("aero.rolling_resistance", "1", NotNegative, Group::Aero,
        pure(0.0, 0.5, "rolling resistance over load").usually(0.005, 0.05));
    POWER engine.power = unwritten("engine.power_factor", "1", Any, Some(Group::Engine));
    LAUNCH engine.launch = row("engine.launch", "rad/s", NotNegative, Group::Engine,
        within("rpm", 0.0, 100_000.0, "engine speed that the slipping clutch holds from rest").usually(800.0, 10_000.0));
    LIMIT engine.limit = row("engine.limit", "rad/s", Positive, Group::Engine,
        within("rpm", 10.0, 100_000.0, "limiter").usually(3000.0, 16_000.0));
    J_ENGINE engine.inertia = row("engine.inertia", "kg m2", NotNegative, Group::Rotating,
        within("kg m2", 0.0, 200.0, "inertia of crank, flywheel and clutch").usually(0.005, 2.0));
    FRONT_SHARE driveline.front_share = row("driveline.front_share", "1", Between, Group::Traction,
        pure(0.0, 1.0, "front axle's share of the torque, all-wheel drive").need(When(LAYOUT, &["all"], 0.5)));
    CENTRE_BIAS driveline.centre_bias = row("driveline.centre_bias", "1", FromOne, Group::Traction,
        bias(&["all"], "torque bias ratio of the centre differential, 1 open, inf locked"));
    FRONT_BIAS driveline.front_bias = row("driveline.front_bias", "1", FromOne, Group::Traction,
        bias(&["all", "front"], "torque bias ratio of the front differential, 1 open, inf locked"));
    REAR_BIAS driveline.rear_bias = row("driveline.rear_bias", "1", FromOne, Group::Traction,
        bias(&["all", "rear"], "torque bias ratio of the rear differential, 1 open, inf locked"));
    FINAL_DRIVE driveline.final_drive = row("driveline.final_drive", "1", Positive, Group::Engine,
        pure(0.05, 100.0, "final drive ratio").usually(0.8, 8.0));
    EFFICIENCY driveline.efficiency = row("driveline.efficiency", "1", PositiveShare, Group::Loss,
        pure(0.05, 1.0, "engine to wheels").usually(0.7, 0.99));
    SHIFT_TIME driveline.shift_time = row("driveline.shift_time", "s", NotNegative, Group::Engine,
        within("s", 0.0, 10.0, "time without drive at an upshift").usually(0.0, 1.0));
    BETA_F brakes.beta_f = row("brakes.front_share", "1", Share, Group::Brakes,
        pure(0.0, 1.0, "front share of the braking force at the axles, without anti-lock").usually(0.4, 0.9));
    USE_CORNERING driver.cornering = row("driver.use_cornering", "1", PositiveShare, Group::Driver,
        used("share of the cornering grip that this driver uses"));
    USE_BRAKING driver.braking = row("driver.use_braking", "1", PositiveShare, Group::Driver,
        used("share of the braking grip that this driver uses"));
    USE_TRACTION driver.traction = row("driver.use_traction", "1", PositiveShare, Group::Driver,
        used("share of the traction that this driver uses"));
    { day:
        RHO rho = unwritten("air.density", "kg/m3", Positive, None);
        GAMMA_0 gamma_0 = unwritten("grip", "1", Positive, None);
    }
    { brakes.rear_limiter:
        LIMITER_KNEE knee = row("brakes.rear_limiter.knee", "N", NotNegative, Group::Brakes,
            within("N", 0.0, 1e6, "rear axle's brake force at which the limiter starts").need(LIMITER));
        LIMITER_SLOPE slope = row("brakes.rear_limiter.slope", "1", Share, Group::Brakes,
            pure(0.0, 1.0, "how far the rear force still rises above the knee").need(LIMITER));
    }
}

/// The row of each point of the torque curve.
pub(super) const TORQUE: Row = row(
    "engine.torque",
    "N m",
    NotNegative,
    Group::Engine,
    within("Nm", 0.0, 50_000.0, "full-throttle torque at engine speeds, rising; linear between, constant outside"),
);

/// The row of each gear's ratio.
pub(super) const GEAR: Row =
    row("driveline.gears", "1", Positive, Group::Engine, pure(0.05, 100.0, "gear ratios, first gear first"));
