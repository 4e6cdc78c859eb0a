//! Any text as a readings file: read or refused with a message.
#![no_main]

use libfuzzer_sys::fuzz_target;
use unladen_garage::{Source, Style, parse_readings};

fuzz_target!(|text: &str| {
    match parse_readings(&Source::new("r.toml", text)) {
        Ok(file) => {
            assert!(file.wheelbase.value > 0.0 && file.wheelbase.sd > 0.0);
            assert!(file.readings.iter().all(|r| r.corners.is_some() || r.axles != [None, None]));
        }
        Err(errors) => assert!(!errors.faults.is_empty() && !errors.render(Style::PLAIN).is_empty()),
    }
});
