//! The table: every number of a car's file that is one value.

use unladen_garage::Measured;
use unladen_vehicle::car::Layout;

use crate::estimate::given::Kind;
use crate::estimate::source::{EN_228, GILLESPIE, HEYDINGER, HUCHO, Source, TWO_TYRES};
use crate::estimate::{Class, Rule, Times, about};

use Source::{Given, Practice};

const fn rule(key: &'static str, says: &'static str, source: Source, of: fn(&Class) -> Measured) -> Rule {
    Rule { key, says, source, of }
}

/// Key; the rule in words; source; value and one standard deviation, SI.
#[rustfmt::skip]
pub static RULES: &[Rule] = &[
    rule("mass.cg_y", "an empty car weighs 1 % more on one side", Practice, |_| about(0.0, 0.010)),
    rule("mass.cg_height", "0.39 ± 0.02 of the height", HEYDINGER, |c| about(0.39, 0.02).times(c.given.height.value)),

    rule("fuel.as_weighed", "what is in a tank that nobody filled or drained", Practice, |c| c.given.fuel.unwrap_or(about(0.020, 0.008))),
    rule("fuel.density", "petrol at 15 °C", EN_228, |_| about(745.0, 15.0)),
    rule("fuel.tank.x", "under the rear seat or behind it", Practice, |c| about(c.given.wheelbase.value - 0.25, 0.25)),
    rule("fuel.tank.y", "in the middle", Practice, |_| about(0.0, 0.10)),
    rule("fuel.tank.z", "its floor", Practice, |_| about(0.29, 0.06)),
    rule("fuel.tank.length", "a tank of 60 L", Practice, |_| about(0.40, 0.06)),
    rule("fuel.tank.width", "a tank of 60 L", Practice, |_| about(0.75, 0.10)),
    rule("fuel.tank.height", "a tank of 60 L", Practice, |_| about(0.20, 0.03)),

    rule("driver.on_track", "with helmet and suit", Practice, |c| c.driver),
    rule("driver.seat.x", "0.53 ± 0.04 of the wheelbase", Practice, |c| about(0.53, 0.04).times(c.given.wheelbase.value)),
    rule("driver.seat.y", "on the left; on the right positive", Practice, |_| about(-0.35, 0.04)),
    rule("driver.seat.z", "a driver hardly moves the CG's height", HEYDINGER, |c| about(0.36, 0.035).times(c.given.height.value)),
    rule("driver.use_cornering", "a practised amateur", Practice, |_| about(0.95, 0.02)),
    rule("driver.use_braking", "a practised amateur", Practice, |_| about(0.93, 0.025)),
    rule("driver.use_traction", "a practised amateur", Practice, |_| about(0.95, 0.02)),

    rule("chassis.track_front", "0.58 ± 0.025 of the wheelbase", Practice, |c| c.track),
    rule("chassis.track_rear", "as the front", Practice, |c| about(c.track.value, c.track.sd.max(0.02))),
    rule("chassis.roll_centre_front", "struts or wishbones", Practice, |_| about(0.05, 0.04)),
    rule("chassis.roll_centre_rear", "higher than the front", Practice, |_| about(0.10, 0.05)),
    rule("chassis.roll_stiffness_front_share", "the front axle's share of the weight + 0.03", Practice,
        |c| about((c.front_share.value + 0.03).clamp(0.3, 0.75), 0.07)),

    rule("tyres.peak_friction_long", "5 % more than across", Practice, |c| c.given.tyres.peak_friction().times(1.05)),
    rule("tyres.peak_friction_lat", "by kind of tyre", Practice, |c| c.given.tyres.peak_friction()),
    rule("tyres.load_slope_long", "-0.029 ± 0.010 per kN of reference load", TWO_TYRES, |c| about(-2.9e-5, 1.0e-5).times(c.reference_load())),
    rule("tyres.load_slope_lat", "-0.029 ± 0.010 per kN of reference load", TWO_TYRES, |c| about(-2.9e-5, 1.0e-5).times(c.reference_load())),
    rule("tyres.cornering_stiffness", "0.22 ± 0.05 of the load per degree", GILLESPIE,
        |c| about(0.22, 0.05).times(c.reference_load().to_degrees())),
    rule("tyres.rolling_radius", "0.12 ± 0.005 of the wheelbase", Practice, |c| about(c.radius, 0.005 / 0.12 * c.radius)),
    rule("tyres.wheel_inertia", "17 kg of tyre, rim and disc", Practice, |_| about(0.95, 0.25)),

    rule("aero.drag_area", "", HUCHO, |c| c.drag_area),
    rule("aero.downforce_area_front", "a body without wings lifts", HUCHO, |_| about(-0.06, 0.08)),
    rule("aero.downforce_area_rear", "a body without wings lifts", HUCHO, |_| about(-0.10, 0.10)),
    rule("aero.rolling_resistance", "by kind of tyre", GILLESPIE, |c| c.given.tyres.rolling_resistance()),

    rule("engine.launch", "0.55 ± 0.08 of the speed of most power", Practice, |c| about(0.55, 0.08).times(c.given.power_at)),
    rule("engine.limit", "1.08 ± 0.03 times the speed of most power", Practice, |c| about(1.08, 0.03).times(c.given.power_at)),
    rule("engine.inertia", "crank, flywheel and clutch", Practice, |_| about(0.13, 0.038)),

    rule("driveline.front_share", "of the torque", Practice, |_| about(0.45, 0.07)),
    rule("driveline.centre_bias", "locks a little", Practice, |_| about(2.0, 0.4)),
    rule("driveline.front_bias", "open: its own friction; with plates 2 to 3", Practice, |_| about(1.2, 0.07)),
    rule("driveline.rear_bias", "open: its own friction; with plates 2 to 3", Practice, |_| about(1.2, 0.07)),
    rule("driveline.efficiency", "by the number of gear meshes and shafts", Practice, |c| c.efficiency),
    rule("driveline.shift_time", "by hand", Practice, |_| about(0.35, 0.10)),

    rule("brakes.front_share", "both axles at their grip at 0.9 g", Given,
        |c| about(((c.front_share.value + 0.9 * 0.39 * c.given.height.value / c.given.wheelbase.value) * 100.0).round() / 100.0, 0.04)),
];

