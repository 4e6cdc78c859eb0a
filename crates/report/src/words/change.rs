//! A change of lap time in words: quicker or slower, never a sign.

use unladen_study::Quantity;
use unladen_study::uncertainty::spread::{Difference, How};

use crate::words::number::{UNRESOLVED, decimals_for, fixed, resolved};

/// How much quicker something is, s; negative is slower.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Change {
    /// With the files' own numbers.
    pub quicker_s: f64,
    /// Its 90 % interval, where something is uncertain.
    pub interval: Option<[f64; 2]>,
    /// Its numerical error.
    pub error_s: f64,
}

/// A change that is nowhere larger than this is told in thousandths of a second.
const SMALL_S: f64 = 0.0095;

impl Change {
    /// Of two sides, the first of which is asked about.
    pub fn of(d: &Difference, error_s: f64) -> Self {
        let interval = (d.how != How::Certain).then_some(d.interval);
        Self { quicker_s: d.gain, interval, error_s }
    }

    /// What so many kilograms or millimetres more do, by what one of them does.
    pub fn by(q: &Quantity, step: f64) -> Self {
        let ends =
            |[low, high]: [f64; 2]| if step > 0.0 { [-step * high, -step * low] } else { [-step * low, -step * high] };
        Self { quicker_s: -step * q.value, interval: q.interval.map(ends), error_s: (step * q.error).abs() }
    }

    /// The same with everything moved along by this much, s.
    pub fn moved(self, by_s: f64) -> Self {
        let interval = self.interval.map(|ends| ends.map(|x| x + by_s));
        Self { quicker_s: self.quicker_s + by_s, interval, ..self }
    }

    /// Can it be told from none?
    pub fn resolved(&self) -> bool {
        let ends = self.interval.unwrap_or([self.quicker_s; 2]);
        resolved(self.quicker_s, self.error_s) || ends.iter().any(|x| x.abs() > self.error_s)
    }

    /// Decimals, and whether in thousandths.
    fn scale(&self) -> (usize, f64, &'static str) {
        let [low, high] = self.interval.unwrap_or([self.quicker_s; 2]);
        let most = self.quicker_s.abs().max(low.abs()).max(high.abs());
        let known = (0.3 * (high - low)).max(self.error_s).max(2e-5);
        if most < SMALL_S {
            (decimals_for(1e3 * known).min(2), 1e3, "ms")
        } else {
            (decimals_for(known).clamp(2, 3), 1.0, "s")
        }
    }

    /// `0.042 s slower`; what rounds to nothing is neither.
    pub fn value(&self) -> String {
        if !self.resolved() {
            return UNRESOLVED.into();
        }
        let (digits, factor, unit) = self.scale();
        let text = fixed((self.quicker_s * factor).abs(), digits);
        let word = sense(self.quicker_s * factor, digits);
        format!("{text} {unit} {word}").trim_end().to_owned()
    }

    /// The same in a table: a dash where there is nothing to tell.
    pub fn cell(&self) -> String {
        if self.resolved() { self.value() } else { "–".into() }
    }

    /// For a table's columns that say `s quicker` and `90 %`: a minus is slower.
    pub fn seconds(&self) -> [String; 2] {
        let [low, high] = self.interval.unwrap_or([self.quicker_s; 2]);
        let digits = decimals_for((0.3 * (high - low)).max(self.error_s)).clamp(2, 3);
        let of = |x: f64| fixed(x, digits);
        let range = self.interval.map_or_else(String::new, |[low, high]| format!("{} to {}", of(low), of(high)));
        if self.resolved() { [of(self.quicker_s), range] } else { ["–".into(), String::new()] }
    }

    /// `0.023 to 0.062`, with words where its ends are not as the value is: `0.01 slower to 0.03 quicker`.
    pub fn range(&self) -> Option<String> {
        let (digits, factor, _) = self.scale();
        self.ends(sense(self.quicker_s * factor, digits), "")
    }

    /// An interval by itself: `0.023 to 0.062 s slower`.
    pub fn between(interval: [f64; 2], error_s: f64) -> Option<String> {
        let alone = Self { quicker_s: 0.0, interval: Some(interval), error_s };
        let (_, _, unit) = alone.scale();
        alone.ends("", &format!(" {unit}"))
    }

    /// From the smaller end to the larger, with words that are not the value's own.
    fn ends(&self, own: &str, unit: &str) -> Option<String> {
        let [low, high] = self.interval.filter(|_| self.resolved())?;
        let (digits, factor, _) = self.scale();
        let of = |x: f64| (fixed((x * factor).abs(), digits), sense(x * factor, digits));
        let ((low_text, low_word), (high_text, high_word)) = (of(low), of(high));
        let less = low_word == "slower" || (low_word.is_empty() && high_word.is_empty());
        Some(match (low_word, high_word) {
            (a, b) if a == b || a.is_empty() || b.is_empty() => {
                let word = if a.is_empty() { b } else { a };
                // The smaller first.
                let (from, to) = if less { (high_text, low_text) } else { (low_text, high_text) };
                let told = if word == own { String::new() } else { format!(" {word}") };
                format!("{from} to {to}{unit}{told}").trim_end().to_owned()
            }
            (a, b) => format!("{low_text}{unit} {a} to {high_text}{unit} {b}"),
        })
    }

