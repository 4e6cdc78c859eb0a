//! What commands have in common: a car, its ledger, and the car with something aboard.

use std::path::{Path, PathBuf};

use unladen_garage::{CarFile, FileErrors, Ledger, Located, Size, read_ledger, slips};
use unladen_questions::stands::load::Aboard;
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

/// The ledger of a car that is read already; likely mistakes go to standard error.
pub fn ledger(car: &Path, file: &CarFile) -> Result<Ledger, CliError> {
    let read = read_ledger(&ledger_file(car), Some(file.shop.scales.as_slice()));
    let (ledger, _) = read.map_err(|e| CliError::Files(vec![e]))?;
    warn(&slips(&ledger, size(file)));
    Ok(ledger)
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
    unladen_report::words::aboard::aboard(Aboard { fuel, driver })
}
