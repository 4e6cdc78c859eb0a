//! What `car.toml` says for the garage rather than for the lap: when it was weighed and on what, the target, corner
//! weights, springs, and limits that its owner has entered.

use unladen_vehicle::entry::Scale;

use crate::fault::finding::Faults;
use crate::fault::{Fault, Wrong};
use crate::keys::shop::SCALE;
use crate::toml_file::nested;
use crate::toml_file::tree::Entry;
use crate::toml_file::typed::Values;
use crate::unit::date;

/// It, in SI.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Shop {
    /// When the car was last weighed, days since 1970-01-01: rows done until then are in that weighing.
    pub weighed_on: Option<i64>,
    /// Standard deviations of mass, x, y and height as weighed, kg, m.
    pub weighed_sd: [f64; 4],
    /// The mass to be reached.
    pub target: Option<Target>,
    /// What stands before sums of money.
    pub money: Option<String>,
    /// Front left, front right, rear left, rear right as last weighed, kg.
    pub corners: Option<[f64; 4]>,
    /// Springs.
    pub springs: Option<Springs>,
    /// Limits.
    pub limits: Limits,
    /// Scales that parts are weighed on.
    pub scales: Vec<Scale>,
}

/// A target mass and what is aboard when it is to be met.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Target {
    /// kg.
    pub mass: f64,
    /// m³.
    pub fuel: f64,
    /// kg.
    pub driver: f64,
}

/// One wheel's rates, N/m, and each axle's unsprung mass, kg; front, rear.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Springs {
    /// At the wheel.
    pub wheel_rate: [f64; 2],
    /// The tyre's, where given.
    pub tyre_rate: [Option<f64>; 2],
    /// Of both wheels.
    pub unsprung: [f64; 2],
}

/// What may not be exceeded, as its owner has found it; kg.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Limits {
    /// One tyre, front and rear.
    pub tyre_load: [Option<f64>; 2],
    /// One axle, front and rear.
    pub axle_load: [Option<f64>; 2],
    /// The mass in the car's papers.
    pub registered: Option<Registered>,
    /// Least and most front share of the roll stiffness that can be set.
    pub roll_stiffness_front_share: Option<[f64; 2]>,
    /// Least and most front share of the brakes that can be set.
    pub brake_front_share: Option<[f64; 2]>,
    /// By what margin the front must let go first.
    pub front_first_margin: FrontFirstMargin,
}

/// By what share the rear must be able to corner and brake harder than the front when that lets go.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FrontFirstMargin(pub f64);

impl Default for FrontFirstMargin {
    /// What a lift at the limit that slows the car by 0.05 g moves between the axles: 0.05 h L/(a b), of which a tyre
    /// with a load slope of -0.14 feels 0.86: 0.033 for a height of 0.19 L and an even split. Judgement, no source.
    fn default() -> Self {
        Self(0.03)
    }
}

/// A mass in a car's papers.
#[derive(Clone, Debug, PartialEq)]
pub struct Registered {
    /// kg.
    pub mass: f64,
    /// By how much it may differ, kg.
    pub tolerance: f64,
    /// Fuel by its definition, m³; none: as weighed.
    pub fuel: Option<f64>,
    /// Driver by its definition, kg; none: as weighed.
    pub driver: Option<f64>,
    /// Which paper.
    pub document: String,
    /// Its date, days since 1970-01-01.
    pub day: i64,
}

/// From the file's values; a value that is missing or wrong has been said.
pub(crate) fn shop(values: &Values, scales: Option<&Entry>, faults: &mut Faults) -> Shop {
    let si = |key: &str| values.quantity(key).map(|m| m.value);
    let sd = |key: &str| values.quantity(key).map_or(0.0, |m| m.sd);
    let day = |key: &str| values.text(key).and_then(date::day);
    let whole = |keys: [&str; 4]| Some([si(keys[0])?, si(keys[1])?, si(keys[2])?, si(keys[3])?]);
    let springs = || {
        Some(Springs {
            wheel_rate: [si("springs.wheel_rate_front")?, si("springs.wheel_rate_rear")?],
            tyre_rate: [si("springs.tyre_rate_front"), si("springs.tyre_rate_rear")],
            unsprung: [si("springs.unsprung_front")?, si("springs.unsprung_rear")?],
        })
    };
    let target = || Some(Target { mass: si("target.mass")?, fuel: si("target.fuel")?, driver: si("target.driver")? });
    let registered = || {
        Some(Registered {
            mass: si("limits.registered_mass")?,
            tolerance: si("limits.registered_tolerance")?,
            fuel: si("limits.registered_fuel"),
            driver: si("limits.registered_driver"),
            document: values.text("limits.document")?.to_owned(),
            day: day("limits.document_date")?,
        })
    };
    Shop {
        weighed_on: day("mass.weighed_on"),
        weighed_sd: ["mass.total", "mass.cg_x", "mass.cg_y", "mass.cg_height"].map(sd),
        target: target(),
        money: values.text("money.symbol").map(str::to_owned),
        corners: whole(["corners.front_left", "corners.front_right", "corners.rear_left", "corners.rear_right"]),
        springs: springs(),
        limits: Limits {
            tyre_load: [si("limits.tyre_load_front"), si("limits.tyre_load_rear")],
            axle_load: [si("limits.axle_load_front"), si("limits.axle_load_rear")],
            registered: registered(),
            roll_stiffness_front_share: settings(SETTINGS[0], values, faults),
            brake_front_share: settings(SETTINGS[1], values, faults),
            front_first_margin: si("limits.front_first_margin").map(FrontFirstMargin).unwrap_or_default(),
        },
        scales: scales.map(|entry| self::scales(entry, faults)).unwrap_or_default(),
    }
}

const SETTINGS: [[&str; 2]; 2] = [
    ["limits.roll_stiffness_front_share_least", "limits.roll_stiffness_front_share_most"],
    ["limits.brake_front_share_least", "limits.brake_front_share_most"],
];

/// Least and most of what can be set; a fault where they are the wrong way round.
fn settings([least, most]: [&str; 2], values: &Values, faults: &mut Faults) -> Option<[f64; 2]> {
    let [a, b] = [values.quantity(least)?.value, values.quantity(most)?.value];
    if a > b
        && let Some(place) = values.place(most)
    {
        let wrong = Wrong::Order { what: "the most that can be set is not below the least" };
        faults.push(Fault::Value { key: most.into(), wrong }, place);
    }
    Some([a, b])
}

fn scales(entry: &Entry, faults: &mut Faults) -> Vec<Scale> {
    let mut all = Vec::new();
    for (name, _, node) in nested::named(entry, faults) {
        let values = nested::read(node, SCALE, &format!("scales.{name}"), faults);
        let si = |key: &str| values.quantity(key).map(|m| m.value);
        if let Some(resolution) = si("resolution") {
            let (bias, gain) = (si("bias").unwrap_or(0.0), si("gain").unwrap_or(0.0));
            all.push(Scale { name: name.to_owned(), resolution, bias, gain });
        }
    }
    all
}
