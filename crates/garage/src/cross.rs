//! What the files of a car's folder say of one another.

use std::path::Path;

use unladen_vehicle::mass::Part;

use crate::car::CarFile;
use crate::fault::caution::Caution;
use crate::fault::finding::{Located, Warning};
use crate::ledger::areas::Areas;
use crate::ledger::unlikely::{Size, outside};
use crate::measured::digits;
use crate::readings::ReadingsFile;

/// Lengths of one car that differ by more than a tape does, m.
const TAPE: f64 = 0.015;
/// Driver, kg, and fuel, m³, that differ by more than a note does.
const ABOARD: [f64; 2] = [0.5, 0.0005];

/// Areas that are not in this car.
pub fn areas_outside(areas: &Areas, size: Size) -> Vec<Warning> {
    let out = |area: &crate::ledger::areas::Area| {
        let [x, y, z] = area.at;
        let (axis, m) = outside(&Part::point(1.0, x, y, z), size)?;
        let what = Caution::AreaOutside { area: area.name.clone(), axis, mm: 1e3 * m };
        Some(Located { what, place: None })
    };
    areas.0.iter().filter_map(out).collect()
}

/// Where readings and the car's file speak of the same and differ: its lengths; what was aboard, where both are of one
/// day.
pub fn readings_differ(path: &Path, readings: &ReadingsFile, car: &CarFile) -> Vec<Warning> {
    let chassis = &car.car.chassis;
    let mut all = Vec::new();
    let mut differ = |what: &'static str, here: f64, there: f64, most: f64, unit: &str, scale: f64| {
        if (here - there).abs() > most {
            let say = |x: f64| format!("{} {unit}", digits((x * scale * 10.0).round() / 10.0));
            let file = path.file_name().unwrap_or_default().to_string_lossy().into_owned();
            let what = Caution::Differs { what, file, here: say(here), there: say(there) };
            all.push(Located { what, place: None });
        }
    };
    let tape = |sd: f64| TAPE.max(3.0 * sd);
    differ("wheelbase", readings.wheelbase.value, chassis.l, tape(readings.wheelbase.sd), "mm", 1e3);
    differ("front track", readings.track[0], chassis.t_f, TAPE, "mm", 1e3);
    differ("rear track", readings.track[1], chassis.t_r, TAPE, "mm", 1e3);
    if readings.day.is_some() && readings.day == car.shop.weighed_on {
        let driver = car.loads.driver.map_or(0.0, |driver| driver.as_weighed);
        let fuel = car.loads.fuel.map_or(0.0, |fuel| fuel.as_weighed);
        differ("driver aboard on that day", readings.driver, driver, ABOARD[0], "kg", 1.0);
        differ("fuel aboard on that day", readings.fuel, fuel, ABOARD[1], "L", 1e3);
    }
    all
}
