//! A track's TOML file and the CSV of its segments: from their texts to the track.

pub(crate) mod geo;
mod geo_limits;
pub(crate) mod segments;
pub(crate) mod text;

use std::sync::Arc;

use unladen_track::{Closure, Track, TrackError};
use unladen_vehicle::air;
use unladen_vehicle::car::{Day, Number};

use crate::car::Uncertainty;
use crate::fault::caution::Caution;
use crate::fault::finding::{Faults, FileErrors, Finding, Located, Warning};
use crate::fault::source::{Place, Source};
use crate::fault::{Clash, Fault};
use crate::keys::Kind;
use crate::keys::track::TRACK;
use crate::toml_file::set::Overrides;
use crate::toml_file::tree;
use crate::toml_file::typed::{self, Values};
use crate::toml_file::unusual::unusual;
use crate::track::segments::Rows;

/// A track's files, read.
#[derive(Clone, Debug)]
pub struct TrackFile {
    /// The track.
    pub track: Track,
    /// The name of its segments' file, which stands beside it.
    pub segments: String,
    /// How well a circuit closes.
    pub closure: Option<Closure>,
    /// Whether it was made of positions, which leave bends and grades uncertain.
    pub made: bool,
    /// What the file says is uncertain: grip, and the air's density by altitude and temperature.
    pub uncertainties: Vec<Uncertainty>,
    /// What is possible but unlikely.
    pub warnings: Vec<Warning>,
}

impl TrackFile {
    /// The day that the track gives a car.
    pub fn day(&self) -> Day {
        Day { rho: self.track.rho, gamma_0: self.track.grip }
    }
}

/// Reads a track from its texts. `grip` stands in for the file's; `load` gets the name of the segments' file as
/// written.
///
/// # Errors
/// Every fault of both files and of the overrides that belong to them.
pub fn parse_track(
    source: &Arc<Source>,
    overrides: &Overrides,
    grip: Option<f64>,
    load: impl FnOnce(&str) -> Result<Arc<Source>, Box<Finding>>,
) -> Result<TrackFile, FileErrors> {
    let mut faults = Faults::default();
    let mut warnings = Vec::new();
    let mut root = tree::document(source, &mut faults);
    overrides.apply(TRACK, &mut root, &mut faults);
    if let Some(grip) = grip {
        let argument = Source::new("--grip", grip.to_string());
        let value = tree::value(&argument, 0);
        root.put("grip", &value.place.clone(), value);
    }
    let values = typed::read(&root, TRACK, &mut faults);
    let closed = values.flag("closed");
    let start_speed = start_speed(&values, closed, &root.place, &mut faults);
    let rho = density(&values, &root.place, &mut faults);
    let rows = values.text("segments").and_then(|name| match load(name) {
        Ok(csv) if csv.unquoted => {
            let mut own = Faults::default();
            let rows = segments::read(&csv, &mut own);
            if own.is_empty() {
                return Some((rows, csv));
            }
            // A message would repeat what stands in a file that is not this track's.
            let place = values.place("segments").unwrap_or(&root.place);
            faults.push(Fault::Outside { path: csv.name.clone() }, place);
            None
        }
        Ok(csv) => Some((segments::read(&csv, &mut faults), csv)),
        Err(mut finding) => {
            finding.place = finding.place.or(values.place("segments").cloned());
            faults.add(*finding);
            None
        }
    });
    let mut closure = None;
    let track = match (rows, closed) {
        (Some((mut rows, csv)), Some(closed)) => {
            let track = Track {
                name: values.text("name").unwrap_or_default().into(),
                closed,
                start_speed,
                segments: std::mem::take(&mut rows.segments),
                rho: rho.unwrap_or(f64::NAN),
                grip: values.quantity("grip").map_or(1.0, |m| m.value),
            };
            check(&track, &rows, &csv, &mut faults);
            if closed && !rows.unread && !track.segments.is_empty() {
                closure = Some(track.closure());
                closes(&track, &values, &mut faults, &mut warnings);
            }
            Some(track)
        }
        _ => None,
    };
    faults.result()?;
    let Some(track) = track else { return Err(FileErrors::one(Fault::Unreadable, &root.place)) };
    unusual(&values, TRACK, &mut warnings);
    let mut uncertainties = uncertainties(&values, &mut warnings);
    uncertainties.iter_mut().for_each(|u| u.own = overrides.states_sd(&u.key));
    let segments = values.text("segments").unwrap_or_default().to_owned();
    let made = values.choice("made_of").is_some();
    Ok(TrackFile { track, segments, closure, made, uncertainties, warnings })
}

