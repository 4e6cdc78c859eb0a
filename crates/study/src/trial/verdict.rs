//! A prediction held against what was measured.

use statrs::distribution::{ContinuousCDF, StudentsT};

use super::reading::Reading;

/// What was predicted.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Prediction {
    /// The gain, s a lap.
    pub gain_s: f64,
    /// Its standard deviation, s.
    pub sd_s: f64,
    /// Its 90 % interval, s.
    pub interval: [f64; 2],
}

/// The word.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Verdict {
    /// Seen, the way it was predicted, and as much within what both are known to.
    Confirmed,
    /// The laps hold none as well as what was predicted.
    NotSeen {
        /// These laps would have shown it on eight days of ten.
        could: bool,
    },
    /// Further from what was predicted than nine in ten such pairs, or seen the other way.
    Contradicted,
}

impl Verdict {
    /// Its key in JSON and in files.
    pub fn key(self) -> &'static str {
        match self {
            Verdict::Confirmed => "confirmed",
            Verdict::NotSeen { could: false } => "not_seen_and_could_not_have_been",
            Verdict::NotSeen { could: true } => "not_seen",
            Verdict::Contradicted => "contradicted",
        }
    }
}

/// Both together.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Judged {
    /// The word.
    pub verdict: Verdict,
    /// The chance that such laps would have shown what was predicted.
    pub power: f64,
    /// The chance that what is measured lies as far above what was predicted, or less: 0.05 to 0.95 is inside.
    pub place: f64,
}

/// Eight days of ten.
const SHOWN: f64 = 0.8;

/// Holds them against each other.
pub fn judge(predicted: &Prediction, read: &Reading) -> Judged {
    // Given its noise, the difference is spread as both together.
    let place = match StudentsT::new(0.0, 1.0, read.likely.freedom) {
        Ok(t) => read.likely.mean(|p| t.cdf((p.effect - predicted.gain_s) / p.error.hypot(predicted.sd_s).max(TINY))),
        Err(_) => 0.5,
    };
    let half = 0.5 * (read.interval[1] - read.interval[0]);
    let power = read.likely.below(read.gain_s + predicted.gain_s.abs() - half);
    let seen = read.interval[0] > 0.0 || read.interval[1] < 0.0;
    let same_way = read.gain_s * predicted.gain_s > 0.0;
    let verdict = if !(0.05..=0.95).contains(&place) || seen && !same_way {
        Verdict::Contradicted
    } else if seen {
        Verdict::Confirmed
    } else {
        Verdict::NotSeen { could: power >= SHOWN }
    };
    Judged { verdict, power, place }
}

/// Nothing is known better, s.
const TINY: f64 = 1e-9;
