//! A car and the ledger beside it.

use std::path::{Path, PathBuf};

use unladen_garage::{CarFile, Files, FilledIn, Ledger, Size};

/// A car and its ledger.
#[derive(Clone, Debug)]
pub struct Project {
    /// The car.
    pub car: CarFile,
    /// Its ledger.
    pub ledger: Ledger,
}

/// A car's file, where its folder was named.
pub fn car_file(files: &dyn Files, path: &Path) -> PathBuf {
    let inside = path.join("car.toml");
    if files.is_dir(path) && files.is_file(&inside) { inside } else { path.to_owned() }
}

/// The ledger of a car: beside its car.toml.
pub fn ledger_file(files: &dyn Files, car: &Path) -> PathBuf {
    car_file(files, car).parent().unwrap_or(Path::new("")).join("ledger.csv")
}

/// What the car's own size says of its parts.
pub fn size(car: &CarFile) -> Size {
    let chassis = &car.car.chassis;
    Size { wheelbase: chassis.l, track: chassis.t_f.max(chassis.t_r), mass: car.loads.weighed.m }
}

/// How many positions came from an area, and how many from the other half of a swap.
pub fn filled_in(ledger: &Ledger) -> (usize, usize) {
    let count = |what: FilledIn| ledger.filled_in.iter().filter(|f| **f == Some(what)).count();
    (count(FilledIn::Area), count(FilledIn::Other))
}
