//! A project to start from: commented files that a first-time user fills in.

use unladen_garage::{car_schema, readings_schema};

const CAR: &str = include_str!("car.toml");
const LEDGER: &str = include_str!("ledger.csv");
const AREAS: &str = include_str!("areas.csv");
const READINGS: &str = include_str!("readings.toml");

/// Its files, by their names in its folder.
pub fn files() -> [(&'static str, String); 6] {
    [
        ("car.toml", CAR.into()),
        ("ledger.csv", LEDGER.into()),
        ("areas.csv", AREAS.into()),
        ("readings.toml", READINGS.into()),
        ("car.schema.json", format!("{:#}\n", car_schema())),
        ("readings.schema.json", format!("{:#}\n", readings_schema())),
    ]
}
