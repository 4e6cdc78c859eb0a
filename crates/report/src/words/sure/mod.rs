//! How sure a difference is, in words: its interval, the chance of a gain, what it hangs on, what a stopwatch sees.

pub mod measurement;
pub mod unknown;

use serde_json::{Value, json};
use unladen_study::uncertainty::paired::Unknown;
use unladen_study::uncertainty::reversal::{Reversal, Settles};
use unladen_study::uncertainty::spread::{Difference, How};
use unladen_study::uncertainty::stopwatch::Stopwatch;
use unladen_study::uncertainty::verdict::Way;

use crate::words::change::{Change, far_off, laps as laps_in_words};
use crate::words::number::{decimals_for, fixed, percent};
use crate::words::sure::measurement::measurement;
use crate::words::sure::unknown::shared;

/// `0.034 s quicker (90 %: 0.021 to 0.047)`, or that there is no difference; where the middle of the drawn cars is far off,
/// that too.
pub fn gain(d: &Difference, error_s: f64) -> String {
    let words = Change::of(d, error_s).words();
    far_off(d, error_s).map_or(words.clone(), |far| format!("{words}. {}", far.trim_end_matches('.')))
}

/// A chance in per cent; of drawn cars none is certain.
fn likely(chance: f64, d: &Difference) -> String {
    match d.how {
        How::Certain => percent(chance),
        _ => percent(chance.clamp(1e-3, 1.0 - 1e-3)),
    }
}

/// The chance of a gain.
pub fn chance(d: &Difference) -> String {
    likely(d.chance, d)
}

/// The chance of what is likelier, gain or loss.
pub fn chance_of_sign(d: &Difference) -> String {
    likely(if d.gain > 0.0 { d.chance } else { 1.0 - d.chance }, d)
}

/// Which unknown it hangs on.
pub fn hangs_on(d: &Difference, unknowns: &[Unknown]) -> String {
    let named: Vec<String> = d
        .shares
        .iter()
        .take(3)
        .filter(|(_, share)| *share >= 0.05)
        .filter_map(|(i, share)| Some(format!("{} ({})", unknowns.get(*i)?.name, percent(*share))))
        .collect();
    match d.how {
        How::Certain => "Nothing that is uncertain makes a difference to it.".into(),
        _ if named.is_empty() => "No one unknown has much of its variance.".into(),
        _ => format!("Most of its variance comes from {}.", named.join(", ")),
    }
}

/// How the interval was found.
pub fn how(d: &Difference) -> String {
    match d.how {
        How::Certain => "nothing to sample".into(),
        How::FirstOrder => "from slopes, which laps of drawn cars confirmed".into(),
        How::Sampled { draws, lost, settled } => {
            let lost = if lost > 0 { format!(", {lost} more had no lap") } else { String::new() };
            let settled = if settled { "" } else { ", and its ends had not settled: take more --samples" };
            format!("from {draws} drawn pairs of cars{lost}{settled}")
        }
    }
}

/// The unknown that would reverse it.
pub fn flips(flip: Option<&Reversal>, unknowns: &[Unknown]) -> String {
    let Some(flip) = flip else {
        return "No single unknown reverses it within four standard deviations.".into();
    };
    let name = unknowns.get(flip.unknown).map_or("", |u| u.name.as_str());
    let far = fixed(flip.sds.abs(), 1);
    let way = if flip.sds > 0.0 { "higher" } else { "lower" };
    let then = match flip.settles {
        Settles::Already => "That is unlikely enough: the order stands.".into(),
        Settles::At(_) => format!("To settle it, {}.", measurement(name)),
        Settles::Never => {
            format!("Even {name} known exactly would leave it open, but it is the first: {}.", measurement(name))
        }
    };
    format!("What would reverse it: {name} {far} standard deviations {way} than in the file. {then}")
}

