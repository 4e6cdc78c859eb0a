//! One difference of two sides: its slopes and whether they hold, its samples and whether they have settled.

use statrs::distribution::{ContinuousCDF, Normal};

use crate::uncertainty::alone::Alone;
use crate::uncertainty::law::{Guess, Law};
use crate::uncertainty::paired::Draw;
use crate::uncertainty::step::Step;
use crate::uncertainty::ways::Lapped;

/// Standard deviations to each side of a normal distribution's middle that hold 90 %.
pub const NINETY: f64 = 1.645;

/// A difference of two lap times under uncertainty.
#[derive(Clone, Debug, PartialEq)]
pub struct Difference {
    /// Which side.
    pub of: usize,
    /// Against which.
    pub against: usize,
    /// With nothing off: time of the second less that of the first, s; positive where `of` is quicker.
    pub gain: f64,
    /// The value that it is as likely above as below, s.
    pub median: f64,
    /// The 90 % interval, s: its 5 % and 95 % quantiles.
    pub interval: [f64; 2],
    /// Its standard deviation, s.
    pub sd: f64,
    /// Probability that it is a gain.
    pub chance: f64,
    /// How it was found.
    pub how: How,
    /// The share of each unknown in the variance, by its number, largest first; one unknown at a time, without those
    /// below a thousandth.
    pub shares: Vec<(usize, f64)>,
}

/// How a difference was found.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum How {
    /// Nothing that the two sides don't share is unknown, or what is makes no difference.
    Certain,
    /// From slopes, which laps have confirmed.
    FirstOrder,
    /// From so many draws.
    Sampled {
        /// Draws that lapped.
        draws: usize,
        /// Draws with no lap of one of the two.
        lost: usize,
        /// Its quantiles are known well enough.
        settled: bool,
    },
}

/// The quantiles of a 90 % interval.
const TAILS: [f64; 2] = [0.05, 0.95];
/// Slopes hold where laps differ from them by no more than this share of the standard deviation.
const BENT: f64 = 0.1;
/// What is smaller than this, s, is of no consequence.
const NOISE_S: f64 = 1e-5;
/// Quantiles have settled when their standard error is below this share of the interval.
const SETTLED: f64 = 0.05;
/// What stands in for laps does where that scatters about them by no more than this share of the standard deviation (a
/// twentieth of the interval), and where only the order is asked for. The scatter is in the spread all the same.
const INSTEAD: f64 = 0.15;
const ORDER: f64 = 0.25;
/// Surely ahead: to 95 %.
pub(crate) const SURE: f64 = 0.95;
/// A probability whose standard error is no more than this is known.
const ORDERED: f64 = 0.02;
/// Fewer draws than this say nothing about quantiles.
pub(crate) const FEWEST: usize = 32;

/// All that is known of a pair.
#[derive(Clone, Copy)]
pub(crate) struct Spread<'a> {
    pub(crate) nominal: &'a [f64],
    pub(crate) steps: &'a [Vec<Step>],
    pub(crate) taken: &'a [Draw],
    /// What is guessed of it.
    pub(crate) guess: &'a Guess,
    /// Of, against.
    pub(crate) pair: (usize, usize),
    /// Draws by laps, not by what stands in for them.
    pub(crate) exact: bool,
}

