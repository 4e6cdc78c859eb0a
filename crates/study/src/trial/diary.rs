//! The diary: how often predictions held what was measured, and whether they are too sure.

use statrs::distribution::{ChiSquared, Continuous, ContinuousCDF, Normal};

/// A trial that was read.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Entry {
    /// Predicted gain, s, and its standard deviation.
    pub predicted: (f64, f64),
    /// Measured gain, s, and its standard error.
    pub measured: (f64, f64),
}

impl Entry {
    /// Standard deviation of what was measured about what was predicted, s.
    pub fn spread_s(&self) -> f64 {
        self.predicted.1.hypot(self.measured.1)
    }

    /// How far off, in those.
    pub fn off(&self) -> f64 {
        (self.measured.0 - self.predicted.0) / self.spread_s()
    }

    /// Where in the prediction the measurement lies: 0 at its lower end, 1 at its upper.
    pub fn place(&self) -> f64 {
        Normal::standard().cdf(self.off())
    }

    /// The prediction's 90 % interval, widened by what the laps don't know, held it.
    pub fn held(&self) -> bool {
        (0.05..=0.95).contains(&self.place())
    }

    /// Continuous ranked probability score, s: a prediction's mean distance, less what it owed to its own width
    /// (T. Gneiting, A. E. Raftery, J. Am. Stat. Assoc. 102 (2007) 359, of a normal distribution).
    pub fn crps_s(&self) -> f64 {
        let (z, normal) = (self.off(), Normal::standard());
        self.spread_s() * (z * (2.0 * normal.cdf(z) - 1.0) + 2.0 * normal.pdf(z) - 1.0 / std::f64::consts::PI.sqrt())
    }
}

/// How sure predictions were against how sure they might have been.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sure {
    /// Misses are larger than they said.
    TooSure,
    /// As said, or nobody can tell yet.
    Fair,
    /// Misses are smaller than they said.
    NotSureEnough,
}

/// All trials together.
#[derive(Clone, Debug, PartialEq)]
pub struct Diary {
    /// How many were read.
    pub count: usize,
    /// How many of the 90 % intervals held.
    pub held: usize,
    /// Mean of the scores, s.
    pub crps_s: f64,
    /// The same where no difference had been predicted at all, s: what a prediction must beat.
    pub crps_of_none_s: f64,
    /// Misses are so many times as large as they were said to be: likely, and between these with nine chances in ten.
    pub misses: f64,
    /// The ends of that.
    pub between: [f64; 2],
    /// In a word.
    pub sure: Sure,
    /// Of intervals that claim this share, the share that held.
    pub reliability: Vec<(f64, f64)>,
}

/// Shares of the reliability picture.
const CLAIMED: [f64; 9] = [0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9];

/// Looks all of them over; `None` where there is none.
pub fn diary(entries: &[Entry]) -> Option<Diary> {
    let n = entries.len() as f64;
    let chi = ChiSquared::new(n).ok().filter(|_| !entries.is_empty())?;
    let squares: f64 = entries.iter().map(|e| e.off().powi(2)).sum();
    let between = [0.95, 0.05].map(|q| (squares / chi.inverse_cdf(q)).sqrt());
    let mean = |of: &dyn Fn(&Entry) -> f64| entries.iter().map(of).sum::<f64>() / n;
    let within = |share: f64| mean(&|e| f64::from((2.0 * e.place() - 1.0).abs() <= share));
    Some(Diary {
        count: entries.len(),
        held: entries.iter().filter(|e| e.held()).count(),
        crps_s: mean(&Entry::crps_s),
        crps_of_none_s: mean(&|e| Entry { predicted: (0.0, 0.0), ..*e }.crps_s()),
        misses: (squares / n).sqrt(),
        between,
        sure: match between {
            [low, _] if low > 1.0 => Sure::TooSure,
            [_, high] if high < 1.0 => Sure::NotSureEnough,
            _ => Sure::Fair,
        },
        reliability: CLAIMED.iter().map(|c| (*c, within(*c))).collect(),
    })
}
