//! Whether a stopwatch sees a difference: two-sample t test with equal spread and as many laps on both sides.

use statrs::distribution::{ContinuousCDF, Normal, StudentsT};
use statrs::function::gamma::ln_gamma;

/// How laps scatter where nobody says, s: assumed, no source.
pub const LAP_SPREAD_S: f64 = 0.3;

/// What is asked of the test.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stopwatch {
    /// Standard deviation from lap to lap of one driver in one car, s.
    pub spread_s: f64,
    /// Probability of seeing a difference that is there.
    pub power: f64,
    /// Two-sided probability of seeing one that is not there.
    pub significance: f64,
}

impl Stopwatch {
    /// 80 % power at two-sided 5 %, as is usual.
    pub fn new(spread_s: f64) -> Self {
        Self { spread_s, power: 0.8, significance: 0.05 }
    }

    /// Laps a side to see a difference, s, as a number that needn't be whole; `None` beyond a million.
    pub fn laps(&self, difference_s: f64) -> Option<f64> {
        let effect = difference_s.abs() / self.spread_s;
        let enough = |n: f64| power(n, effect, self.significance) >= self.power;
        if effect.is_nan() || !enough(MOST) {
            return None;
        }
        Some(bisect([FEWEST, MOST], enough))
    }

    /// Whole laps a side.
    pub fn whole_laps(&self, difference_s: f64) -> Option<u32> {
        self.laps(difference_s).map(|n| (n - 1e-9).ceil().max(2.0) as u32)
    }

    /// The smallest difference that so many laps a side show, s. Two at least.
    pub fn smallest(&self, laps: u32) -> f64 {
        let n = f64::from(laps.max(2));
        self.spread_s * bisect([0.0, LARGEST], |effect| power(n, effect, self.significance) >= self.power)
    }
}

/// Laps a side: with one there is no spread to go by.
const FEWEST: f64 = 2.0;
const MOST: f64 = 1e6;
/// In standard deviations: two laps a side show less than this.
const LARGEST: f64 = 1e3;
/// Halvings of an interval: far below 1e-9 of it.
const HALVINGS: usize = 60;

/// The least at which something that stays true is true.
fn bisect([mut low, mut high]: [f64; 2], holds: impl Fn(f64) -> bool) -> f64 {
    if holds(low) {
        return low;
    }
    for _ in 0..HALVINGS {
        let middle = 0.5 * (low + high);
        if holds(middle) { high = middle } else { low = middle }
    }
    high
}

/// Power of the test with n a side and a difference of `effect` standard deviations: the probability that t with
/// ν = 2(n − 1) degrees of freedom and non-centrality effect √(n/2) is above its critical value. As in most tables the
/// chance of seeing it with the wrong sign is left out.
pub fn power(n: f64, effect: f64, significance: f64) -> f64 {
    let freedom = 2.0 * (n - 1.0);
    above(critical(freedom, significance), freedom, effect * (0.5 * n).sqrt())
}

fn critical(freedom: f64, significance: f64) -> f64 {
    StudentsT::new(0.0, 1.0, freedom).map_or(f64::INFINITY, |t| t.inverse_cdf(1.0 - 0.5 * significance))
}

/// Points of the integral, and how many standard deviations of s it spans.
const POINTS: usize = 2000;
const SPAN: f64 = 10.0;

/// P(T > t) of the non-central t: T = (Z + δ)/s with s² = χ²/ν, integrated over s by Simpson's rule.
fn above(t: f64, freedom: f64, delta: f64) -> f64 {
    if !t.is_finite() {
        return 0.0;
    }
    let normal = Normal::standard();
    // Density of s: 2 (ν/2)^{ν/2}/Γ(ν/2) s^{ν−1} e^{−ν s²/2}.
    let half = 0.5 * freedom;
    let log_scale = 2f64.ln() + half * half.ln() - ln_gamma(half);
    let density = |s: f64| (log_scale + (freedom - 1.0) * s.ln() - half * s * s).exp();
    let width = SPAN / (2.0 * freedom).sqrt();
    let (from, to) = ((1.0 - width).max(1e-12), 1.0 + width.max(6.0 / freedom.max(1.0).sqrt()));
    let step = (to - from) / POINTS as f64;
    let at = |i: usize| {
        let s = from + i as f64 * step;
        density(s) * normal.cdf(delta - t * s)
    };
    let weight = |i: usize| {
        if i == 0 || i == POINTS {
            1.0
        } else if i % 2 == 1 {
            4.0
        } else {
            2.0
        }
    };
    (0..=POINTS).map(|i| weight(i) * at(i)).sum::<f64>() * step / 3.0
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Row 39 of the project's list of published values; 1e-6 is half a unit of the last printed digit and rounding.
    #[test]
    fn published_r_power_t_test() {
        assert!((power(100.0, 1.0 / 2.5, 0.05) - 0.803_646_6).abs() < 1e-6);
        assert!((power(20.0, 1.0, 0.05) - 0.868_952_8).abs() < 1e-6);
        let watch = Stopwatch { power: 0.9, ..Stopwatch::new(1.0) };
        let n = watch.laps(1.0).unwrap();
        assert!((n - 22.0211).abs() < 1e-4, "{n}");
    }

    /// Row 40: laps a side for 80 % power at two-sided 5 %.
    #[test]
    fn closed_form_laps_a_side() {
        let watch = Stopwatch::new(0.3);
        for (effect, laps) in [(0.2, 394), (0.3, 176), (0.5, 64), (0.75, 29), (1.0, 17), (1.5, 9), (2.0, 6)] {
            assert_eq!(watch.whole_laps(0.3 * effect), Some(laps), "{effect}");
            assert_eq!(watch.whole_laps(-0.3 * effect), Some(laps), "{effect}");
        }
        assert_eq!((watch.laps(0.0), watch.laps(f64::NAN)), (None, None));
        assert_eq!(watch.whole_laps(1e3), Some(2));
    }

    /// Without a difference the test sees one in half of its significance on each side, whatever n.
    #[test]
    fn closed_form_no_difference() {
        for n in [2.0, 3.0, 10.0, 1000.0] {
            assert!((power(n, 0.0, 0.05) - 0.025).abs() < 1e-7, "{n} {}", power(n, 0.0, 0.05));
        }
    }

    #[test]
    fn property_smallest_and_laps_are_each_others_inverse() {
        let watch = Stopwatch::new(0.35);
        for laps in [2, 3, 5, 20, 400] {
            let smallest = watch.smallest(laps);
            let back = watch.laps(smallest).unwrap();
            assert!((back - f64::from(laps)).abs() < 1e-4 * f64::from(laps), "{laps} {smallest} {back}");
        }
        assert_eq!(watch.smallest(0), watch.smallest(2));
    }
}
