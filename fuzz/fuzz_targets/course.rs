//! Any bytes as a file of positions, up to the runs of a course; an error, or runs that have positions.
#![no_main]

use libfuzzer_sys::fuzz_target;
use unladen_garage::{Ask, survey};

fuzz_target!(|bytes: &[u8]| {
    match survey(&[("fuzz".into(), bytes.to_vec())], &Ask::default()) {
        Ok(found) => assert!(found.runs.iter().flat_map(|r| &r.points).all(|p| p[0].is_finite() && p[1].is_finite())),
        Err(error) => assert!(!error.to_string().is_empty()),
    }
});
