//! Whether a day can show a difference: days driven in numbers, and how many of them show it.
//!
//! The estimate moves with the difference and its interval doesn't: one set of days without a difference tells the power
//! for every difference at once.

use nalgebra::DVector;

use super::fit::mixture::Mixture;
use super::made_day::{Chance, MadeDay};
use super::reading::{Design, WEAR_FROM, seats};

use crate::threads::each;

/// A plan's laps.
#[derive(Clone, Debug, PartialEq)]
pub struct Laps {
    /// What is fitted, run by run.
    pub order: Vec<bool>,
    /// Flying laps a run.
    pub laps: usize,
    /// Share of laps that traffic and mistakes cost.
    pub lost: f64,
    /// Degrees of freedom that the scatter is known with; infinite: exactly.
    pub freedom: f64,
}

/// What a plan shows.
#[derive(Clone, Debug, PartialEq)]
pub struct Power {
    /// The lower end of each day's 90 % interval where there is no difference, in scatters of a lap, rising.
    ends: Vec<f64>,
}

/// Share of laps that traffic and mistakes cost where nothing is said. Judgement, no source.
pub const LOST: f64 = 0.08;
/// A robust loss is 95 % as good as least squares where nothing is off, and 90 % on as few laps as these with some that
/// are (measured: power as planned).
const EFFICIENCY: f64 = 0.9;
const SEED: u64 = 20;

impl Power {
    /// Of so many days; `None` where such a day tells the difference from nothing.
    pub fn of(plan: &Laps, days: usize) -> Option<Self> {
        let mut day = MadeDay::new(&plan.order, plan.laps, 0.0, 1.0);
        day.lap_s = 100.0;
        let one = |number: usize| {
            let mut chance = Chance::new(SEED, number as u64);
            let mut laps = day.laps(SEED + 1, number as u64);
            laps.retain(|_| chance.even() >= plan.lost);
            // The wider, the less is known of the scatter itself.
            let wider = if plan.freedom.is_finite() { chance.chi_squared(plan.freedom) } else { 1.0 };
            let design = Design::of(&laps, laps.len() >= WEAR_FROM);
            let y = DVector::from_iterator(laps.len(), laps.iter().map(|l| l.time_s));
            let likely = Mixture::of(&design.x, &y, &seats(&laps), design.effect, 1.0)?;
            Some(likely.quantile(0.05) / (wider * EFFICIENCY).sqrt())
        };
        // A day that tells nothing shows nothing.
        let found: Vec<Option<f64>> = each(days, one);
        if found.iter().all(Option::is_none) {
            return None;
        }
        let mut ends: Vec<f64> = found.into_iter().map(|end| end.unwrap_or(f64::NEG_INFINITY)).collect();
        ends.sort_by(f64::total_cmp);
        Some(Self { ends })
    }

    /// The chance that such a day shows a difference of so many scatters: its 90 % interval is all on one side of none.
    pub fn chance(&self, difference: f64) -> f64 {
        let hidden = self.ends.partition_point(|end| end + difference.abs() <= 0.0);
        1.0 - hidden as f64 / self.ends.len() as f64
    }

    /// The smallest difference that it shows with this chance, in scatters.
    pub fn smallest(&self, chance: f64) -> f64 {
        let hidden = ((1.0 - chance) * self.ends.len() as f64).floor() as usize;
        -self.ends[hidden.min(self.ends.len() - 1)]
    }
}
