//! From the car on the scales to the car as it laps: fuel, driver and what else is aboard taken off as they were, put on
//! as they will be.

use unladen_vehicle::car::Number;
use unladen_vehicle::change::Change;
use unladen_vehicle::fuel::Tank;
use unladen_vehicle::mass::Part;
use unladen_vehicle::scalar::{Dual, Scalar};

use crate::fault::finding::Faults;
use crate::fault::{Clash, Fault};
use crate::keys::shop::ABOARD;
use crate::toml_file::nested;
use crate::toml_file::tree::Entry;
use crate::toml_file::typed::Values;

/// The keys that the mass and CG as it laps follow from.
pub(crate) const KEYS: [&str; 18] = [
    "mass.total",
    "mass.cg_x",
    "mass.cg_y",
    "mass.cg_height",
    "fuel.as_weighed",
    "fuel.on_track",
    "fuel.density",
    "fuel.tank.x",
    "fuel.tank.y",
    "fuel.tank.z",
    "fuel.tank.length",
    "fuel.tank.width",
    "fuel.tank.height",
    "driver.as_weighed",
    "driver.on_track",
    "driver.seat.x",
    "driver.seat.y",
    "driver.seat.z",
];

/// What goes on and off with a tank or a seat.
#[derive(Clone, Debug, PartialEq)]
pub struct Loads<S = f64> {
    /// The car on the scales.
    pub weighed: Part<S>,
    /// The fuel, where the file speaks of it.
    pub fuel: Option<Fuel<S>>,
    /// The driver, likewise.
    pub driver: Option<Driver<S>>,
    /// Others and things, `[aboard.NAME]`, in the order of their names.
    pub aboard: Vec<Carried<S>>,
}

/// Somebody or something aboard under a name of the owner's own.
#[derive(Clone, Debug, PartialEq)]
pub struct Carried<S = f64> {
    /// The name.
    pub name: String,
    /// Its mass, kg.
    pub mass: S,
    /// Its CG: behind the front axle, right of the centre plane, above ground, m.
    pub place: [S; 3],
    /// It was on the scales.
    pub as_weighed: bool,
    /// It is aboard as the car laps.
    pub on_track: bool,
}

impl<S: Scalar> Carried<S> {
    fn part(&self) -> Part<S> {
        let [x, y, z] = self.place;
        Part { m: self.mass, x, y, z, i_zz: None }
    }
}

/// `[aboard.NAME]` as it was read: the flags, and the values by key.
#[derive(Debug)]
pub(crate) struct AboardRead {
    name: String,
    values: Values,
}

/// Reads the tables of `[aboard]`.
pub(crate) fn aboard(entry: Option<&Entry>, faults: &mut Faults) -> Vec<AboardRead> {
    let named = entry.map(|entry| nested::named(entry, faults)).unwrap_or_default();
    let read = |(name, _, node): (&str, _, _)| AboardRead {
        name: name.to_owned(),
        values: nested::read(node, ABOARD, &format!("aboard.{name}"), faults),
    };
    named.into_iter().map(read).collect()
}

impl AboardRead {
    /// Its keys that are quantities, whole.
    pub(crate) const QUANTITIES: [&str; 4] = ["mass", "place.x", "place.y", "place.z"];

    /// The whole key of one of its keys.
    pub(crate) fn key(&self, key: &str) -> String {
        format!("aboard.{}.{key}", self.name)
    }

    pub(crate) fn values(&self) -> &Values {
        &self.values
    }

    fn carried<S: Scalar>(&self, lift: &impl Fn(&str, f64) -> S) -> Option<Carried<S>> {
        let get = |key: &str| Some(lift(&self.key(key), self.values.quantity(key)?.value));
        Some(Carried {
            name: self.name.clone(),
            mass: get("mass")?,
            place: [get("place.x")?, get("place.y")?, get("place.z")?],
            as_weighed: self.values.flag("as_weighed").unwrap_or(false),
            on_track: self.values.flag("on_track").unwrap_or(false),
        })
    }
}

/// Fuel on the scales and on the track.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fuel<S = f64> {
    /// Where it is.
    pub tank: Tank<S>,
    /// kg/m³.
    pub density: S,
    /// m³.
    pub as_weighed: S,
    /// m³.
    pub on_track: S,
}

/// The driver on the scales and on the track.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Driver<S = f64> {
    /// The seated driver's CG: behind the front axle, right of the centre plane, above ground, m.
    pub seat: [S; 3],
    /// kg.
    pub as_weighed: S,
    /// kg.
    pub on_track: S,
}

