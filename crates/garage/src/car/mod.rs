//! `car.toml`: from its text to the car as it laps, its uncertainties and its warnings.

pub(crate) mod aboard;
pub(crate) mod fitted;
pub(crate) mod loading;
pub(crate) mod mass_block;
pub(crate) mod plausibility;
pub(crate) mod shop;
pub(crate) mod written;

use std::sync::Arc;

use unladen_vehicle::car::{AntiLock, Car, Layout, Mass, Number, RearLimiter};

use crate::car::loading::{AboardRead, Loads};
use crate::car::shop::Shop;
use crate::car::written::Written;
use crate::fault::caution::Caution;
use crate::fault::finding::{Faults, FileErrors, Located, Warning};
use crate::fault::source::{Place, Source};
use crate::fault::{Clash, Fault, Wrong};
use crate::keys::car::CAR;
use crate::keys::drive::{ANTI_LOCKS, LAYOUTS};
use crate::keys::{Key, Kind, Need, shared};
use crate::toml_file::nested;
use crate::toml_file::set::Overrides;
use crate::toml_file::tree;
use crate::toml_file::typed::{self, Values};
use crate::toml_file::unusual::unusual;

/// A car's file, read.
#[derive(Clone, Debug)]
pub struct CarFile {
    /// Its name.
    pub name: String,
    /// The car as it laps, on a standard day at sea level; a track brings its own air and grip.
    pub car: Car,
    /// Mass, fuel and driver as the file gives them: for "what if" with another load.
    pub loads: Loads,
    /// What the garage needs and a lap does not: target, scales, springs, limits.
    pub shop: Shop,
    /// What the file says is uncertain.
    pub uncertainties: Vec<Uncertainty>,
    /// The keys of values that nobody has measured, by the word `assumed` in front of each.
    pub assumed: Vec<&'static str>,
    /// All that stands in it, or in place of it for this run.
    pub written: Vec<Written>,
    /// What is possible but unlikely.
    pub warnings: Vec<Warning>,
}

/// An uncertain input, and what it moves.
#[derive(Clone, Debug, PartialEq)]
pub struct Uncertainty {
    /// Its dotted key.
    pub key: String,
    /// One standard deviation, SI.
    pub sd: f64,
    /// The SI unit of the input.
    pub unit: &'static str,
    /// ∂(number)/∂(input) of every number of the car that depends on it, SI: `mass.total` moves the CG as it laps too,
    /// where fuel or driver differ from the weighing.
    pub onto: Vec<(Number, f64)>,
    /// Its ± was stated for this run: it is an unknown of its own, not the file's.
    pub own: bool,
}

/// Reads a car's file from its text.
///
/// # Errors
/// Every fault of the file and of the overrides that belong to it.
pub fn parse_car(source: &Arc<Source>, overrides: &Overrides) -> Result<CarFile, FileErrors> {
    let mut faults = Faults::default();
    let mut root = tree::document(source, &mut faults);
    overrides.apply(CAR, &mut root, &mut faults);
    overrides.apply_named(&mut root, &mut faults);
    let scales = nested::take(&mut root, "scales");
    let aboard = nested::take(&mut root, "aboard");
    let values = typed::read(&root, CAR, &mut faults);
    let shop = shop::shop(&values, scales.as_ref(), &mut faults);
    let mut warnings = Vec::new();
    order(&values, &mut faults);
    aboard::check(&values, &mut faults, &mut warnings);
    let aboard = loading::aboard(aboard.as_ref(), &mut faults);
    let loads = loading::loads(&values, &aboard);
    let lapping = loads.as_ref().and_then(|l| match l.lapping() {
        Ok(part) => Some(part),
        Err(fault) => {
            let (Fault::Fuel { key, .. } | Fault::Mass { key, .. }) = fault else { return None };
            let place = values.place(key).or(values.place("fuel.as_weighed")).unwrap_or(&root.place);
            faults.push(fault, place);
            None
        }
    });
    let car = lapping.and_then(|part| assemble(&values, part.into()));
    faults.result()?;
    let (Some(car), Some(loads), Some(name)) = (car, loads, values.text("name")) else {
        return Err(FileErrors::one(Fault::Unreadable, &root.place));
    };
    unusual(&values, CAR, &mut warnings);
    plausibility::car(&car, &loads, &values, &mut warnings);
    let mut uncertainties = uncertainties(&values, &aboard, &mut warnings);
    uncertainties.iter_mut().for_each(|u| u.own = overrides.states_sd(&u.key));
    let (assumed, written) = (values.assumed(CAR), written::all(&values, &aboard));
    Ok(CarFile { name: name.into(), car, loads, shop, uncertainties, assumed, written, warnings })
}

/// What must rise or fall, and what must lie below something else.
fn order(values: &Values, faults: &mut Faults) {
    let mut fail = |key: &str, what: &'static str| {
        if let Some(place) = values.place(key) {
            faults.push(Fault::Value { key: key.into(), wrong: Wrong::Order { what } }, place);
        }
    };
    if values.pairs("engine.torque").is_some_and(|t| t.windows(2).any(|w| w[1].0.value <= w[0].0.value)) {
        fail("engine.torque", "engine speeds must rise from point to point");
    }
    if values.list("driveline.gears").is_some_and(|g| g.windows(2).any(|w| w[1].value >= w[0].value)) {
        fail("driveline.gears", "ratios must fall from gear to gear, first gear first");
    }
    let (launch, limit) = (values.quantity("engine.launch"), values.quantity("engine.limit"));
    if let (Some(launch), Some(limit), Some(place)) = (launch, limit, values.place("engine.launch"))
        && launch.value >= limit.value
    {
        let rpm = |x: f64| format!("{:.0} rpm", x * 30.0 / std::f64::consts::PI);
        let clash = Clash::LaunchAboveLimit { launch: rpm(launch.value), limit: rpm(limit.value) };
        faults.push(Fault::Clash { key: "engine.launch", clash }, place);
    }
}

