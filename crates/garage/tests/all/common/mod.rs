//! What the garage's tests read.

use std::sync::Arc;

use unladen_garage::{CarFile, FileErrors, Overrides, Source, TrackFile, parse_car, parse_track};
pub use unladen_testkit::files::{cars, root, text, tracks};

pub fn saloon() -> String {
    text(&root().join("vehicles/saloon-awd/car.toml"))
}

pub fn car(text: &str) -> Result<CarFile, FileErrors> {
    parse_car(&Source::new("car.toml", text), &Overrides::none())
}

pub fn track(toml: &str, csv: &str) -> Result<TrackFile, FileErrors> {
    parse_track(&Source::new("track.toml", toml), &Overrides::none(), None, |_| {
        Ok::<Arc<Source>, _>(Source::new("track.csv", csv))
    })
}

pub const CIRCUIT: &str = "schema = 1\nname = \"t\"\nclosed = true\nsegments = \"track.csv\"\n";
pub const COURSE: &str =
    "schema = 1\nname = \"t\"\nclosed = false\nstart_speed = \"0 km/h\"\nsegments = \"track.csv\"\n";
/// A circle of 100 m radius.
pub const CIRCLE: &str = "length_m,curvature_start_1pm,curvature_end_1pm\n628.3185307,0.01,0.01\n";
