//! What may be typed on the command line: ranges as those of the files, and of the same table where a file has it.

use std::ops::Range;
use std::sync::Arc;

use crate::fault::finding::FileErrors;
use crate::fault::source::{Place, Source};
use crate::fault::{Fault, Wrong};
use crate::keys::{Span, between, pure, within};
use crate::measured::{Measured, parse};
use crate::unit::near::nearest;

pub use crate::keys::ledger::{AMOUNT, MASS};
pub use crate::keys::track::GRIP;

/// A track's weight in a mix.
pub const WEIGHT: Span = pure(1e-3, 1e6);
/// Standard deviation of a position or a height.
pub const NOISE: Span = within("m", 1e-3, 100.0);
/// Of what a synthetic log's positions are off by; nothing is possible.
pub const MADE_NOISE: Span = within("m", 0.0, 100.0);
/// How far a curvature may be off, 1/m.
pub const CURVATURE: Span = pure(1e-7, 1.0);
/// A position in degrees; or in m, where a file has metres.
pub const POSITION: Span = pure(-1e7, 1e7);
/// Samples a second.
pub const RATE: Span = pure(0.1, 1000.0);
/// A share that is not the whole.
pub const SHARE: Span = Span { open: false, ..between(0.0, 0.9) };
/// Radius of gyration of what turns.
pub const TURNING: Span = within("mm", 1.0, 1000.0);
/// Inside of a box.
pub const BOX: Span = within("mm", 1.0, 5000.0);
/// A place in or about a car; whether it is inside is said by what knows the car.
const PLACE: Span = within("mm", -20_000.0, 20_000.0);
/// Fuel.
pub const FUEL: Span = within("L", 0.0, 1000.0);
/// A scatter of laps.
pub const SCATTER: Span = within("s", 1e-3, 60.0);

/// A number that was typed, with its unit or in that of its range; SI.
///
/// # Errors
/// What is wrong, in words.
pub fn argument(text: &str, span: Span) -> Result<f64, String> {
    let given = text.trim();
    let bare = given.parse::<f64>().is_ok();
    let whole = if bare && !span.unit.is_empty() { format!("{given} {}", span.unit) } else { given.to_owned() };
    let read = Measured::read(&whole, span.unit).map_err(|wrong| wrong.to_string())?;
    if read.sd > 0.0 || !span.allows(read.value) {
        return Err(format!("possible: {}", span.range()));
    }
    Ok(read.value)
}

/// A number of an option with its unit, and a ± where one was typed; its faults underlined as those of files are. `part`:
/// which bytes of the option's text it is.
///
/// # Errors
/// What is wrong with it.
pub fn measured(option: &Arc<Source>, part: Range<usize>, span: Span) -> Result<Measured, FileErrors> {
    let text = &option.text[part.clone()];
    let fail = |wrong: Wrong, at: Range<usize>| {
        let place = Place::new(option, part.start + at.start..part.start + at.end);
        FileErrors::one(Fault::Value { key: option.name.clone(), wrong }, &place)
    };
    let unit = span.unit();
    let (read, _) = parse(text, unit.dimension, unit.symbol).map_err(|(at, wrong)| fail(wrong, at))?;
    if !span.allows(read.value) {
        let wrong = Wrong::OutOfRange { given: text.trim().into(), range: span.range() };
        return Err(fail(wrong, 0..text.len()));
    }
    Ok(read)
}

/// One of a few words.
///
/// # Errors
/// Which there are, and the one that may be meant.
pub fn word(option: &Arc<Source>, words: &'static [&'static str]) -> Result<usize, FileErrors> {
    let given = option.text.trim();
    words.iter().position(|word| word.eq_ignore_ascii_case(given)).ok_or_else(|| {
        let meant = nearest(given, words.iter().copied());
        let wrong = Wrong::NotAChoice { given: given.into(), choices: words, meant };
        FileErrors::one(Fault::Value { key: option.name.clone(), wrong }, &Place::new(option, 0..option.text.len()))
    })
}

/// `-600,300,390`: behind the front axle, right of the middle, above ground, mm; in m.
///
/// # Errors
/// What is wrong, in words.
pub fn position(text: &str) -> Result<[f64; 3], String> {
    let parts: Vec<&str> = text.split(',').collect();
    let parts: [&str; 3] = parts.try_into().map_err(|parts: Vec<_>| format!("{} of them", parts.len()))?;
    let mut at = [0.0; 3];
    for (i, name) in ["x", "y", "z"].into_iter().enumerate() {
        at[i] = argument(parts[i], PLACE).map_err(|why| format!("{name} is {}: {why}", parts[i].trim()))?;
    }
    Ok(at)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn closed_form_what_may_be_typed() {
        assert_eq!(argument("0.5", NOISE), Ok(0.5));
        assert_eq!(argument("500 mm", NOISE), Ok(0.5));
        assert_eq!(argument(" 2 ", WEIGHT), Ok(2.0));
        assert_eq!(position("-600, 300,390"), Ok([-0.6, 0.3, 0.39]));
    }

    #[test]
    fn bad_input_what_may_not() {
        for text in ["-1", "0", "nan", "inf", "1e308", "", "x", "1 kg", "1 ± 1 m"] {
            assert!(argument(text, NOISE).is_err(), "{text}");
        }
        for text in ["1e308", "-1", "nan", "0"] {
            assert!(argument(text, WEIGHT).is_err(), "{text}");
        }
        for text in ["", "1,2", "1,2,3,4", "nan,0,0", "1e9,0,0"] {
            assert!(position(text).is_err(), "{text}");
        }
    }
}
