//! What ranking finds.

use crate::ledger::selection::LeftOut;
use crate::rank::best_set::WithinBudget;
use crate::rank::gain::Sources;
use crate::retune::Retuned;
use crate::uncertainty::paired::Unknown;
use crate::uncertainty::reversal::Reversal;
use crate::uncertainty::spread::Difference;

/// A change and what it is worth.
#[derive(Clone, Debug, PartialEq)]
pub struct Ranked {
    /// Its name.
    pub name: String,
    /// Rows of the ledger, those that it needs included.
    pub rows: Vec<usize>,
    /// The rows among them that are only there because it needs them.
    pub with: Vec<usize>,
    /// Change of mass, kg.
    pub kg: f64,
    /// Money and hours, of the rows that state any.
    pub cost: Option<f64>,
    /// Work.
    pub hours: Option<f64>,
    /// What it gains as everything else is set, and how sure that is.
    pub gain: Difference,
    /// Estimate of the numerical error of the gain, s.
    pub error_s: f64,
    /// The best and the worst place that it may have: 1 + how many are surely better, and all but those that are surely
    /// worse. `None` where there is no difference that can be resolved, and for what is no candidate.
    pub places: Option<[usize; 2]>,
    /// What of the car it comes from.
    pub sources: Option<Sources>,
    /// Where on the lap, in the order of [`crate::rank::gain::Phase::ALL`], s.
    pub phases: [f64; 4],
    /// What it gains with the car re-tuned before and after, s.
    pub retuned_s: Option<f64>,
    /// Kilograms off at the centre of gravity that gain as much.
    pub kg_equivalent: Option<f64>,
}

impl Ranked {
    /// Most gained first; what can't be resolved last.
    pub fn before(&self, other: &Self) -> std::cmp::Ordering {
        other.resolved().cmp(&self.resolved()).then(other.gain.median.total_cmp(&self.gain.median))
    }

    /// Can its gain be told from none, given its numerical error?
    pub fn resolved(&self) -> bool {
        self.gain.gain.abs() > self.error_s
    }
}

/// Many changes together.
#[derive(Clone, Debug, PartialEq)]
pub struct Whole {
    /// As one change.
    pub all: Ranked,
    /// The sum of what its parts gain alone, s.
    pub sum_s: f64,
    /// Rows that can't be, and why.
    pub left_out: Vec<(usize, LeftOut)>,
}

/// What [`crate::rank::rank`] finds.
#[derive(Clone, Debug)]
pub struct Ranking {
    /// Name and share of each track.
    pub tracks: Vec<(String, f64)>,
    /// The car as it stands, rows done since the weighing included, kg as it laps.
    pub mass_kg: f64,
    /// Change by rows done since the weighing, kg.
    pub done_kg: f64,
    /// Its lap time, s.
    pub lap_time_s: f64,
    /// Estimate of that one's numerical error, s.
    pub lap_time_error_s: f64,
    /// The car as it stands, re-tuned.
    pub retuned: Option<Retuned>,
    /// Candidates, most gained first.
    pub items: Vec<Ranked>,
    /// Other changes, for scale; the first is 10 kg less at the centre of gravity.
    pub yardsticks: Vec<Ranked>,
    /// All that is planned and can be.
    pub planned: Option<Whole>,
    /// The ideas as well, where there are any.
    pub ideas: Option<Whole>,
    /// Which one unknown reverses the order of the first two.
    pub reversed_by: Option<Reversal>,
    /// What is not known.
    pub unknowns: Vec<Unknown>,
    /// Draws that were taken.
    pub draws: usize,
    /// The best set within a budget.
    pub within_budget: Option<WithinBudget>,
}