impl Class {
    /// The load at which the tyres' friction is stated, N: a wheel's mean, rounded. A definition, not an estimate.
    pub fn reference_load(&self) -> f64 {
        (self.wheel_load() / 50.0).round() * 50.0
    }

    /// Whether a key is one of this layout.
    pub(crate) fn has(&self, key: &str) -> bool {
        match key {
            "driveline.front_share" | "driveline.centre_bias" => self.given.layout == Layout::All,
            "driveline.front_bias" => self.given.layout != Layout::Rear,
            "driveline.rear_bias" => self.given.layout != Layout::Front,
            _ => true,
        }
    }

    /// What stands behind the drag area.
    pub(crate) fn says_of_drag(&self) -> (&'static str, Source) {
        match self.given.top_speed {
            Some(_) => ("from power and top speed", Given),
            None => ("C_d 0.34 ± 0.045, 0.82 of width times height", HUCHO),
        }
    }
}

impl Kind {
    /// μ across at the reference load. Road tyres: 0.99 is the one of Pacejka's App. 3; the others from memory.
    pub fn peak_friction(self) -> Measured {
        match self {
            Kind::Road => about(1.00, 0.08),
            Kind::TrackDay => about(1.17, 0.09),
            Kind::Slick => about(1.35, 0.12),
        }
    }

    /// c_rr.
    pub fn rolling_resistance(self) -> Measured {
        match self {
            Kind::Road => about(0.013, 0.002),
            Kind::TrackDay => about(0.015, 0.002),
            Kind::Slick => about(0.017, 0.003),
        }
    }
}
