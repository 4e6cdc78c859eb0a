//! Differences of lap times under uncertainty: each side laps the same drawn car, so that what both share cancels.
//!
//! Where slopes hold (checked with laps), the spread is that of the slopes; else it is sampled, by even draws, until its
//! quantiles have settled. Draws are numbered and seeded: results don't depend on the number of threads.

use crate::input::leg::Leg;
use crate::input::unknown::Input;
use crate::threads::{each, each_of};
use crate::uncertainty::checked::Checked;
use crate::uncertainty::draws::{Draws, even_normal};
use crate::uncertainty::law::Guess;
use crate::uncertainty::price::Prices;
use crate::uncertainty::spread::{Difference, FEWEST, Spread};
use crate::uncertainty::step::{Step, steps};
use crate::uncertainty::ways::{Lapped, USUAL, Way, Ways};

/// One thing that is not known exactly.
#[derive(Clone, Debug, PartialEq)]
pub struct Unknown {
    /// Its key in a file, or words.
    pub name: String,
    /// One standard deviation.
    pub sd: f64,
    /// The unit of it, SI.
    pub unit: String,
}

/// What is not known of the tracks themselves, named by them where they are several; `unit` of a key.
pub(crate) fn of_tracks(legs: &[Leg], unit: impl Fn(&str) -> &'static str) -> Vec<Unknown> {
    let several = legs.len() > 1;
    let of = |leg: &Leg, input: &Input| Unknown {
        name: if several { format!("{} of {}", input.key, leg.name()) } else { input.key.clone() },
        sd: input.sd,
        unit: unit(&input.key).into(),
    };
    legs.iter().flat_map(|leg| leg.inputs.iter().map(|input| of(leg, input)).collect::<Vec<_>>()).collect()
}

/// Cars to be told apart, each a function of the same unknowns. `z` is how many standard deviations each unknown is
/// off.
pub trait Sides: Sync {
    /// What is not known.
    fn unknowns(&self) -> &[Unknown];
    /// How many sides there are.
    fn count(&self) -> usize;
    /// Whether this side's time depends on this unknown.
    fn moves(&self, side: usize, unknown: usize) -> bool;
    /// Whether such a car can be: a roll stiffness share of 1.01 can't.
    fn possible(&self, z: &[f64]) -> bool;
    /// Time of a side, s; of several tracks the weighted mean. `None` where there is no lap.
    fn time(&self, side: usize, z: &[f64]) -> Option<f64>;
    /// The same, less exact and quicker. It counts as what a time changes by from the side with nothing off, where laps
    /// have confirmed that.
    fn rough_time(&self, side: usize, z: &[f64]) -> Option<f64> {
        self.time(side, z)
    }
    /// One side's laps, whose derivatives tell the times of others that differ from it by little. They count where laps have
    /// confirmed them, like rough times.
    fn prices(&self) -> Option<Prices<'_>> {
        None
    }
    /// What each unknown does to a side's time to first order with nothing off, s per standard deviation, where that
    /// costs less than laps: by it unknowns are found that need none of their own.
    fn slopes(&self, _side: usize) -> Option<Vec<f64>> {
        None
    }
}

/// How to sample.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Sampling {
    /// The same seed gives the same draws.
    pub seed: u64,
    /// Draws at most.
    pub samples: usize,
    /// Take all of them for every pair, plain ones, whether or not slopes would do or quantiles have settled.
    pub all: bool,
}

impl Default for Sampling {
    fn default() -> Self {
        Self { seed: 1, samples: 500, all: false }
    }
}

/// Why there are no differences.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum PairedError {
    /// Without any uncertainty a side doesn't get round.
    #[error("there is no lap")]
    NoLap {
        /// Which side.
        side: usize,
    },
}

/// Draws that are only guessed: an even sequence of their own, whose seed lies this far from that of the others (any odd number
/// would do; this one is 2³² over the golden ratio).
const CHEAP: usize = 512;
const OF_CHEAP: u64 = 0x9e37_79b9;
/// A draw that makes no possible car is drawn again, so often at most.
const AGAIN: u64 = 200;

