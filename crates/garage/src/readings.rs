//! A readings file: what the scales showed, level and with an axle raised, in SI.

use std::sync::Arc;

use crate::fault::finding::{Faults, FileErrors};
use crate::fault::source::Source;
use crate::fault::{Fault, Wrong};
use crate::keys::Table;
use crate::keys::readings::{FLUID, LEVEL, LIFT, READINGS};
use crate::measured::Measured;
use crate::toml_file::nested;
use crate::toml_file::tree;
use crate::toml_file::typed::{self, Values};
use crate::unit::date;

/// What the pads showed in one reading, kg; each as far as it was read.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct PadReading {
    /// `level 1`, `lift 2`.
    pub name: String,
    /// The raised axle, front first, and by how much, m; none: level.
    pub lift: Option<(bool, Measured)>,
    /// Front left, front right, rear left, rear right.
    pub corners: Option<[f64; 4]>,
    /// Front and rear axle.
    pub axles: [Option<f64>; 2],
    /// Heights of the pads over the lowest, m.
    pub pads: [f64; 4],
}

/// A readings file, read.
#[derive(Clone, Debug, PartialEq)]
pub struct ReadingsFile {
    /// Which weighing.
    pub name: String,
    /// The day, days since 1970-01-01.
    pub day: Option<i64>,
    /// Wheelbase, m.
    pub wheelbase: Measured,
    /// Front and rear track, m.
    pub track: [f64; 2],
    /// Wheel centres over their pads, m, front and rear.
    pub wheel_centre: [Measured; 2],
    /// One tyre's vertical rate, N/m.
    pub tyre_rate: [Option<f64>; 2],
    /// Driver aboard, kg.
    pub driver: f64,
    /// Fuel aboard, m³.
    pub fuel: f64,
    /// Step, scatter and bias of a pad, kg, and the common gain.
    pub scales: [f64; 4],
    /// What the method itself may be off by.
    pub method_share: f64,
    /// The readings, level ones first.
    pub readings: Vec<PadReading>,
    /// Fluids: mass, length, depth.
    pub fluids: Vec<[f64; 3]>,
    /// What was taken as ± where the file gives none, in words.
    pub assumed: Vec<&'static str>,
}

/// Lengths that come without ± are taken as known this well, m. Common practice with a tape, no source.
const TAPE_SD: f64 = 0.003;

/// Reads a readings file.
///
/// # Errors
/// Every fault of it.
pub fn parse_readings(source: &Arc<Source>) -> Result<ReadingsFile, FileErrors> {
    let mut faults = Faults::default();
    let mut root = tree::document(source, &mut faults);
    let lists = ["level", "lift", "fluid"].map(|name| nested::take(&mut root, name));
    let values = typed::read(&root, READINGS, &mut faults);
    let mut assumed = Vec::new();
    let mut readings = Vec::new();
    for (entry, table, name) in [(&lists[0], LEVEL, "level"), (&lists[1], LIFT, "lift")] {
        let nodes = entry.as_ref().map(|e| nested::list(e, &mut faults)).unwrap_or_default();
        for (i, node) in nodes.into_iter().enumerate() {
            let label = format!("{name} {}", i + 1);
            let own = nested::read(node, table, &label, &mut faults);
            if let Some(mut reading) = reading(&own, table, label.clone()) {
                if let Some((_, height)) = &mut reading.lift {
                    height.sd = tape(height.sd, "how high the axle was raised", &mut assumed);
                }
                if reading.corners.is_none() && reading.axles == [None, None] {
                    let (help, example) = ("what the pads showed", "front = \"… kg\"".to_owned());
                    let key = format!("{label}.front");
                    faults.push(Fault::KeyMissing { key, help, example, because: None }, &node.place);
                }
                readings.push(reading);
            }
        }
    }
    if lists[0].is_none() && faults.is_empty() {
        let fault = Fault::TableMissing {
            table: "[level]".into(),
            names: LEVEL.names("").into_iter().take(4).collect(),
            because: Some("mass and CG need the level car".into()),
        };
        faults.push(fault, &root.place);
    }
    let mut fluids = Vec::new();
    let nodes = lists[2].as_ref().map(|e| nested::list(e, &mut faults)).unwrap_or_default();
    for (i, node) in nodes.into_iter().enumerate() {
        let own = nested::read(node, FLUID, &format!("fluid {}", i + 1), &mut faults);
        let si = |key: &str| own.quantity(key).map(|m| m.value);
        if let (Some(mass), Some(length), Some(depth)) = (si("mass"), si("length"), si("depth")) {
            fluids.push([mass, length, depth]);
        }
    }
    if let (Some(res), Some(place)) = (values.quantity("scales.resolution"), values.place("scales.resolution"))
        && res.value <= 0.0
    {
        let wrong = Wrong::OutOfRange { given: "0 kg".into(), range: "more than 0 kg".into() };
        faults.push(Fault::Value { key: "scales.resolution".into(), wrong }, place);
    }
    faults.result()?;
    let file = || {
        let si = |key: &str| values.quantity(key).map(|m| m.value);
        let mut taped = |key: &str, what: &'static str| {
            let m = values.quantity(key)?;
            Some(Measured { sd: tape(m.sd, what, &mut assumed), ..m })
        };
        let wheelbase = taped("car.wheelbase", "the wheelbase")?;
        let wheel_centre = [
            taped("car.wheel_centre_front", "the height of the wheel centres")?,
            taped("car.wheel_centre_rear", "the height of the wheel centres")?,
        ];
        Some(ReadingsFile {
            name: values.text("name")?.to_owned(),
            day: values.text("date").and_then(date::day),
            wheelbase,
            track: [si("car.track_front")?, si("car.track_rear")?],
            wheel_centre,
            tyre_rate: [si("car.tyre_rate_front"), si("car.tyre_rate_rear")],
            driver: si("aboard.driver").unwrap_or(0.0),
            fuel: si("aboard.fuel").unwrap_or(0.0),
            scales: [
                si("scales.resolution")?,
                si("scales.repeatability").unwrap_or(0.0),
                si("scales.bias").unwrap_or(0.0),
                si("scales.gain").unwrap_or(0.0),
            ],
            method_share: si("method_share").unwrap_or(0.03),
            readings,
            fluids,
            assumed,
        })
    };
    file().ok_or_else(|| FileErrors::one(Fault::Unreadable, &root.place))
}

fn tape(sd: f64, what: &'static str, assumed: &mut Vec<&'static str>) -> f64 {
    if sd > 0.0 {
        return sd;
    }
    if !assumed.contains(&what) {
        assumed.push(what);
    }
    TAPE_SD
}

fn reading(values: &Values, table: Table, name: String) -> Option<PadReading> {
    let si = |key: &str| values.quantity(key).map(|m| m.value);
    let corners = (|| Some([si("front_left")?, si("front_right")?, si("rear_left")?, si("rear_right")?]))();
    let lift = match table.find("raised") {
        None => None,
        Some(_) => Some((values.choice("raised")? == "front", values.quantity("height")?)),
    };
    let pads = ["pad_front_left", "pad_front_right", "pad_rear_left", "pad_rear_right"].map(|k| si(k).unwrap_or(0.0));
    Some(PadReading { name, lift, corners, axles: [si("front"), si("rear")], pads })
}
