//! What laps say of a change: its effect with its interval, and why each lap that counts less does so.
//!
//! A lap's time is that of its block, less the gain where the change is fitted, and a trend over the day, and one over
//! the laps of a run (tyres), and what the fuel burnt is worth; about that it scatters as [`super::fit::noise`] says.

use nalgebra::{DMatrix, DVector};
use thiserror::Error;

use super::fit::least_squares::Factored;
use super::fit::mixture::Mixture;
use super::fit::noise::{Grams, Noise, Seat};
use super::fit::robust::{Robust, robust};
use super::laps::{Less, Lesser, TimedLap, flying};

/// What a kilogram of fuel is worth.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct PerKg {
    /// s a lap and kg.
    pub s_per_kg: f64,
    /// Its standard deviation.
    pub sd: f64,
}

/// What the laps say.
#[derive(Clone, Debug, PartialEq)]
pub struct Reading {
    /// The gain, s a lap: positive, the change makes the car quicker.
    pub gain_s: f64,
    /// Half the width of the middle two thirds of what is likely (68.3 %), s: its standard error.
    pub error_s: f64,
    /// The interval that holds it with nine chances in ten, s.
    pub interval: [f64; 2],
    /// The chance that there is a gain.
    pub chance: f64,
    /// Laps that count, without and with the change.
    pub laps: [usize; 2],
    /// So many laps that know nothing of each other would tell as much.
    pub effective: f64,
    /// Degrees of freedom that are left.
    pub freedom: f64,
    /// Standard deviation of a lap, s.
    pub scatter_s: f64,
    /// Correlation of a lap with the one before, and what a stop changes, s.
    pub leans: f64,
    /// Standard deviation of what a stop changes, s.
    pub stop_s: f64,
    /// The trend of each day, s an hour: positive, the track gets slower.
    pub drift_s_per_h: Vec<f64>,
    /// The trend within a run, s a lap; `None` where laps are too few to tell.
    pub wear_s_per_lap: Option<f64>,
    /// Laps that count less, in the order driven.
    pub lesser: Vec<Lesser>,
    /// The difference of the quickest laps without and with, s.
    pub best_s: f64,
    /// Of the means of all flying laps, s.
    pub mean_s: f64,
    /// All of it, as a function of the gain.
    pub likely: Mixture,
}

/// Why laps say nothing.
#[derive(Clone, Debug, PartialEq, Error)]
#[allow(missing_docs)]
pub enum ReadingError {
    #[error("no laps {}: a difference needs flying laps of both sides", if *changed { "with the change" } else { "without the change" })]
    OneSide { changed: bool },
    #[error(
        "{without} and {with} flying laps, without and with the change, in {runs} runs: too few to tell the change from the scatter, the track's drift and {blocks}; three a side are the least, four runs of five are a start"
    )]
    TooFew { without: usize, with: usize, runs: usize, blocks: String },
    #[error("all lap times are equal to the last digit: this was not timed, or not finely enough")]
    AllEqual,
    #[error(
        "the change can't be told apart from the day, the driver or the weather: each of them was driven either without or with it; drive both on one day"
    )]
    Confounded,
    #[error("more than {most} laps: at most {most} are read at once")]
    TooMany { most: usize },
    #[error("lap {lap}: {time_s} s is no lap time")]
    Time { lap: usize, time_s: f64 },
}

/// No day has more.
pub const MOST_LAPS: usize = 10_000;
/// A trend within runs is looked for from so many laps on.
pub(crate) const WEAR_FROM: usize = 16;
/// A lap that counts less than this is named.
const NAMED: f64 = 0.5;
const HOUR: f64 = 3600.0;

/// The columns of a day's model.
pub(crate) struct Design {
    pub(crate) x: DMatrix<f64>,
    pub(crate) effect: usize,
    days: Vec<usize>,
    wear: Option<usize>,
}

impl Design {
    /// Of laps that count; the trend within runs only where `wear`.
    pub(crate) fn of(laps: &[TimedLap], wear: bool) -> Self {
        let (blocks, days) = (distinct(laps, |l| l.block), distinct(laps, |l| l.day));
        let day_mean: Vec<f64> =
            days.iter().map(|d| mean(laps.iter().filter(|l| l.day == *d).map(|l| l.clock_s))).collect();
        let lap_mean = mean(laps.iter().map(|l| l.lap as f64));
        let effect = blocks.len();
        let columns = effect + 1 + days.len() + usize::from(wear);
        let x = DMatrix::from_fn(laps.len(), columns, |i, j| {
            let lap = &laps[i];
            match j {
                j if j < effect => f64::from(lap.block == blocks[j]),
                j if j == effect => -f64::from(lap.changed),
                j if j <= effect + days.len() => {
                    let day = j - effect - 1;
                    if lap.day == days[day] { (lap.clock_s - day_mean[day]) / HOUR } else { 0.0 }
                }
                _ => lap.lap as f64 - lap_mean,
            }
        });
        let first = effect + 1;
        Self { x, effect, days: (first..first + days.len()).collect(), wear: wear.then_some(columns - 1) }
    }

    /// Runs in place of blocks, days and the change, and the trend within runs: how laps scatter within runs.
    fn within(laps: &[TimedLap]) -> DMatrix<f64> {
        let runs = distinct(laps, |l| l.run);
        let means: Vec<f64> =
            runs.iter().map(|r| mean(laps.iter().filter(|l| l.run == *r).map(|l| l.lap as f64))).collect();
        DMatrix::from_fn(laps.len(), runs.len() + 1, |i, j| match runs.iter().position(|r| *r == laps[i].run) {
            Some(run) if j == runs.len() => laps[i].lap as f64 - means[run],
            run => f64::from(run == Some(j)),
        })
    }
}

