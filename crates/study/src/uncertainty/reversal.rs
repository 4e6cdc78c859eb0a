//! What reverses an order: which one unknown reverses the order of two sides, how far it would have to be off, and what
//! to measure.

use rayon::prelude::*;

use crate::uncertainty::paired::{Paired, Sides};
use crate::uncertainty::spread::NINETY;
use crate::uncertainty::step::Step;

/// An unknown that reverses the order of two sides.
#[derive(Clone, Debug, PartialEq)]
pub struct Reversal {
    /// Its number.
    pub unknown: usize,
    /// How far it must be off, in its standard deviations.
    pub sds: f64,
    /// What measuring it would do.
    pub settles: Settles,
}

/// Whether knowing one unknown better would settle the order.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Settles {
    /// The order is settled (to 95 %) as it is.
    Already,
    /// Known to this standard deviation, in its own unit.
    At(f64),
    /// Even if it were known exactly, the others leave the order open.
    Never,
}

/// An unknown that is off by more than this many standard deviations is not what anybody expects.
const FARTHEST: f64 = 4.0;
/// Further out an unknown may do so many times as much per standard deviation as it does within one.
const STEEPER: f64 = 3.0;
/// Halvings of the interval in which the order flips: to a thousandth of a standard deviation.
const HALVINGS: usize = 12;

/// The unknown that, alone, reverses the order of the two with the fewest standard deviations; `None` where none does
/// within four. Each that might, by what it does alone a standard deviation off, is looked at with full laps.
pub fn reversal(sides: &dyn Sides, paired: &Paired, of: usize, against: usize) -> Option<Reversal> {
    let count = sides.unknowns().len();
    let gain = |unknown: usize, off: f64| -> Option<f64> {
        let mut z = vec![0.0; count];
        z[unknown] = off;
        sides.possible(&z).then_some(())?;
        Some(sides.time(against, &z)? - sides.time(of, &z)?)
    };
    let now = paired.nominal[against] - paired.nominal[of];
    let flipped = |gain: f64| gain * now <= 0.0;
    let look = |unknown: usize| -> Option<(usize, f64)> {
        let most = ends(paired, of, against, unknown).into_iter().flatten().fold(0.0, |most: f64, d| most.max(d.abs()));
        if most * FARTHEST * STEEPER < now.abs() {
            return None;
        }
        let first = |way: f64| {
            let steps = (FARTHEST * 2.0) as i32;
            let outer =
                (1..=steps).map(|i| 0.5 * f64::from(i)).find(|&off| gain(unknown, way * off).is_some_and(flipped))?;
            let (mut inner, mut outer) = (outer - 0.5, outer);
            for _ in 0..HALVINGS {
                let middle = 0.5 * (inner + outer);
                if gain(unknown, way * middle).is_none_or(flipped) { outer = middle } else { inner = middle }
            }
            Some(way * outer)
        };
        let nearer = [first(-1.0), first(1.0)].into_iter().flatten().min_by(|a, b| a.abs().total_cmp(&b.abs()));
        nearer.map(|off| (unknown, off))
    };
    let all: Vec<(usize, f64)> = (0..count).into_par_iter().filter_map(look).collect();
    let &(unknown, sds) = all.iter().min_by(|a, b| a.1.abs().total_cmp(&b.1.abs()))?;
    Some(Reversal { unknown, sds, settles: settles(sides, paired, of, against, (unknown, now)) })
}

/// What an unknown alone does to the gain, down and up, per standard deviation.
fn ends(paired: &Paired, of: usize, against: usize, unknown: usize) -> [Option<f64>; 2] {
    let now = paired.nominal[against] - paired.nominal[of];
    let [a, b] = [of, against].map(|side| paired.steps[unknown][side]);
    let time = |step: Step, side: usize, i: usize| match step.still {
        true => Some((1.0, paired.nominal[side])),
        false => step.ends[i].map(|(off, time)| (off.abs(), time)),
    };
    [0, 1].map(|i| {
        let (a, b) = (time(a, of, i)?, time(b, against, i)?);
        Some((b.1 - a.1 - now) / a.0.min(b.0))
    })
}

/// With the spread of all others as it is: σ² = (gain/1.645)² is what may be left.
fn settles(sides: &dyn Sides, paired: &Paired, of: usize, against: usize, (unknown, gain): (usize, f64)) -> Settles {
    let variance = |unknown: usize| {
        let ends: Vec<f64> = ends(paired, of, against, unknown).into_iter().flatten().map(|d| d * d).collect();
        ends.iter().sum::<f64>() / (ends.len() as f64).max(1.0)
    };
    let all: Vec<f64> = (0..sides.unknowns().len()).map(variance).collect();
    let (total, own) = (all.iter().sum::<f64>(), all[unknown]);
    let allowed = (gain / NINETY).powi(2);
    if total <= allowed {
        return Settles::Already;
    }
    let left = allowed - (total - own);
    if left <= 0.0 || own <= 0.0 {
        Settles::Never
    } else {
        Settles::At(sides.unknowns()[unknown].sd * (left / own).sqrt())
    }
}