/// All laps that were driven for some differences.
#[derive(Clone, Debug)]
pub struct Paired {
    /// Times of the sides with nothing off, s.
    pub nominal: Vec<f64>,
    /// Draws that were taken, those of the check included; 0 where nothing is unknown.
    pub draws: usize,
    /// The differences asked for.
    pub differences: Vec<Difference>,
    pub(crate) steps: Vec<Vec<Step>>,
    /// Pairs that laps alone did for, what stood in for the laps of each side, and what was off in the draws that checked it.
    exact: Vec<bool>,
    pub(crate) by: Vec<Way>,
    pub(crate) checks: Vec<Vec<f64>>,
}

impl Paired {
    /// Only laps did for this difference, either way round.
    pub(crate) fn is_exact(&self, a: usize, b: usize) -> bool {
        let found = self.differences.iter().position(|d| [(a, b), (b, a)].contains(&(d.of, d.against)));
        found.is_none_or(|i| self.exact[i])
    }
}

/// The differences of `pairs` (of, against): time of the second less that of the first, a gain where positive.
///
/// # Errors
/// [`PairedError::NoLap`] where a side has no lap with nothing off.
pub fn paired(sides: &dyn Sides, pairs: &[(usize, usize)], sampling: Sampling) -> Result<Paired, PairedError> {
    paired_and_ordered(sides, pairs, &[], sampling)
}

/// The same, and after them the differences of `orders`, of which only the sign is asked for: they are drawn no longer
/// than that takes.
///
/// # Errors
/// The same.
pub fn paired_and_ordered(
    sides: &dyn Sides,
    wide: &[(usize, usize)],
    orders: &[(usize, usize)],
    sampling: Sampling,
) -> Result<Paired, PairedError> {
    let zero = vec![0.0; sides.unknowns().len()];
    let time = |side| sides.time(side, &zero).filter(|t| t.is_finite()).ok_or(PairedError::NoLap { side });
    let nominal = each(sides.count(), time).into_iter().collect::<Result<Vec<_>, _>>()?;
    Ok(paired_from(sides, nominal, wide, orders, sampling))
}

/// The same of sides whose times with nothing off are known.
pub(crate) fn paired_from(
    sides: &dyn Sides,
    nominal: Vec<f64>,
    wide: &[(usize, usize)],
    orders: &[(usize, usize)],
    sampling: Sampling,
) -> Paired {
    let unknowns = sides.unknowns().len();
    let pairs = Pairs { all: [wide, orders].concat(), wide: wide.len(), sides: sides.count() };
    let moves = |side: usize| (0..unknowns).any(|u| sides.moves(side, u));
    let any = pairs.all.iter().any(|&(a, b)| moves(a) || moves(b));
    let only_laps = !any || sampling.all;
    let checks: Vec<Vec<f64>> = match only_laps {
        true => Vec::new(),
        false => (0..USUAL).filter_map(|i| off(sides, sampling, i)).collect(),
    };
    let mut ways = Ways::new(sides, &nominal, &checks);
    let mut checked = match only_laps {
        false => Checked::of(&mut ways, &pairs, &nominal, sampling),
        true => Checked::none(&pairs),
    };
    let steps = steps(sides, &ways, &nominal, &pairs.all, sampling.all);
    let known = Known { nominal: &nominal, steps: &steps, pairs: &pairs.all };
    let no_guess = Guess::default();
    let straight = |i: &usize| !sampling.all && known.on(*i, &checked, &no_guess).straight();
    let bent: Vec<usize> = (0..pairs.all.len()).filter(|i| any && !straight(i)).collect();
    let cheap = if sampling.all || bent.is_empty() { Vec::new() } else { cheap(sides, sampling) };
    let guess = |i: usize| match bent.contains(&i) {
        true => Guess::new(known.on(i, &checked, &no_guess).alone(), &cheap),
        false => Guess::default(),
    };
    let guesses: Vec<Guess> = each(pairs.all.len(), guess);
    let mut open = bent.clone();
    while !open.is_empty() && checked.taken.len() < sampling.samples {
        let taken = checked.taken.len();
        // Even draws are even among themselves where they are a power of two.
        let to = if taken < FEWEST { FEWEST } else { 2 * taken }.min(sampling.samples);
        checked.draw(&ways, &pairs, Sampling { samples: to, ..sampling }, &open);
        let done = |&i: &usize| {
            let spread = known.on(i, &checked, &guesses[i]);
            !sampling.all && if i < pairs.wide { spread.settled() } else { spread.ordered() }
        };
        let done = each_of(&open, done);
        open = open.into_iter().zip(done).filter(|(_, done)| !done).map(|(i, _)| i).collect();
    }
    let difference = |i: usize| {
        let spread = known.on(i, &checked, &guesses[i]);
        if bent.contains(&i) { spread.sampled() } else { spread.first_order() }
    };
    let differences = each(pairs.all.len(), difference);
    let (draws, by) = (checked.taken.len(), ways.by);
    Paired { draws, differences, steps, nominal, exact: checked.exact, by, checks }
}