/// The car from its values; `None` where one is missing.
fn assemble(values: &Values, mass: Mass) -> Option<Car> {
    let mut car = Car { mass, ..Car::default() };
    car.engine.power = 1.0;
    car.engine.torque = values.pairs("engine.torque")?.iter().map(|(w, t)| (w.value, t.value)).collect();
    car.driveline.gears = values.list("driveline.gears")?.iter().map(|g| g.value).collect();
    let layout = values.choice("driveline.layout")?;
    car.driveline.layout = [Layout::Front, Layout::Rear, Layout::All][LAYOUTS.iter().position(|w| *w == layout)?];
    let anti_lock = values.choice("brakes.anti_lock")?;
    car.brakes.anti_lock = [AntiLock::None, AntiLock::ThreeChannel, AntiLock::FourChannel]
        [ANTI_LOCKS.iter().position(|w| *w == anti_lock)?];
    car.brakes.rear_limiter = values.place("brakes.rear_limiter.knee").map(|_| RearLimiter::default());
    for key in CAR.keys() {
        if let Some(number) = key.number
            && let Some(place) = car.number_mut(number)
        {
            *place = value(values, key)?;
        }
    }
    Some(car)
}

/// What the file says, or what stands for a value that may be left out: of a reciprocal that is not known, 0.
fn value(values: &Values, key: &Key) -> Option<f64> {
    values.quantity(key.path).map(|m| key.to_number(m.value).0).or(match key.need {
        Need::Else(value) | Need::When(_, _, value) => Some(value),
        Need::Optional => Some(0.0),
        Need::Always | Need::With(_) => None,
    })
}

/// The keys whose numbers this key's value is: its own; of both axles' tyres those of each axle that has no value of
/// its own.
fn moved_by<'a>(path: &'a str, values: &'a Values) -> impl Iterator<Item = &'static Key> + 'a {
    let is_moved = move |key: &&Key| {
        key.path == path
            || values.own_quantity(key.path).is_none() && shared(key.path).is_some_and(|of_both| of_both == path)
    };
    CAR.keys().filter(is_moved)
}

/// Every ± of the file with what it moves, in the order of the table; a warning for one that moves nothing.
fn uncertainties(values: &Values, aboard: &[AboardRead], warnings: &mut Vec<Warning>) -> Vec<Uncertainty> {
    let mut all = Vec::new();
    let mut put = |key: String, sd: f64, unit: &'static str, onto: Vec<(Number, f64)>, place: Option<&Place>| {
        if sd <= 0.0 {
            return;
        }
        if onto.is_empty() {
            warnings.extend(place.map(|p| Located::at(Caution::MovesNothing { key: key.clone() }, p)));
        } else {
            all.push(Uncertainty { key, sd, unit, onto, own: false });
        }
    };
    let of = |path: &str| loading::derivatives(values, aboard, path).unwrap_or_default();
    for read in aboard {
        for key in AboardRead::QUANTITIES {
            let Some(m) = read.values().quantity(key) else { continue };
            let unit = if key == "mass" { "kg" } else { "m" };
            let onto = if m.sd > 0.0 { of(&read.key(key)) } else { Vec::new() };
            // Who stays in the paddock is none of the car's doubts.
            if !onto.is_empty() {
                put(read.key(key), m.sd, unit, onto, None);
            }
        }
    }
    let mut add = |key: String, sd: f64, unit: &'static str, onto: Vec<(Number, f64)>, at: &str| {
        // That a guess moves nothing is no news to whoever did not make it.
        put(key, sd, unit, onto, values.place(at).filter(|_| !values.is_assumed(at)));
    };
    for key in CAR.keys() {
        match &key.kind {
            Kind::Quantity(span) => {
                let Some(m) = values.own_quantity(key.path) else { continue };
                let onto = match key.path {
                    path if loading::KEYS.contains(&path) => of(path),
                    path => {
                        moved_by(path, values).filter_map(|key| Some((key.number?, key.to_number(m.value).1))).collect()
                    }
                };
                add(key.path.into(), m.sd, span.unit().dimension.si(), onto, key.path);
            }
            Kind::List(span) => {
                for (i, m) in values.list(key.path).into_iter().flatten().enumerate() {
                    let onto = vec![(Number::Gear(i), 1.0)];
                    add(format!("{}[{i}]", key.path), m.sd, span.unit().dimension.si(), onto, key.path);
                }
            }
            Kind::Pairs(x, y) => {
                for (i, (a, b)) in values.pairs(key.path).into_iter().flatten().enumerate() {
                    add(format!("{}[{i}] speed", key.path), a.sd, x.unit().dimension.si(), vec![], key.path);
                    let onto = vec![(Number::Torque(i), 1.0)];
                    add(format!("{}[{i}]", key.path), b.sd, y.unit().dimension.si(), onto, key.path);
                }
            }
            _ => {}
        }
    }
    all
}
