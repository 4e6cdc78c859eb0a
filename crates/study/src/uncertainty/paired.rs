//! Differences of lap times under uncertainty: each side laps the same drawn car, so that what both share cancels.
//!
//! Where slopes hold (checked with laps), the spread is that of the slopes; else it is sampled until its quantiles have
//! settled. Draws are numbered and seeded: results don't depend on the number of threads.

use rayon::prelude::*;

use crate::input::leg::Leg;
use crate::input::unknown::Input;
use crate::uncertainty::draws::Draws;
use crate::uncertainty::spread::{Difference, Spread};

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
/// A draw that makes no possible car is drawn again, so often at most.
const AGAIN: usize = 200;
/// A step that leads to no possible car is halved, so often at most.
const HALVINGS: i32 = 6;

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

/// What one unknown does to one side.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Step {
    /// How far down and up it was moved, in standard deviations, and the time there.
    pub(crate) ends: [Option<(f64, f64)>; 2],
    /// The side doesn't depend on it.
    pub(crate) still: bool,
}

/// The differences of `pairs` (of, against): time of the second less that of the first, a gain where positive.
///
/// # Errors
/// [`PairedError::NoLap`] where a side has no lap with nothing off.
pub fn paired(sides: &dyn Sides, pairs: &[(usize, usize)], sampling: Sampling) -> Result<Paired, PairedError> {
    let unknowns = sides.unknowns().len();
    let zero = vec![0.0; unknowns];
    let nominal = (0..sides.count())
        .into_par_iter()
        .map(|side| sides.time(side, &zero).filter(|t| t.is_finite()).ok_or(PairedError::NoLap { side }))
        .collect::<Vec<_>>()
        .into_iter()
        .collect::<Result<Vec<_>, _>>()?;
    let mut all = vec![false; sides.count()];
    pairs.iter().for_each(|&(a, b)| (all[a], all[b]) = (true, true));
    let steps = steps(sides, &all);
    let moving = |side: usize| steps.iter().any(|of| !of[side].still);
    let any = pairs.iter().any(|&(a, b)| moving(a) || moving(b));
    let mut taken = if any { draw(sides, sampling.seed, 0..CHECKS.min(sampling.samples), &all) } else { Vec::new() };
    let mut open: Vec<(usize, usize)> = pairs.to_vec();
    open.retain(|&(a, b)| any && (sampling.all || !on(&nominal, &steps, &taken, (a, b)).straight()));
    let bent = open.clone();
    while !open.is_empty() && taken.len() < sampling.samples {
        let mut wanted = vec![false; sides.count()];
        open.iter().for_each(|&(a, b)| (wanted[a], wanted[b]) = (true, true));
        let to = (taken.len() + BATCH).min(sampling.samples);
        taken.extend(draw(sides, sampling.seed, taken.len()..to, &wanted));
        open.retain(|&(a, b)| sampling.all || !on(&nominal, &steps, &taken, (a, b)).settled());
    }
    let difference = |&pair: &(usize, usize)| {
        let spread = on(&nominal, &steps, &taken, pair);
        if bent.contains(&pair) { spread.sampled() } else { spread.first_order() }
    };
    let differences = pairs.par_iter().map(difference).collect();
    Ok(Paired { draws: taken.len(), differences, steps, nominal })
}

fn on<'a>(nominal: &'a [f64], steps: &'a [Vec<Step>], taken: &'a [Draw], (of, against): (usize, usize)) -> Spread<'a> {
    Spread { nominal, steps, taken, of, against }
}

/// Each unknown alone, a standard deviation down and up.
fn steps(sides: &dyn Sides, wanted: &[bool]) -> Vec<Vec<Step>> {
    let step = |unknown: usize, side: usize| -> Step {
        if !wanted[side] || !sides.moves(side, unknown) {
            return Step { still: true, ..Step::default() };
        }
        let ends = [-1.0, 1.0].map(|way| {
            let mut z = vec![0.0; sides.unknowns().len()];
            (0..HALVINGS).map(|i| way * 0.5f64.powi(i)).find_map(|off| {
                z[unknown] = off;
                sides.possible(&z).then_some(())?;
                Some((off, sides.time(side, &z)?))
            })
        });
        Step { ends, still: false }
    };
    let count = sides.count();
    let flat: Vec<Step> =
        (0..sides.unknowns().len() * count).into_par_iter().map(|i| step(i / count, i % count)).collect();
    flat.chunks(count.max(1)).map(<[Step]>::to_vec).collect()
}

/// A draw and the times of the sides that lapped it.
#[derive(Clone, Debug)]
pub(crate) struct Draw {
    pub(crate) z: Vec<f64>,
    pub(crate) times: Vec<Lapped>,
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

fn draw(sides: &dyn Sides, seed: u64, samples: std::ops::Range<usize>, wanted: &[bool]) -> Vec<Draw> {
    let one = |sample: usize| {
        let mut draws = Draws::new(seed, sample);
        let mut z = || -> Vec<f64> { (0..sides.unknowns().len()).map(|_| draws.normal()).collect() };
        // Drawn again, what can't be is left out of the distribution.
        let z = (0..AGAIN).map(|_| z()).find(|z| sides.possible(z));
        let lap = |side: usize| match &z {
            _ if !wanted[side] => Lapped::Unasked,
            Some(z) => sides.time(side, z).filter(|t| t.is_finite()).map_or(Lapped::Lost, Lapped::In),
            None => Lapped::Lost,
        };
        let times = (0..sides.count()).map(lap).collect();
        Draw { z: z.unwrap_or_default(), times }
    };
    samples.into_par_iter().map(one).collect()
}
