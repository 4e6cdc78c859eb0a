//! Differences of lap times under uncertainty: each side laps the same drawn car, so that what both share cancels.
//!
//! Where slopes hold (checked with laps), the spread is that of the slopes; else it is sampled until its quantiles have
//! settled. Draws are numbered and seeded: results don't depend on the number of threads.

use rayon::prelude::*;

use crate::input::leg::Leg;
use crate::input::unknown::Input;
use crate::uncertainty::draws::Draws;
use crate::uncertainty::spread::{Difference, Spread};
use crate::uncertainty::step::{Step, steps};

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
    /// Take all of them for every pair, whether or not slopes would do or quantiles have settled.
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

/// Draws with which slopes are checked, many unknowns off at once.
const CHECKS: usize = 16;
/// Draws between two looks at the quantiles.
const BATCH: usize = 48;
/// Draws that are only guessed, and the number of the first.
const CHEAP: usize = 2048;
const FIRST_CHEAP: usize = 1 << 30;
/// A draw that makes no possible car is drawn again, so often at most.
const AGAIN: usize = 200;

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
    let pairs = &[wide, orders].concat()[..];
    let unknowns = sides.unknowns().len();
    let zero = vec![0.0; unknowns];
    let nominal = (0..sides.count())
        .into_par_iter()
        .map(|side| sides.time(side, &zero).filter(|t| t.is_finite()).ok_or(PairedError::NoLap { side }))
        .collect::<Vec<_>>()
        .into_iter()
        .collect::<Result<Vec<_>, _>>()?;
    let rough_nominal: Vec<Option<f64>> = (0..sides.count())
        .into_par_iter()
        .map(|side| sides.rough_time(side, &zero).filter(|t| t.is_finite() && !sampling.all))
        .collect();
    let exact = |side: usize, z: &[f64]| sides.time(side, z);
    let rough = |side: usize, z: &[f64]| match rough_nominal[side] {
        Some(of_rough) => Some(sides.rough_time(side, z)? - of_rough + nominal[side]),
        None => sides.time(side, z),
    };
    let steps = steps(sides, &rough, &nominal, pairs, sampling.all);
    let moving = |side: usize| steps.iter().any(|of| !of[side].still);
    let any = pairs.iter().any(|&(a, b)| moving(a) || moving(b));
    let all = Wanted::by(pairs, |_| true, sides.count());
    let none = Wanted(vec![false; sides.count()]);
    let also = if sampling.all { &none } else { &all };
    let draw = |samples: std::ops::Range<usize>, wanted: [&Wanted; 2]| -> Vec<Draw> {
        let one = |sample: usize| {
            let z = off(sides, sampling.seed, sample);
            let times = [lapped(&exact, z.as_ref(), wanted[0]), lapped(&rough, z.as_ref(), wanted[1])];
            Draw { z: z.unwrap_or_default(), times }
        };
        samples.into_par_iter().map(one).collect()
    };
    let mut taken = if any { draw(0..CHECKS.min(sampling.samples), [&all, also]) } else { Vec::new() };
    let known = (&nominal[..], &steps[..]);
    let mut open: Vec<(usize, usize)> = pairs.to_vec();
    open.retain(|&pair| any && (sampling.all || !on(known, &taken, &[], pair, false).straight()));
    let bent = open.clone();
    let mut confirmed = open.clone();
    confirmed.retain(|&pair| !sampling.all && on(known, &taken, &[], pair, true).confirmed());
    let is_rough = |pair: &(usize, usize)| confirmed.contains(pair);
    let cheap = if sampling.all || open.is_empty() { Vec::new() } else { cheap(sides, sampling.seed) };
    while !open.is_empty() && taken.len() < sampling.samples {
        let wanted = [false, true].map(|rough| Wanted::by(&open, |pair| is_rough(pair) == rough, sides.count()));
        let to = (taken.len() + BATCH).min(sampling.samples);
        taken.extend(draw(taken.len()..to, wanted.each_ref()));
        open.retain(|&pair| {
            let spread = on(known, &taken, &cheap, pair, is_rough(&pair));
            sampling.all || !if wide.contains(&pair) { spread.settled() } else { spread.ordered() }
        });
    }
    let difference = |&pair: &(usize, usize)| {
        let spread = on(known, &taken, &cheap, pair, is_rough(&pair));
        if bent.contains(&pair) { spread.sampled() } else { spread.first_order() }
    };
    let differences = pairs.par_iter().map(difference).collect();
    Ok(Paired { draws: taken.len(), differences, steps, nominal })
}

fn on<'a>(
    (nominal, steps): (&'a [f64], &'a [Vec<Step>]),
    taken: &'a [Draw],
    cheap: &'a [Vec<f64>],
    pair: (usize, usize),
    rough: bool,
) -> Spread<'a> {
    Spread { nominal, steps, taken, cheap, pair, rough }
}

/// Which sides are to be lapped.
struct Wanted(Vec<bool>);

impl Wanted {
    fn by(pairs: &[(usize, usize)], of: impl Fn(&(usize, usize)) -> bool, sides: usize) -> Self {
        let mut wanted = vec![false; sides];
        pairs.iter().filter(|pair| of(pair)).for_each(|&(a, b)| (wanted[a], wanted[b]) = (true, true));
        Self(wanted)
    }
}

/// A draw and the times of the sides that lapped it.
#[derive(Clone, Debug)]
pub(crate) struct Draw {
    pub(crate) z: Vec<f64>,
    /// By side: its times, and its rough ones.
    pub(crate) times: [Vec<Lapped>; 2],
}

/// What a draw did to a side.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Lapped {
    /// Not asked for.
    Unasked,
    /// There is no lap of such a car.
    Lost,
    /// Its time, s.
    In(f64),
}

/// What is off in a draw: one that can be. Drawn again, what can't be is left out of the distribution.
fn off(sides: &dyn Sides, seed: u64, sample: usize) -> Option<Vec<f64>> {
    let mut draws = Draws::new(seed, sample);
    let mut z = || -> Vec<f64> { (0..sides.unknowns().len()).map(|_| draws.normal()).collect() };
    (0..AGAIN).map(|_| z()).find(|z| sides.possible(z))
}

fn lapped(time: &dyn Fn(usize, &[f64]) -> Option<f64>, z: Option<&Vec<f64>>, wanted: &Wanted) -> Vec<Lapped> {
    let lap = |(side, &wanted): (usize, &bool)| match z {
        _ if !wanted => Lapped::Unasked,
        Some(z) => time(side, z).filter(|t| t.is_finite()).map_or(Lapped::Lost, Lapped::In),
        None => Lapped::Lost,
    };
    wanted.0.iter().enumerate().map(lap).collect()
}

/// Draws that are not lapped, none of them one that is.
fn cheap(sides: &dyn Sides, seed: u64) -> Vec<Vec<f64>> {
    (0..CHEAP).into_par_iter().filter_map(|i| off(sides, seed, FIRST_CHEAP + i)).collect()
}