/// An open course starts at a given speed, a circuit has none.
fn start_speed(values: &Values, closed: Option<bool>, file: &Place, faults: &mut Faults) -> f64 {
    let key = "start_speed";
    match (closed, values.quantity(key), values.place("closed")) {
        (Some(true), Some(_), _) => {
            let place = values.place(key).unwrap_or(file);
            faults.push(Fault::Clash { key, clash: Clash::StartOfCircuit }, place);
        }
        (Some(false), None, place) if values.place(key).is_none() => {
            let example = "start_speed = \"0 km/h\"".into();
            let help = "speed at the start of an open course";
            let because = Some("closed is false".into());
            faults.push(Fault::KeyMissing { key: key.into(), help, example, because }, place.unwrap_or(file));
        }
        _ => {}
    }
    if let (Some(false), Some(place)) = (closed, values.place("closure")) {
        faults.push(Fault::Clash { key: "closure", clash: Clash::ClosureOfCourse }, place);
    }
    values.quantity(key).map_or(0.0, |m| m.value)
}

/// ρ by ISO 2533 from the altitude, and the temperature where it is given.
fn density(values: &Values, file: &Place, faults: &mut Faults) -> Option<f64> {
    let altitude = values.quantity(ALTITUDE).map_or(0.0, |m| m.value);
    let temperature = values.quantity(TEMPERATURE).map(|m| m.value);
    match air::density(altitude, temperature) {
        Ok(rho) => Some(rho),
        Err(error) => {
            let place = values.place(ALTITUDE).or(values.place(TEMPERATURE)).unwrap_or(file);
            faults.push(Fault::Air(error), place);
            None
        }
    }
}

const ALTITUDE: &str = "air.altitude";
const TEMPERATURE: &str = "air.temperature";

/// Faults that only the segments together show, each at its row.
fn check(track: &Track, rows: &Rows, csv: &Arc<Source>, faults: &mut Faults) {
    let end = Place::new(csv, csv.text.len()..csv.text.len());
    for error in track.check() {
        let place = match &error {
            // Said where the row was read, or the air.
            TrackError::NotFinite { .. } | TrackError::Grip { .. } if rows.unread => continue,
            TrackError::Day { .. } | TrackError::StartSpeed { .. } => continue,
            TrackError::NoSegments if rows.unread => continue,
            TrackError::NoSegments => {
                faults.push(Fault::NoSegments, &end);
                continue;
            }
            TrackError::NotFinite { row, .. }
            | TrackError::Length { row, .. }
            | TrackError::Beyond { row, .. }
            | TrackError::Grip { row, .. }
            | TrackError::GradeStep { row, .. } => rows.place(csv, *row),
            TrackError::GradeStepAcrossLine { .. } => rows.place(csv, 0),
            TrackError::NotClosed(_) | TrackError::NotACircuit => end.clone(),
        };
        faults.push(Fault::Track(error), &place);
    }
}

/// A circuit that doesn't close is refused, unless its file says that it was measured so.
fn closes(track: &Track, values: &Values, faults: &mut Faults, warnings: &mut Vec<Warning>) {
    let Some(place) = values.place("closed") else { return };
    match (track.check_closed(), values.choice("closure"), values.place("closure")) {
        (Err(TrackError::NotClosed(closure)), Some(_), Some(at)) => {
            warnings.push(Located::at(Caution::NotClosed { errors: closure.to_string() }, at));
        }
        (Err(error), ..) => faults.push(Fault::Track(error), place),
        (Ok(()), Some(_), Some(at)) => warnings.push(Located::at(Caution::ClosesAnyway, at)),
        (Ok(()), ..) => {}
    }
}

fn uncertainties(values: &Values, warnings: &mut Vec<Warning>) -> Vec<Uncertainty> {
    let altitude = values.quantity(ALTITUDE).map_or(0.0, |m| m.value);
    let temperature = values.quantity(TEMPERATURE).map(|m| m.value);
    // Central differences: density is smooth over these steps to 1e-8 of its slope.
    let slope = |dz: f64, dt: f64| {
        let at = |sign: f64| air::density(altitude + sign * dz, temperature.map(|t| t + sign * dt)).ok();
        Some((at(1.0)? - at(-1.0)?) / (2.0 * (dz + dt)))
    };
    let mut all = Vec::new();
    for key in TRACK.keys() {
        let (Kind::Quantity(span), Some(m)) = (&key.kind, values.quantity(key.path)) else { continue };
        if m.sd <= 0.0 {
            continue;
        }
        let onto = match key.path {
            ALTITUDE => slope(1.0, 0.0).map(|d| (Number::RHO, d)),
            TEMPERATURE => slope(0.0, 0.1).map(|d| (Number::RHO, d)),
            _ => key.number.map(|n| (n, 1.0)),
        };
        match (onto, values.place(key.path)) {
            (Some(onto), _) => {
                let unit = span.unit().dimension.si();
                all.push(Uncertainty { key: key.path.into(), sd: m.sd, unit, onto: vec![onto], own: false });
            }
            (None, Some(place)) => {
                warnings.push(Located::at(Caution::MovesNothing { key: key.path.into() }, place));
            }
            (None, None) => {}
        }
    }
    all
}
