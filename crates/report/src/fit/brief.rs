//! A fit with the answer first.

use unladen_questions::fit::Answer;

use crate::fit::text::{by_place, factors, words};
use crate::words::brief::Brief;
use crate::words::number::{fixed, signed};
use crate::words::verdict::{made_worse, of_fit};

/// What it means that the held-out lap got worse.
pub(crate) const WORSE: &str = "the factors fit noise, traffic or another day rather than the car: keep the car's file as it is, log more \
    clean laps, or hold out another one (--hold-out)";

/// The text.
pub fn fit_brief(v: &Answer) -> String {
    let laps = match v.used[..] {
        [one] => format!("lap {one}"),
        _ => format!("{} laps", v.used.len()),
    };
    let about = format!(
        "{} on {}, fitted to {laps}; correlation with the track {}.",
        v.car,
        v.track.name,
        fixed(v.correlation, 3)
    );
    let mut brief = Brief::new(&of_fit(v), &about).table(&factors(v)).note("± is one standard deviation.");
    if made_worse(v) {
        brief = brief.fact("CHECK", WORSE);
    }
    let pairs: Vec<String> = v.all.alike.iter().map(|a| format!("{} and {}", words(a.a), words(a.b))).collect();
    if !pairs.is_empty() {
        brief = brief.fact("alike", format!("{}: one of each stays as in the file", pairs.join("; ")));
    }
    if !v.fit.left_out.is_empty() {
        brief = brief.fact("not used", format!("{} stretches, by --detail", v.fit.left_out.len()));
    }
    if v.scatter_s.is_finite() {
        brief = brief
            .fact("laps", format!("differ by {} s among themselves (one standard deviation)", fixed(v.scatter_s, 2)));
    }
    let off: Vec<String> = by_place(v)
        .into_iter()
        .take(3)
        .map(|(name, mps)| format!("{name} {} km/h", signed(&fixed(3.6 * mps, 1))))
        .collect();
    if !off.is_empty() {
        brief = brief.fact("log − model", off.join(", "));
    }
    brief.fact("it speaks for", "this car, day and driver; laps that a model was fitted to validate nothing").text()
}
