//! Any lines as `--set` arguments on a demo car and a small track.
#![no_main]

use libfuzzer_sys::fuzz_target;
use unladen_garage::{Overrides, Source, Style, parse_car, parse_track};

const CAR: &str = include_str!("../../vehicles/saloon-awd/car.toml");
const TRACK: &str = "schema = 1\nname = \"t\"\nclosed = false\nstart_speed = \"0 m/s\"\nsegments = \"t.csv\"\n";
const CSV: &str = "length_m,curvature_start_1pm,curvature_end_1pm\n100,0,0.01\n";

fuzz_target!(|text: &str| {
    match Overrides::parse(text.lines()) {
        Ok(overrides) => {
            let car = parse_car(&Source::new("car.toml", CAR), &overrides);
            let track = parse_track(&Source::new("t.toml", TRACK), &overrides, None, |_| Ok(Source::new("t.csv", CSV)));
            for errors in [car.err(), track.err()].into_iter().flatten() {
                assert!(!errors.render(Style::PLAIN).is_empty());
            }
        }
        Err(errors) => assert!(!errors.render(Style::PLAIN).is_empty()),
    }
});
