//! What `ledger`, `reset` and `weigh` have in common: a car, its ledger, and the car with something aboard.

use std::path::{Path, PathBuf};

use unladen_garage::{CarFile, FileErrors, FilledIn, Ledger, Located, Overrides, Size, read_car, read_ledger, slips};
use unladen_report::words::number::fixed;
use unladen_study::ledger::budget::Base;
use unladen_vehicle::mass::Part;

use crate::error::CliError;
use crate::inputs::car_file;
use crate::output::warn;

/// A car and its ledger.
pub struct Project {
    /// The car.
    pub car: CarFile,
    /// Its ledger.
    pub ledger: Ledger,
}

/// The ledger of a car: beside its car.toml.
pub fn ledger_file(car: &Path) -> PathBuf {
    car_file(car).parent().unwrap_or(Path::new("")).join("ledger.csv")
}

/// Reads both, every fault of both at once; warnings and likely mistakes go to standard error.
pub fn read(car: &Path, set: &[String]) -> Result<Project, CliError> {
    let overrides = Overrides::parse(set).map_err(|e| CliError::Files(vec![e]))?;
    let path = ledger_file(car);
    let file = read_car(car_file(car), &overrides);
    let scales = file.as_ref().ok().map(|c| c.shop.scales.as_slice());
    let ledger = read_ledger(&path, scales);
    match (file, ledger) {
        (Ok(car), Ok((ledger, _))) => {
            warn(&car.warnings);
            warn(&slips(&ledger, size(&car)));
            Ok(Project { car, ledger })
        }
        (car, ledger) => Err(CliError::Files([car.err(), ledger.err()].into_iter().flatten().collect())),
    }
}

/// What the car's own size says of its parts.
pub fn size(car: &CarFile) -> Size {
    let chassis = &car.car.chassis;
    Size { wheelbase: chassis.l, track: chassis.t_f.max(chassis.t_r), mass: car.loads.weighed.m }
}

/// The car as weighed.
pub fn weighed(car: &CarFile) -> Base {
    let chassis = &car.car.chassis;
    Base {
        car: Part { i_zz: Some(0.0), ..car.loads.weighed },
        sd: car.shop.weighed_sd,
        wheelbase: chassis.l,
        track: [chassis.t_f, chassis.t_r],
        chi: chassis.chi,
        corners: car.shop.corners,
    }
}

/// The car as weighed, with this fuel, m³, and driver, kg, aboard instead.
pub fn carrying(car: &CarFile, fuel: f64, driver: f64) -> Result<Base, CliError> {
    let changes = car
        .loads
        .changes(fuel, driver)
        .map_err(|what| CliError::Files(vec![FileErrors { faults: vec![Located { what, place: None }], more: 0 }]))?;
    Ok(weighed(car).carrying(&changes)?)
}

/// Fuel and driver as words.
pub fn aboard(fuel: f64, driver: f64) -> String {
    let litres = if fuel > 0.0 {
        format!("{} L of fuel", fixed(fuel * 1e3, 1).trim_end_matches(".0"))
    } else {
        "no fuel".into()
    };
    let person = if driver > 0.0 {
        format!("driver {} kg", fixed(driver, 1).trim_end_matches(".0"))
    } else {
        "no driver".into()
    };
    format!("{person} and {litres}")
}

/// What was aboard on the scales: fuel, m³, and driver, kg.
pub fn as_weighed(car: &CarFile) -> (f64, f64) {
    (car.loads.fuel.map_or(0.0, |f| f.as_weighed), car.loads.driver.map_or(0.0, |d| d.as_weighed))
}

/// How many positions came from an area, and how many from the other half of a swap.
pub fn filled_in(ledger: &Ledger) -> (usize, usize) {
    let count = |what: FilledIn| ledger.filled_in.iter().filter(|f| **f == Some(what)).count();
    (count(FilledIn::Area), count(FilledIn::Other))
}