    /// `0.042 s slower (90 %: 0.023 to 0.062)`.
    pub fn words(&self) -> String {
        match self.range() {
            Some(range) => format!("{} (90 %: {range})", self.value()),
            None => self.value(),
        }
    }
}

fn sense(x: f64, digits: usize) -> &'static str {
    let nothing = fixed(x.abs(), digits).chars().all(|c| matches!(c, '0' | '.'));
    if nothing {
        ""
    } else if x > 0.0 {
        "quicker"
    } else {
        "slower"
    }
}

/// A median this share of the interval away from the files' own numbers is far off.
const FAR: f64 = 0.2;

/// Said where the middle of the drawn cars lies far from what the files' own numbers give.
pub fn far_off(d: &Difference, error_s: f64) -> Option<String> {
    let width = d.interval[1] - d.interval[0];
    let off = d.how != How::Certain && (d.median - d.gain).abs() > FAR * width.max(error_s);
    let middle = Change { quicker_s: d.median, ..Change::of(d, error_s) };
    off.then(|| {
        format!("The number is by the files' own values; half of the drawn cars are beyond {}.", middle.value())
    })
}

/// Laps a side in words.
pub fn laps(needed: Option<u32>) -> String {
    match needed {
        Some(n) if n <= 1000 => n.to_string(),
        _ => "more than 1000".into(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn change(quicker_s: f64, interval: Option<[f64; 2]>) -> Change {
        Change { quicker_s, interval, error_s: 1e-5 }
    }

    #[test]
    fn closed_form_quicker_and_slower_in_words() {
        for (value, interval, words) in [
            (0.0342, Some([0.021, 0.047]), "0.034 s quicker (90 %: 0.021 to 0.047)"),
            (-0.0517, Some([-0.062, -0.023]), "0.052 s slower (90 %: 0.023 to 0.062)"),
            (0.01, Some([-0.01, 0.03]), "0.010 s quicker (90 %: 0.010 slower to 0.030 quicker)"),
            (-0.012, Some([-0.4, 0.3]), "0.01 s slower (90 %: 0.40 slower to 0.30 quicker)"),
            (0.001, Some([-0.4, 0.3]), "0.00 s (90 %: 0.40 slower to 0.30 quicker)"),
            (0.0042, Some([0.0031, 0.0055]), "4.20 ms quicker (90 %: 3.10 to 5.50)"),
            (0.0, Some([0.0001, 0.02]), "0.000 s (90 %: 0.000 to 0.020 quicker)"),
            (1.021, None, "1.021 s quicker"),
            (-0.002, None, "2.00 ms slower"),
            (1e-6, None, UNRESOLVED),
        ] {
            assert_eq!(change(value, interval).words(), words);
        }
    }

    #[test]
    fn closed_form_intervals_by_themselves() {
        for (interval, words) in [
            ([0.842, 1.077], "0.842 to 1.077 s quicker"),
            ([-2.35, -1.42], "1.42 to 2.35 s slower"),
            ([-0.01, 0.03], "0.010 s slower to 0.030 s quicker"),
            ([0.0031, 0.0055], "3.10 to 5.50 ms quicker"),
        ] {
            assert_eq!(Change::between(interval, 1e-5).unwrap(), words);
        }
    }

    /// 10 kg more cost time, 10 kg less give it.
    #[test]
    fn closed_form_steps_by_a_slope() {
        let q = Quantity { interval: Some([0.009, 0.011]), ..Quantity::new(0.01, 1e-6) };
        assert_eq!(Change::by(&q, 10.0).words(), "0.100 s slower (90 %: 0.090 to 0.110)");
        assert_eq!(Change::by(&q, -10.0).words(), "0.100 s quicker (90 %: 0.090 to 0.110)");
    }

    #[test]
    fn closed_form_medians_that_are_far_off_are_said() {
        let of = |median: f64| Difference {
            of: 0,
            against: 1,
            gain: 0.1,
            median,
            interval: [0.0, 0.2],
            sd: 0.06,
            chance: 0.9,
            how: How::FirstOrder,
            shares: Vec::new(),
        };
        assert_eq!(far_off(&of(0.12), 1e-4), None);
        assert!(far_off(&of(0.03), 1e-4).unwrap().contains("beyond 0.030 s quicker"));
    }

    #[test]
    fn closed_form_laps_beyond_a_thousand() {
        assert_eq!((laps(Some(90)).as_str(), laps(Some(34835)).as_str()), ("90", "more than 1000"));
        assert_eq!(laps(None), "more than 1000");
    }
}