/// What a stopwatch sees of it.
pub fn stopwatch(watch: &Stopwatch, laps: u32, gain_s: f64, dose: Option<(f64, f64)>) -> String {
    let spread = fixed(watch.spread_s, 2);
    let visible = watch.smallest(laps);
    let need = format!(
        "this one of {} s needs {} laps a side",
        fixed(gain_s.abs(), decimals_for(gain_s.abs()).min(4)),
        laps_in_words(watch.whole_laps(gain_s))
    );
    let dose = dose.and_then(|(kg, s)| Some((kg, s, watch.whole_laps(s)?))).map_or_else(String::new, |(kg, s, n)| {
        format!(" For scale: {} kg more at the centre of gravity cost {} s and need {n}.", fixed(kg, 0), fixed(s, 2))
    });
    format!(
        "On the stopwatch: with {spread} s from lap to lap (--lap-spread), {laps} laps a side show {} s or more; {need} (two-sample t test, \
         {} power, two-sided {}).{dose}",
        fixed(visible, 2),
        percent(watch.power),
        percent(watch.significance)
    )
}

/// The same in a line.
pub fn stopwatch_brief(watch: &Stopwatch, laps: u32, gain_s: f64) -> String {
    let needed = laps_in_words(watch.whole_laps(gain_s));
    format!("{laps} laps a side show {} s or more; this needs {needed}", fixed(watch.smallest(laps), 2))
}

/// What it hangs on, in a builder's words.
pub fn hangs_on_brief(d: &Difference, unknowns: &[Unknown]) -> Option<String> {
    shared(d.shares.iter().filter_map(|(i, share)| Some((unknowns.get(*i)?.name.as_str(), *share))))
}

/// A difference for machines.
pub fn json(d: &Difference, error_s: f64, flip: Option<&Reversal>, unknowns: &[Unknown]) -> Value {
    let name = |i: usize| unknowns.get(i).map(|u| u.name.clone());
    let (how, draws) = match d.how {
        How::Certain => ("certain", 0),
        How::FirstOrder => ("first_order", 0),
        How::Sampled { draws, .. } => ("sampled", draws),
    };
    json!({
        "gain_s": d.gain, "gain_error_s": error_s, "gain_median_s": d.median, "gain_interval_90_s": d.interval,
        "gain_sd_s": d.sd, "way": Way::of(d, error_s).key(), "probability_of_gain": d.chance, "interval_from": how, "draws": draws,
        "variance_shares": d.shares.iter().map(|(i, s)| json!({ "unknown": name(*i), "share": s })).collect::<Vec<_>>(),
        "reversed_by": flip.map(|f| json!({ "unknown": name(f.unknown), "standard_deviations": f.sds,
            "measure": name(f.unknown).map(|n| measurement(&n)) })),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn difference(gain: f64, sd: f64) -> Difference {
        let (how, shares) = (How::FirstOrder, vec![(1, 0.8), (0, 0.2)]);
        let interval = [gain - 1.6449 * sd, gain + 1.6449 * sd];
        Difference { of: 0, against: 1, gain, median: gain, interval, sd, chance: 0.93, how, shares }
    }

    #[test]
    fn closed_form_words_of_a_difference() {
        let unknown = |name: &str| Unknown { name: name.into(), sd: 0.01, unit: String::new() };
        let unknowns = [unknown("mass.total"), unknown("mass.cg_height")];
        let d = difference(0.0342, 0.012);
        assert_eq!(gain(&d, 1e-4), "0.034 s quicker (90 %: 0.014 to 0.054)");
        assert_eq!(gain(&difference(1e-5, 1e-6), 1e-4), crate::words::number::UNRESOLVED);
        assert_eq!(gain(&Difference { how: How::Certain, ..d.clone() }, 1e-4), "0.034 s quicker");
        assert_eq!(
            hangs_on_brief(&d, &unknowns).unwrap(),
            "the height of the centre of gravity (80 %), the car's mass (20 %)"
        );
        assert!(hangs_on(&d, &unknowns).contains("mass.cg_height (80 %), mass.total (20 %)"));
        let flip = Reversal { unknown: 1, sds: -1.72, settles: Settles::At(0.005) };
        let words = flips(Some(&flip), &unknowns);
        assert!(
            words.contains("mass.cg_height 1.7 standard deviations lower") && words.contains("one axle raised"),
            "{words}"
        );
        assert!(flips(None, &unknowns).contains("No single unknown"));
        let seen = stopwatch(&Stopwatch::new(0.5), 20, 0.5, Some((60.0, 1.0)));
        // sources.md 40: δ/σ 1 needs 17 a side, 2 needs 6.
        assert!(seen.contains("0.50 s needs 17 laps a side") && seen.contains("cost 1.00 s and need 6"), "{seen}");
    }
}
