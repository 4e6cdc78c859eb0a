//! 10⁴ damaged demo files: every one is read or refused with a message, none panics and nothing that is read is NaN.
//! `fuzz/` holds the same two readers as open-ended targets.

use crate::common::{cars, text, tracks};
use proptest::prelude::*;
use proptest::test_runner::{Config, RngAlgorithm, TestRng, TestRunner};
use unladen_garage::{Fault, FileErrors, Overrides, Source, Style, parse_car, parse_track};
use unladen_vehicle::car::Number;

/// Pieces that are likely to matter to one reader or the other.
const PIECES: &[&str] = &[
    "±",
    "+-",
    " mm",
    " kg",
    "\"",
    "'",
    "[",
    "]",
    "[[",
    "{",
    "}",
    "=",
    ".",
    ",",
    ";",
    "\t",
    "\r\n",
    "\n",
    "#",
    "nan",
    "inf",
    "-",
    "0",
    "1e308",
    "1e-320",
    "9999999999999999999999",
    "\u{feff}",
    "é",
    "\0",
    "place",
    "length_m",
    "mass.total = \"1 t\"\n",
    "\\u0000",
    "°C",
    "1979-05-27",
    "true",
    "\"\"\"",
    "−5",
];

#[derive(Clone, Debug)]
enum Edit {
    Delete(usize, usize),
    Insert(usize, &'static str),
    Byte(usize, char),
    Copy(usize, usize, usize),
    SwapLines(usize, usize),
}

fn edit() -> impl Strategy<Value = Edit> {
    let at = any::<usize>;
    prop_oneof![
        (at(), 1..40usize).prop_map(|(a, n)| Edit::Delete(a, n)),
        (at(), proptest::sample::select(PIECES)).prop_map(|(a, p)| Edit::Insert(a, p)),
        (at(), any::<char>()).prop_map(|(a, c)| Edit::Byte(a, c)),
        (at(), at(), 1..60usize).prop_map(|(a, b, n)| Edit::Copy(a, b, n)),
        (at(), at()).prop_map(|(a, b)| Edit::SwapLines(a, b)),
    ]
}

fn apply(text: &str, edits: &[Edit]) -> String {
    let mut chars: Vec<char> = text.chars().collect();
    for edit in edits {
        let n = chars.len().max(1);
        match edit {
            Edit::Delete(a, count) => drop(chars.drain(a % n..(a % n + count).min(chars.len()))),
            Edit::Insert(a, piece) => drop(chars.splice(a % n..a % n, piece.chars())),
            Edit::Byte(a, c) => {
                if let Some(slot) = chars.get_mut(a % n) {
                    *slot = *c;
                }
            }
            Edit::Copy(a, b, count) => {
                let piece = chars[a % n..(a % n + count).min(chars.len())].to_vec();
                chars.splice(b % n..b % n, piece);
            }
            Edit::SwapLines(a, b) => {
                let whole: String = chars.iter().collect();
                let mut lines: Vec<&str> = whole.split_inclusive('\n').collect();
                let count = lines.len().max(1);
                if !lines.is_empty() {
                    lines.swap(a % count, b % count);
                }
                chars = lines.concat().chars().collect();
            }
        }
        if chars.is_empty() {
            break;
        }
    }
    chars.into_iter().collect()
}

fn runner() -> TestRunner {
    let config = Config { cases: 5_000, failure_persistence: None, ..Config::default() };
    TestRunner::new_with_rng(config, TestRng::deterministic_rng(RngAlgorithm::ChaCha))
}

/// A message, and never the one that admits not to know.
fn says_why(errors: &FileErrors) -> bool {
    !errors.render(Style::PLAIN).is_empty() && errors.faults.iter().all(|f| f.what != Fault::Unreadable)
}

#[test]
fn property_damaged_cars_are_read_or_refused() {
    let demos: Vec<String> = cars().iter().map(|p| text(p)).collect();
    let (read, refused) = (std::cell::Cell::new(0), std::cell::Cell::new(0));
    let cases = (0..demos.len(), proptest::collection::vec(edit(), 1..3));
    runner()
        .run(&cases, |(i, edits)| {
            let damaged = apply(&demos[i], &edits);
            match parse_car(&Source::new("car.toml", damaged), &Overrides::none()) {
                Ok(mut file) => {
                    read.set(read.get() + 1);
                    for number in Number::all(&file.car) {
                        let value = *file.car.number_mut(number).unwrap();
                        prop_assert!(!value.is_nan(), "{}", number.key());
                    }
                    prop_assert!(
                        file.uncertainties.iter().all(|u| u.sd > 0.0 && u.onto.iter().all(|o| o.1.is_finite()))
                    );
                    file.warnings.iter().for_each(|w| assert!(!w.render(Style::PLAIN).is_empty()));
                }
                Err(errors) => {
                    refused.set(refused.get() + 1);
                    prop_assert!(says_why(&errors));
                }
            }
            Ok(())
        })
        .unwrap();
    // Both ways are trodden.
    assert!(read.get() > 200 && refused.get() > 200, "{} {}", read.get(), refused.get());
}

#[test]
fn property_damaged_tracks_are_read_or_refused() {
    let demos: Vec<(String, String)> = tracks().iter().map(|p| (text(p), text(&p.with_extension("csv")))).collect();
    let (read, refused) = (std::cell::Cell::new(0), std::cell::Cell::new(0));
    let edits = || proptest::collection::vec(edit(), 0..3);
    runner()
        .run(&(0..demos.len(), edits(), edits()), |(i, toml, csv)| {
            let (toml, csv) = (apply(&demos[i].0, &toml), apply(&demos[i].1, &csv));
            let load = |_: &str| Ok(Source::new("track.csv", csv));
            match parse_track(&Source::new("track.toml", toml), &Overrides::none(), None, load) {
                Ok(file) => {
                    read.set(read.get() + 1);
                    prop_assert!(file.track.check().is_empty(), "{:?}", file.track.check());
                    prop_assert!(file.track.length() > 0.0 && file.track.joins().iter().all(|p| p.x.is_finite()));
                }
                Err(errors) => {
                    refused.set(refused.get() + 1);
                    prop_assert!(says_why(&errors));
                }
            }
            Ok(())
        })
        .unwrap();
    assert!(read.get() > 200 && refused.get() > 200, "{} {}", read.get(), refused.get());
}
