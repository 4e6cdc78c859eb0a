//! Any text as a track. Up to the first line `---` it is the TOML file, after it the segments; without one, an open
//! course's segments.
#![no_main]

use libfuzzer_sys::fuzz_target;
use unladen_garage::{Overrides, Source, Style, parse_track};

const COURSE: &str = "schema = 1\nname = \"t\"\nclosed = false\nstart_speed = \"0 m/s\"\nsegments = \"t.csv\"\n";

fuzz_target!(|text: &str| {
    let (toml, csv) = text.split_once("\n---\n").unwrap_or((COURSE, text));
    let load = |_: &str| Ok(Source::new("t.csv", csv));
    match parse_track(&Source::new("t.toml", toml), &Overrides::none(), None, load) {
        Ok(file) => {
            assert!(file.track.check().is_empty() && file.track.length() > 0.0);
            assert!(file.track.joins().iter().all(|p| p.x.is_finite() && p.y.is_finite() && p.z.is_finite()));
        }
        Err(errors) => assert!(!errors.faults.is_empty() && !errors.render(Style::PLAIN).is_empty()),
    }
});