/// Reads laps, given in the order driven; `fuel` corrects for what was burnt.
///
/// # Errors
/// [`ReadingError`] where they say nothing.
pub fn read(laps: &[TimedLap], fuel: PerKg) -> Result<Reading, ReadingError> {
    if laps.len() > MOST_LAPS {
        return Err(ReadingError::TooMany { most: MOST_LAPS });
    }
    if let Some(lap) = laps.iter().position(|l| !(l.time_s > 0.0 && l.time_s.is_finite())) {
        return Err(ReadingError::Time { lap: lap + 1, time_s: laps[lap].time_s });
    }
    let (kept, mut lesser) = flying(laps);
    let all: Vec<TimedLap> = kept.iter().map(|i| laps[*i]).collect();
    sides(&all)?;
    if all.iter().all(|l| l.time_s == all[0].time_s) {
        return Err(ReadingError::AllEqual);
    }
    let (design, freed) = freed(&all, fuel)?;
    let counted: Vec<usize> = (0..all.len()).filter(|i| freed.weights[*i] > 0.0).collect();
    for (i, weight) in freed.weights.iter().enumerate().filter(|(_, w)| **w < NAMED) {
        lesser.push(Lesser { lap: kept[i], weight: *weight, why: Less::Off(freed.off[i]) });
    }
    lesser.sort_by_key(|l| l.lap);
    let left: Vec<TimedLap> = counted.iter().map(|i| all[*i]).collect();
    sides(&left)?;
    let x = design.x.select_rows(&counted);
    let y = DVector::from_iterator(counted.len(), counted.iter().map(|i| freed.pseudo[*i]));
    let seats = seats(&left);
    let few = || too_few(&left);
    let mut likely = Mixture::of(&x, &y, &seats, design.effect, freed.factor).ok_or_else(few)?;
    // What is not known of a kilogram's worth moves the effect by what the two sides burnt differently.
    let burnt = DVector::from_iterator(left.len(), left.iter().map(|l| l.burnt_kg));
    let by_fuel = Factored::of(&x).map_or(0.0, |f| f.solve(&burnt)[design.effect] * fuel.sd);
    likely.parts.iter_mut().for_each(|p| p.error = p.error.hypot(by_fuel));

    let free = Grams::of(&x, &y, &seats, Noise::NONE).solve(0.0, design.effect).map_or(f64::NAN, |s| s.unit);
    let effective = left.len() as f64 * free / likely.mean(|p| p.unit);
    let side = |changed: bool| all.iter().filter(move |l| l.changed == changed).map(|l| l.time_s);
    let best = |changed: bool| side(changed).fold(f64::INFINITY, f64::min);
    let scatter_s = likely.mean(|p| p.sd);
    Ok(Reading {
        gain_s: likely.effect(),
        error_s: 0.5 * (likely.quantile(0.841_345) - likely.quantile(0.158_655)),
        interval: [likely.quantile(0.05), likely.quantile(0.95)],
        chance: 1.0 - likely.below(0.0),
        laps: [false, true].map(|changed| left.iter().filter(|l| l.changed == changed).count()),
        effective: effective.min(left.len() as f64),
        freedom: likely.freedom,
        scatter_s,
        leans: likely.mean(|p| p.noise.phi),
        stop_s: likely.mean(|p| p.noise.tau * p.sd),
        drift_s_per_h: design.days.iter().map(|j| freed.beta[*j]).collect(),
        wear_s_per_lap: design.wear.map(|j| freed.beta[j]),
        lesser,
        best_s: best(false) - best(true),
        mean_s: mean(side(false)) - mean(side(true)),
        likely,
    })
}

/// The laps freed of what is far off, with as many columns as can be told apart.
fn freed(all: &[TimedLap], fuel: PerKg) -> Result<(Design, Robust), ReadingError> {
    let y = DVector::from_iterator(all.len(), all.iter().map(|l| l.time_s + fuel.s_per_kg * l.burnt_kg));
    let (seats, within) = (seats(all), Design::within(all));
    for wear in [all.len() >= WEAR_FROM, false] {
        let design = Design::of(all, wear);
        if all.len() < design.x.ncols() + 2 {
            return Err(too_few(all));
        }
        if let Some(freed) = robust(&design.x, &y, &seats, &within) {
            return Ok((design, freed));
        }
    }
    Err(ReadingError::Confounded)
}

fn sides(laps: &[TimedLap]) -> Result<(), ReadingError> {
    match [false, true].into_iter().find(|side| laps.iter().all(|l| l.changed != *side)) {
        Some(changed) => Err(ReadingError::OneSide { changed }),
        None if laps.len() < 5 => Err(too_few(laps)),
        None => Ok(()),
    }
}

fn too_few(laps: &[TimedLap]) -> ReadingError {
    let count = |changed: bool| laps.iter().filter(|l| l.changed == changed).count();
    let blocks = match distinct(laps, |l| l.block).len() {
        0 | 1 => "a level".to_owned(),
        n => format!("{n} levels"),
    };
    ReadingError::TooFew { without: count(false), with: count(true), runs: distinct(laps, |l| l.run).len(), blocks }
}

pub(crate) fn seats(laps: &[TimedLap]) -> Vec<Seat> {
    laps.iter().map(|l| Seat { run: l.run, lap: l.lap }).collect()
}

fn distinct(laps: &[TimedLap], of: impl Fn(&TimedLap) -> usize) -> Vec<usize> {
    let mut all: Vec<usize> = laps.iter().map(of).collect();
    all.sort_unstable();
    all.dedup();
    all
}

fn mean(values: impl Iterator<Item = f64>) -> f64 {
    let (sum, count) = values.fold((0.0, 0.0f64), |(s, n), v| (s + v, n + 1.0));
    sum / count.max(1.0)
}
