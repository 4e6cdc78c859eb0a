//! What can be turned, and what turning it sets in the car's file.

use std::collections::BTreeMap;

use serde::Serialize;
use unladen_garage::CarFile;

use crate::fault::LiveError;

/// Something that is turned: a slider with a field beside it.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Control {
    /// Its key in a trial.
    pub id: &'static str,
    /// What it is called.
    pub name: &'static str,
    /// The unit it is turned in.
    pub unit: &'static str,
    /// Least, most, and the step between.
    pub range: [f64; 3],
    /// Where it stands when nothing is turned.
    pub at: f64,
    /// It is of the day, for both cars alike: no trial of a car.
    pub day: bool,
}

/// The day's grip, which is no number of the car.
pub const DAY: &str = "day";
/// All tyres' peak friction, along and across.
const GRIP: [&str; 4] =
    ["front.peak_friction_long", "front.peak_friction_lat", "rear.peak_friction_long", "rear.peak_friction_lat"];

/// What can be turned of a car on a day with this grip.
pub fn controls(car: &CarFile, grip: f64) -> Vec<Control> {
    let control = |id, name, unit, range, at| Control { id, name, unit, range, at, day: id == DAY };
    let round = |x: f64, step: f64| (x / step).round() * step;
    let mut all = vec![
        control("mass", "mass at the centre of gravity", "kg", [-200.0, 200.0, 1.0], 0.0),
        control("height", "centre of gravity higher", "mm", [-80.0, 80.0, 1.0], 0.0),
        control("power", "engine's torque", "%", [-30.0, 30.0, 0.5], 0.0),
        control("grip", "grip of all tyres", "%", [-20.0, 20.0, 0.5], 0.0),
    ];
    if let Some(fuel) = car.loads.fuel {
        let most = (fuel.tank.capacity() * 1e3).floor();
        all.push(control("fuel", "fuel in the tank", "L", [0.0, most, 0.5], round(fuel.on_track * 1e3, 0.5)));
    }
    let share = 100.0 * car.car.chassis.chi;
    let [least, most] = car.shop.limits.roll_stiffness_front_share.unwrap_or([0.2, 0.8]);
    let least = (100.0 * least).min(share);
    let most = (100.0 * most).max(share);
    all.push(control("roll", "front share of roll stiffness", "%", [least, most, 0.5], round(share, 0.1)));
    all.push(control(DAY, "grip of the day: dry 1, wet about 0.6", "", [0.3, 1.3, 0.01], round(grip, 0.01)));
    all
}

/// As `--set` takes them; what stands where it stood sets nothing.
///
/// # Errors
/// [`LiveError`] where there is no such control, or it can't be turned so far.
pub fn settings(turned: &BTreeMap<String, f64>, all: &[Control]) -> Result<Vec<String>, LiveError> {
    let mut set = Vec::new();
    for (id, &value) in turned {
        let control = all.iter().find(|c| c.id == id).ok_or_else(|| LiveError::NoControl(id.clone()))?;
        let [least, most, _] = control.range;
        if !(least..=most).contains(&value) {
            return Err(LiveError::Range { name: control.name, value, least, most });
        }
        if value == control.at {
            continue;
        }
        let by = if value < 0.0 { "-=" } else { "+=" };
        let (size, factor) = (value.abs(), 1.0 + value / 100.0);
        match control.id {
            "mass" => set.push(format!("mass.total{by}{size}kg")),
            "height" => set.push(format!("mass.cg_height{by}{size}mm")),
            "power" => set.push(format!("engine.torque*={factor}")),
            "grip" => set.extend(GRIP.map(|key| format!("tyres.{key}*={factor}"))),
            "fuel" => set.push(format!("fuel.on_track={value}L")),
            "roll" => set.push(format!("chassis.roll_stiffness_front_share={}", value / 100.0)),
            _ => {}
        }
    }
    Ok(set)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    fn all() -> Vec<Control> {
        let range = [-10.0, 10.0, 1.0];
        let control = |id, at| Control { id, name: "it", unit: "", range, at, day: false };
        vec![control("mass", 0.0), control("grip", 0.0), control("fuel", 5.0)]
    }

    #[test]
    fn closed_form_what_is_set() {
        let set = |id: &str, value| settings(&BTreeMap::from([(id.to_owned(), value)]), &all()).unwrap();
        assert_eq!(set("mass", -4.0), ["mass.total-=4kg"]);
        assert_eq!(set("grip", 5.0)[3], "tyres.rear.peak_friction_lat*=1.05");
        assert!(set("fuel", 5.0).is_empty());
    }

    #[test]
    fn bad_input_what_can_not_be_turned() {
        for (id, value) in [("mass", 11.0), ("mass", f64::NAN), ("none", 1.0)] {
            assert!(settings(&BTreeMap::from([(id.to_owned(), value)]), &all()).is_err(), "{id} {value}");
        }
    }
}
