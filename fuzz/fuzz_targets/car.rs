//! Any text as `car.toml`: read or refused with a message; what is read is a number throughout.
#![no_main]

use libfuzzer_sys::fuzz_target;
use unladen_garage::{Overrides, Source, Style, parse_car};
use unladen_vehicle::car::Number;

fuzz_target!(|text: &str| {
    match parse_car(&Source::new("car.toml", text), &Overrides::none()) {
        Ok(mut file) => {
            for number in Number::all(&file.car) {
                assert!(!file.car.number_mut(number).is_none_or(|x| x.is_nan()), "{}", number.key());
            }
            for warning in &file.warnings {
                assert!(!warning.render(Style::PLAIN).is_empty());
            }
        }
        Err(errors) => assert!(!errors.faults.is_empty() && !errors.render(Style::PLAIN).is_empty()),
    }
});