impl<S: Scalar> Loads<S> {
    /// From values by key; `None` where one that must be there is not.
    fn from(get: impl Fn(&'static str) -> Option<S>, aboard: Vec<Carried<S>>) -> Option<Self> {
        let weighed = Part {
            m: get("mass.total")?,
            x: get("mass.cg_x")?,
            y: get("mass.cg_y")?,
            z: get("mass.cg_height")?,
            i_zz: None,
        };
        let fuel = match get("fuel.as_weighed") {
            None => None,
            Some(as_weighed) => Some(Fuel {
                tank: Tank {
                    x: get("fuel.tank.x")?,
                    y: get("fuel.tank.y")?,
                    z: get("fuel.tank.z")?,
                    length: get("fuel.tank.length")?,
                    width: get("fuel.tank.width")?,
                    height: get("fuel.tank.height")?,
                },
                density: get("fuel.density")?,
                as_weighed,
                on_track: get("fuel.on_track").unwrap_or(as_weighed),
            }),
        };
        let driver = match get("driver.as_weighed") {
            None => None,
            Some(as_weighed) => Some(Driver {
                seat: [get("driver.seat.x")?, get("driver.seat.y")?, get("driver.seat.z")?],
                as_weighed,
                on_track: get("driver.on_track").unwrap_or(as_weighed),
            }),
        };
        Some(Self { weighed, fuel, driver, aboard })
    }

    /// The car as it laps.
    ///
    /// # Errors
    /// [`Fault::Fuel`] for more fuel than the tank holds, [`Fault::Mass`] where fuel and driver outweigh the car.
    pub fn lapping(&self) -> Result<Part<S>, Fault> {
        let mut part = self.weighed;
        if let Some(f) = &self.fuel {
            let fuel = |volume, key| f.tank.fuel(volume, f.density).map_err(|what| Fault::Fuel { key, what });
            let (off, on) = (fuel(f.as_weighed, "fuel.as_weighed")?, fuel(f.on_track, "fuel.on_track")?);
            part = part.without(off).map_err(|what| Fault::Mass { key: "fuel.as_weighed", what })?.with(on);
        }
        if let Some(d) = &self.driver {
            let [x, y, z] = d.seat;
            let driver = |m| Part { m, x, y, z, i_zz: None };
            let without = part.without(driver(d.as_weighed));
            part = without.map_err(|what| Fault::Mass { key: "driver.as_weighed", what })?.with(driver(d.on_track));
        }
        for carried in &self.aboard {
            part = match (carried.as_weighed, carried.on_track) {
                (false, true) => part.with(carried.part()),
                (true, false) => part.without(carried.part()).map_err(|what| Fault::Mass { key: "aboard", what })?,
                _ => part,
            };
        }
        Ok(part)
    }
}

impl Loads {
    /// What changes of the weighed car when these are aboard: fuel, m³, driver, kg, and those of the others that
    /// `others` picks.
    ///
    /// # Errors [`Fault::Fuel`] for more fuel than the tank holds, [`Fault::Clash`] where the file has no tank or no
    /// seat for it.
    pub fn changes(&self, fuel: f64, driver: f64, others: impl Fn(&Carried) -> bool) -> Result<Vec<Change>, Fault> {
        let mut all = Vec::new();
        match &self.fuel {
            Some(f) => {
                let part = |volume, key| f.tank.fuel(volume, f.density).map_err(|what| Fault::Fuel { key, what });
                let (before, after) = (part(f.as_weighed, "fuel.as_weighed")?, part(fuel, "target.fuel")?);
                all.push(Change { before: Some(before), after: Some(after) });
            }
            None if fuel > 0.0 => return Err(Fault::Clash { key: "target.fuel", clash: Clash::NoTank }),
            None => {}
        }
        match &self.driver {
            Some(d) => {
                let part = |m| Part::point(m, d.seat[0], d.seat[1], d.seat[2]);
                all.push(Change { before: Some(part(d.as_weighed)), after: Some(part(driver)) });
            }
            None if driver > 0.0 => return Err(Fault::Clash { key: "target.driver", clash: Clash::NoSeat }),
            None => {}
        }
        for carried in &self.aboard {
            let part = |there: bool| there.then(|| Part { i_zz: Some(0.0), ..carried.part() });
            all.push(Change { before: part(carried.as_weighed), after: part(others(carried)) });
        }
        Ok(all)
    }
}

/// The loads of a file as read; `None` where a value is missing (which the reader has said).
pub(crate) fn loads(values: &Values, aboard: &[AboardRead]) -> Option<Loads> {
    let aboard = aboard.iter().map(|read| read.carried(&|_, value| value)).collect::<Option<_>>()?;
    Loads::from(|key| si(values, key), aboard)
}

/// A value of the file, or what stands in for one that was left out.
fn si(values: &Values, key: &'static str) -> Option<f64> {
    values.quantity(key).map(|m| m.value).or((key == "mass.cg_y").then_some(0.0))
}

/// ∂(m, a, y_cg, h as it laps)/∂(the value at this key), where there is one: exact, by one dual number.
pub(crate) fn derivatives(values: &Values, aboard: &[AboardRead], key: &str) -> Option<Vec<(Number, f64)>> {
    let lift = |k: &str, v: f64| if k == key { Dual::<1>::variable(v, 0) } else { v.into() };
    let aboard = aboard.iter().map(|read| read.carried(&lift)).collect::<Option<_>>()?;
    let part = Loads::from(|k| si(values, k).map(|v| lift(k, v)), aboard)?.lapping().ok()?;
    let all = [(Number::M, part.m), (Number::A, part.x), (Number::Y_CG, part.y), (Number::H, part.z)];
    Some(all.into_iter().map(|(number, d)| (number, d.d[0])).filter(|(_, d)| *d != 0.0).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    const TANK: Tank = Tank { x: 2.8, y: 0.0, z: 0.4, length: 0.5, width: 0.5, height: 0.4 };

    fn loads() -> Loads {
        Loads {
            weighed: Part { m: 1000.0, x: 1.2, y: 0.0, z: 0.5, i_zz: None },
            fuel: Some(Fuel { tank: TANK, density: 800.0, as_weighed: 0.025, on_track: 0.05 }),
            driver: Some(Driver { seat: [1.4, 0.35, 0.4], as_weighed: 80.0, on_track: 60.0 }),
            aboard: Vec::new(),
        }
    }

    /// A passenger gets in, a box of tools that was weighed stays in the paddock.
    #[test]
    fn closed_form_others_aboard() {
        let carried = |name: &str, mass, place, as_weighed| Carried {
            name: name.into(),
            mass,
            place,
            as_weighed,
            on_track: !as_weighed,
        };
        let plain = loads().lapping().unwrap();
        let aboard =
            vec![carried("passenger", 70.0, [1.4, -0.35, 0.4], false), carried("tools", 20.0, [2.9, 0.0, 0.5], true)];
        let with = Loads { aboard, ..loads() };
        let part = with.lapping().unwrap();
        assert!((part.m - 1050.0).abs() < 1e-12);
        let moment = |of: f64, passenger: f64, tools: f64| (1000.0 * of + 70.0 * passenger - 20.0 * tools) / 1050.0;
        assert!((part.x - moment(plain.x, 1.4, 2.9)).abs() < 1e-14);
        assert!((part.y - moment(plain.y, -0.35, 0.0)).abs() < 1e-14);
        assert!((part.z - moment(plain.z, 0.4, 0.5)).abs() < 1e-14);
        // As weighed nothing changes.
        let same = unladen_vehicle::change::all_on(
            with.weighed,
            &with.changes(0.025, 80.0, |carried| carried.as_weighed).unwrap(),
        );
        assert_eq!(same.unwrap(), with.weighed);
    }

    /// By hand: 20 kg of fuel at 0.45 m come off, 40 kg at 0.50 m go on; a driver of 80 kg makes way for one of 60 kg.
    #[test]
    fn closed_form_moments_by_hand() {
        let part = loads().lapping().unwrap();
        assert!((part.m - 1000.0).abs() < 1e-12);
        let x = (1000.0 * 1.2 - 20.0 * 2.8 + 40.0 * 2.8 - 20.0 * 1.4) / 1000.0;
        let z = (1000.0 * 0.5 - 20.0 * 0.45 + 40.0 * 0.5 - 20.0 * 0.4) / 1000.0;
        assert!((part.x - x).abs() < 1e-14 && (part.z - z).abs() < 1e-14, "{part:?}");
        assert!((part.y + 0.007).abs() < 1e-14);
    }

    #[test]
    fn property_same_load_changes_nothing() {
        let mut same = loads();
        if let (Some(f), Some(d)) = (&mut same.fuel, &mut same.driver) {
            f.on_track = f.as_weighed;
            d.on_track = d.as_weighed;
        }
        let part = same.lapping().unwrap();
        assert!((part.m - 1000.0).abs() < 1e-10 && (part.x - 1.2).abs() < 1e-14 && (part.z - 0.5).abs() < 1e-14);
    }

    #[test]
    fn bad_input_overfull_and_too_heavy() {
        let mut full = loads();
        if let Some(f) = &mut full.fuel {
            f.on_track = 0.1001;
        }
        assert!(matches!(full.lapping(), Err(Fault::Fuel { key: "fuel.on_track", .. })));
        let mut heavy = loads();
        heavy.weighed.m = 50.0;
        assert!(matches!(heavy.lapping(), Err(Fault::Mass { key: "driver.as_weighed", .. })));
    }
}