/// Pairs: first those whose differences are asked for, then those whose order is.
pub(crate) struct Pairs {
    pub(crate) all: Vec<(usize, usize)>,
    pub(crate) wide: usize,
    /// Of how many sides.
    sides: usize,
}

impl Pairs {
    /// The sides of some of them.
    pub(crate) fn wanted(&self, of: impl Fn(usize) -> bool) -> Vec<bool> {
        let mut wanted = vec![false; self.sides];
        let some = (0..self.all.len()).filter(|&i| of(i)).map(|i| self.all[i]);
        some.for_each(|(a, b)| (wanted[a], wanted[b]) = (true, true));
        wanted
    }
}

/// What all pairs have in common.
struct Known<'a> {
    nominal: &'a [f64],
    steps: &'a [Vec<Step>],
    pairs: &'a [(usize, usize)],
}

impl Known<'_> {
    fn on<'b>(&'b self, i: usize, checked: &'b Checked, guess: &'b Guess) -> Spread<'b> {
        let (pair, exact) = (self.pairs[i], checked.exact[i]);
        Spread { nominal: self.nominal, steps: self.steps, taken: &checked.taken, guess, pair, exact }
    }
}

/// A draw and the times of the sides that lapped it.
#[derive(Clone, Debug)]
pub(crate) struct Draw {
    /// Empty where no possible car was drawn.
    pub(crate) z: Vec<f64>,
    /// By side, by laps.
    pub(crate) exact: Vec<Lapped>,
    /// By side, by what stands in for them.
    pub(crate) instead: Vec<Lapped>,
}

impl Draw {
    /// What is off.
    pub(crate) fn off(&self) -> Option<&[f64]> {
        (!self.z.is_empty()).then_some(&self.z)
    }
}

/// What is off in a draw: one that can be. Drawn again, what can't be is left out of the distribution.
pub(crate) fn off(sides: &dyn Sides, Sampling { seed, all, .. }: Sampling, sample: usize) -> Option<Vec<f64>> {
    let unknowns = sides.unknowns().len();
    let mut plain = Draws::new(seed, sample);
    let z = |again: u64| -> Vec<f64> {
        match all {
            true => (0..unknowns).map(|_| plain.normal()).collect(),
            false => (0..unknowns).map(|i| even_normal(seed.wrapping_add(again) as u32, sample as u32, i)).collect(),
        }
    };
    (0..AGAIN).map(z).find(|z| sides.possible(z))
}

/// Draws that are not lapped.
fn cheap(sides: &dyn Sides, sampling: Sampling) -> Vec<Vec<f64>> {
    let sampling = Sampling { seed: sampling.seed.wrapping_add(OF_CHEAP), ..sampling };
    each(CHEAP, |i| off(sides, sampling, i)).into_iter().flatten().collect()
}
