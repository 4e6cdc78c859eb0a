//! From the car on the scales to the car as it laps: fuel and driver taken off as they were, put on as they will be.

use unladen_vehicle::car::Number;
use unladen_vehicle::change::Change;
use unladen_vehicle::fuel::Tank;
use unladen_vehicle::mass::Part;
use unladen_vehicle::scalar::{Dual, Scalar};

use crate::fault::{Clash, Fault};
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
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Loads<S = f64> {
    /// The car on the scales.
    pub weighed: Part<S>,
    /// The fuel, where the file speaks of it.
    pub fuel: Option<Fuel<S>>,
    /// The driver, likewise.
    pub driver: Option<Driver<S>>,
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
    fn from(get: impl Fn(&'static str) -> Option<S>) -> Option<Self> {
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
        Some(Self { weighed, fuel, driver })
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
        Ok(part)
    }
}

impl Loads {
    /// What changes of the weighed car when these are aboard: fuel, m³, and driver, kg.
    ///
    /// # Errors [`Fault::Fuel`] for more fuel than the tank holds, [`Fault::Clash`] where the file has no tank or no
    /// seat for it.
    pub fn changes(&self, fuel: f64, driver: f64) -> Result<Vec<Change>, Fault> {
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
        Ok(all)
    }
}

/// The loads of a file as read; `None` where a value is missing (which the reader has said).
pub(crate) fn loads(values: &Values) -> Option<Loads> {
    Loads::from(|key| si(values, key))
}

/// A value of the file, or what stands in for one that was left out.
fn si(values: &Values, key: &'static str) -> Option<f64> {
    values.quantity(key).map(|m| m.value).or((key == "mass.cg_y").then_some(0.0))
}

/// ∂(m, a, y_cg, h as it laps)/∂(the value at this key), where there is one: exact, by one dual number.
pub(crate) fn derivatives(values: &Values, key: &str) -> Option<Vec<(Number, f64)>> {
    let lift = |k: &'static str| si(values, k).map(|v| if k == key { Dual::<1>::variable(v, 0) } else { v.into() });
    let part = Loads::from(lift)?.lapping().ok()?;
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
        }
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
