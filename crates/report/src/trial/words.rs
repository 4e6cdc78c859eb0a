//! Words that plan, reading and diary share.

use crate::words::number::{decimals_for, fixed};

/// `0.12 s a lap quicker (90 %: 0.10 to 0.15)`; ends of another sign are said to be slower.
pub(crate) fn gain(gain_s: f64, sd_s: f64, interval: [f64; 2]) -> String {
    let digits = decimals_for(sd_s).clamp(2, 3);
    let of = |x: f64| fixed(x.abs(), digits);
    let way = if gain_s < 0.0 { "slower" } else { "quicker" };
    let [low, high] = if gain_s < 0.0 { [-interval[1], -interval[0]] } else { interval };
    let other = if gain_s < 0.0 { "quicker" } else { "slower" };
    let end = |x: f64| {
        if x < 0.0 && of(x).bytes().any(|b| (b'1'..=b'9').contains(&b)) { format!("{} {other}", of(x)) } else { of(x) }
    };
    format!("{} s a lap {way} (90 %: {} to {})", of(gain_s), end(low), end(high))
}

/// `2 h 40 min`.
pub(crate) fn duration(seconds: f64) -> String {
    let minutes = (seconds / 60.0).round();
    match (minutes / 60.0).floor() {
        0.0 => format!("{minutes:.0} min"),
        hours => format!("{hours:.0} h {:02.0} min", minutes - 60.0 * hours),
    }
}

/// `83 of 100 such days`.
pub(crate) fn days(chance: f64) -> String {
    format!("{:.0} of 100 such days", 100.0 * chance)
}

/// Said once, with a plan.
pub(crate) const CAUTION: &str = "SAFETY: a closed track only. Ballast is tied down to the structure, by somebody who may sign for it, where a crash \
    leaves it: loose, it kills. A car is worked under on stands, never on a jack. Fuel is filled and drained away from heat and sparks, with an \
    extinguisher at hand. The circuit's and your series' rules come first.";

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn closed_form_gains_in_words() {
        assert_eq!(gain(0.123, 0.015, [0.098, 0.148]), "0.123 s a lap quicker (90 %: 0.098 to 0.148)");
        assert_eq!(gain(-0.59, 0.03, [-0.64, -0.54]), "0.590 s a lap slower (90 %: 0.540 to 0.640)");
        assert_eq!(gain(0.05, 0.1, [-0.11, 0.21]), "0.05 s a lap quicker (90 %: 0.11 slower to 0.21)");
        assert_eq!(gain(-0.05, 0.1, [-0.21, 0.11]), "0.05 s a lap slower (90 %: 0.11 quicker to 0.21)");
        assert_eq!((duration(9600.0), duration(600.0)), ("2 h 40 min".into(), "10 min".into()));
    }
}