impl Spread<'_> {
    fn gain(&self) -> f64 {
        self.nominal[self.pair.1] - self.nominal[self.pair.0]
    }

    /// The gain with an unknown moved down and up: by how much, and what it is then.
    fn ends(&self, unknown: usize) -> [Option<(f64, f64)>; 2] {
        let [of, against] = [self.pair.0, self.pair.1].map(|side| self.steps[unknown][side]);
        std::array::from_fn(|i| {
            let time = |step: Step, side: usize| match step.still {
                true => Some((None, self.nominal[side])),
                false => step.ends[i].map(|(off, time)| (Some(off), time)),
            };
            let (a, b) = (time(of, self.pair.0)?, time(against, self.pair.1)?);
            // Sides that had to be moved by different steps can't be compared at one.
            let off = match (a.0, b.0) {
                (Some(a), Some(b)) if a != b => return None,
                (a, b) => a.or(b).unwrap_or(if i == 0 { -1.0 } else { 1.0 }),
            };
            Some((off, b.1 - a.1))
        })
    }

    fn still(&self, unknown: usize) -> bool {
        self.steps[unknown][self.pair.0].still && self.steps[unknown][self.pair.1].still
    }

    /// Gain per standard deviation of each unknown; `None` where one has no lap on a side.
    fn slopes(&self) -> Option<Vec<f64>> {
        let slope = |unknown: usize| {
            if self.still(unknown) {
                return Some(0.0);
            }
            let [Some(down), Some(up)] = self.ends(unknown) else { return None };
            Some((up.1 - down.1) / (up.0 - down.0))
        };
        (0..self.steps.len()).map(slope).collect()
    }

    /// Each draw's gain; `None` where one of the two had no lap.
    fn gains(&self) -> impl Iterator<Item = (&[f64], Option<f64>)> {
        self.gains_by(self.exact)
    }

    fn gains_by(&self, exact: bool) -> impl Iterator<Item = (&[f64], Option<f64>)> {
        self.taken.iter().filter_map(move |draw| {
            let times = if exact { &draw.exact } else { &draw.instead };
            match (times[self.pair.0], times[self.pair.1]) {
                (Lapped::Unasked, _) | (_, Lapped::Unasked) => None,
                (Lapped::In(of), Lapped::In(against)) => Some((&draw.z[..], Some(against - of))),
                _ => Some((&draw.z[..], None)),
            }
        })
    }

    /// By how much what stands in for laps scatters about them, of what the interval, or else the order, allows; what it is
    /// off on the average is made good. Infinite where one of them has no lap.
    pub(crate) fn scatter(&self, wide: bool) -> f64 {
        let both = self.gains_by(true).zip(self.gains_by(false)).map(|(a, b)| a.1.zip(b.1));
        let Some(both) = both.collect::<Option<Vec<(f64, f64)>>>().filter(|both| both.len() > 1) else {
            return f64::INFINITY;
        };
        let sd = |of: &dyn Fn(&(f64, f64)) -> f64| Law::of_laps(both.iter().map(of)).sd();
        sd(&|(exact, said)| exact - said) / (if wide { INSTEAD } else { ORDER } * sd(&|both| both.0) + NOISE_S)
    }

    /// How far laps are off what slopes say, root mean square: of unknowns alone and of draws.
    fn off_slopes(&self, slopes: &[f64]) -> Option<[f64; 2]> {
        let gain = self.gain();
        let alone: f64 = (0..slopes.len())
            .filter(|&unknown| !self.still(unknown))
            .flat_map(|unknown| self.ends(unknown).into_iter().flatten().map(move |(z, d)| (z, d, slopes[unknown])))
            .map(|(z, d, slope)| 0.5 * (d - gain - slope * z).powi(2))
            .sum();
        let (mut sum, mut count) = (0.0, 0.0f64);
        for (z, drawn) in self.gains() {
            let said: f64 = gain + slopes.iter().zip(z).map(|(slope, z)| slope * z).sum::<f64>();
            sum += (drawn? - said).powi(2);
            count += 1.0;
        }
        Some([alone.sqrt(), (sum / count.max(1.0)).sqrt()])
    }

    /// Do slopes hold, at a standard deviation of each unknown and with all of them off at once?
    pub(crate) fn straight(&self) -> bool {
        let Some(slopes) = self.slopes() else { return false };
        let allowed = BENT * norm(&slopes) + NOISE_S;
        self.off_slopes(&slopes).is_some_and(|off| off.iter().all(|&off| off <= allowed))
    }

    pub(crate) fn first_order(&self) -> Difference {
        let slopes = self.slopes().unwrap_or_default();
        let off = self.off_slopes(&slopes).map_or(0.0, |off| off[1]);
        let (gain, spread) = (self.gain(), norm(&slopes));
        if spread == 0.0 && off == 0.0 {
            return self.certain();
        }
        let sd = spread.hypot(off);
        let normal = Normal::standard();
        Difference {
            median: gain,
            interval: TAILS.map(|q| gain + sd * normal.inverse_cdf(q)),
            sd,
            chance: normal.cdf(gain / sd),
            how: How::FirstOrder,
            shares: self.shares(),
            ..self.certain()
        }
    }

    fn certain(&self) -> Difference {
        let gain = self.gain();
        let chance = if gain > 0.0 {
            1.0
        } else if gain < 0.0 {
            0.0
        } else {
            0.5
        };
        let ((of, against), how) = (self.pair, How::Certain);
        Difference { of, against, gain, median: gain, interval: [gain; 2], sd: 0.0, chance, how, shares: Vec::new() }
    }

    pub(crate) fn sampled(&self) -> Difference {
        let drawn: Vec<_> = self.gains().collect();
        let count = drawn.iter().filter(|d| d.1.is_some()).count();
        let lost = drawn.len() - count;
        if count == 0 {
            let how = How::Sampled { draws: 0, lost, settled: false };
            return Difference { how, shares: self.shares(), ..self.certain() };
        }
        let law = self.law();
        Difference {
            median: law.quantile(0.5),
            interval: TAILS.map(|q| law.quantile(q)),
            sd: law.sd(),
            chance: law.above(0.0),
            how: How::Sampled { draws: count, lost, settled: settled(&law, count) },
            shares: self.shares(),
            ..self.certain()
        }
    }

    fn law(&self) -> Law {
        let lapped: Vec<(&[f64], f64)> = self.gains().filter_map(|(z, gain)| Some((z, gain?))).collect();
        Law::guessed(&lapped, self.guess)
    }

    /// What each unknown does to it alone.
    pub(crate) fn alone(&self) -> Vec<Alone> {
        let gain = self.gain();
        let alone = |unknown: usize| {
            let ends = self.ends(unknown).map(|end| end.map(|(z, d)| (z, d - gain)));
            Alone::through(ends).unwrap_or_default()
        };
        (0..self.steps.len()).map(alone).collect()
    }

    /// Are median and both ends known well enough?
    pub(crate) fn settled(&self) -> bool {
        let count = self.gains().filter(|(_, gain)| gain.is_some()).count();
        count >= FEWEST && settled(&self.law(), count)
    }

    /// Is it known whether either is surely ahead?
    pub(crate) fn ordered(&self) -> bool {
        let count = self.gains().filter(|(_, gain)| gain.is_some()).count();
        if count < FEWEST {
            return false;
        }
        let law = self.law();
        let (chance, off) = (law.above(0.0), law.standard_error_of_share(0.0));
        off <= ORDERED || [SURE, 1.0 - SURE].iter().all(|sure| (chance - sure).abs() > 2.0 * off)
    }

    /// ½(Δ₋² + Δ₊²) of each unknown alone, as a share of their sum: a gain that bends in an unknown counts too.
    fn shares(&self) -> Vec<(usize, f64)> {
        let gain = self.gain();
        let variance = |unknown: usize| {
            let squares: Vec<f64> =
                self.ends(unknown).into_iter().flatten().map(|(z, d)| ((d - gain) / z).powi(2)).collect();
            if self.still(unknown) || squares.is_empty() {
                0.0
            } else {
                squares.iter().sum::<f64>() / squares.len() as f64
            }
        };
        let all: Vec<f64> = (0..self.steps.len()).map(variance).collect();
        let sum: f64 = all.iter().sum();
        let mut shares: Vec<(usize, f64)> = all.iter().map(|v| v / sum).enumerate().filter(|s| s.1 >= 1e-3).collect();
        shares.sort_by(|a, b| b.1.total_cmp(&a.1));
        shares
    }
}

fn settled(law: &Law, count: usize) -> bool {
    let [low, high] = TAILS.map(|q| law.quantile(q));
    let allowed = SETTLED * (high - low) + NOISE_S;
    count >= FEWEST && [TAILS[0], 0.5, TAILS[1]].iter().all(|&q| law.standard_error(q) <= allowed)
}

fn norm(slopes: &[f64]) -> f64 {
    slopes.iter().map(|s| s * s).sum::<f64>().sqrt()
}

/// Linear between the draws (R. J. Hyndman and Y. Fan, The American Statistician 50(4), 1996, definition 7).
pub(crate) fn quantile(sorted: &[f64], q: f64) -> f64 {
    let at = q.clamp(0.0, 1.0) * (sorted.len() - 1) as f64;
    let (below, above) = (at.floor() as usize, at.ceil() as usize);
    sorted[below] + (at - below as f64) * (sorted[above] - sorted[below])
}
