//! What reverses an order: which one unknown reverses the order of two sides, how far it would have to be off, and what
//! to measure.

use crate::threads::each_of;
use crate::uncertainty::paired::{Paired, Sides};
use crate::uncertainty::spread::NINETY;
use crate::uncertainty::step::Step;
use crate::uncertainty::ways::Ways;

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
/// Standard deviations from one look to the next further out.
const STRIDE: f64 = 0.5;
/// What stands in for laps says that an order flips to this share of the gain.
const NEAR: f64 = 0.2;
/// How far off a crossing may be found, in standard deviations, and by how many laps at most.
const CLOSE: f64 = 1e-3;
const MOST: usize = 12;

/// The unknown that, alone, reverses the order of the two with the fewest standard deviations; `None` where none does
/// within four. Each that might, by what it does alone a standard deviation off and then by what stands in for laps, is
/// looked at with full laps, all of them one step further out at a time.
pub fn reversal(sides: &dyn Sides, paired: &Paired, of: usize, against: usize) -> Option<Reversal> {
    let count = sides.unknowns().len();
    let now = paired.nominal[against] - paired.nominal[of];
    let two: Vec<bool> = (0..sides.count()).map(|side| side == of || side == against).collect();
    let exact = paired.is_exact(of, against);
    let mut ways = Ways::new(sides, &paired.nominal, if exact { &[] } else { &paired.checks });
    ways.by.clone_from(&paired.by);
    // How much of itself the gain is left, by laps and by what stands in for them; `None` where there is no lap.
    let left_by = |exact: bool, unknown: usize, off: f64| -> Option<f64> {
        let mut z = vec![0.0; count];
        z[unknown] = off;
        sides.possible(&z).then_some(())?;
        let wanted: Vec<bool> = (0..two.len()).map(|side| two[side] && sides.moves(side, unknown)).collect();
        let times = if exact { ways.exact(&wanted, Some(&z)) } else { ways.instead(&wanted, Some(&z)) };
        let time = |side: usize| if wanted[side] { times[side].time() } else { Some(paired.nominal[side]) };
        Some((time(against)? - time(of)?) / now)
    };
    let left = |unknown: usize, off: f64| left_by(true, unknown, off);
    let most = |unknown: usize| {
        ends(paired, of, against, unknown).into_iter().flatten().fold(0.0, |most: f64, d| most.max(d.abs()))
    };
    let most: Vec<f64> = (0..count).map(most).collect();
    let flips = |unknown: usize, off: f64| {
        let near = exact || left_by(false, unknown, off).is_none_or(|left| left <= NEAR);
        near && left(unknown, off).is_some_and(|left| left <= 0.0)
    };
    // Where, by what stands in for laps, and by what these are off by there.
    let found = |off: f64, unknown: usize, way: f64| {
        let whole = |off: f64| left(unknown, way * off);
        if exact {
            return crossing(off, whole);
        }
        let near = |off: f64| left_by(false, unknown, way * off);
        let rest = |off: f64| Some(whole(off)? - near(off)?);
        let by = |rest: f64| crossing(off, |off| Some(near(off)? + rest));
        let first = rest(off).map(by);
        first.and_then(rest).map_or_else(|| crossing(off, whole), by)
    };
    let steps = (1..=(FARTHEST / STRIDE) as i32).map(|i| STRIDE * f64::from(i));
    let mut flipped = steps.filter_map(|off| {
        let might = (0..count).filter(|&unknown| most[unknown] * off * STEEPER >= now.abs());
        let looks: Vec<(usize, f64)> = might.flat_map(|unknown| [(unknown, -1.0), (unknown, 1.0)]).collect();
        let at = |&(unknown, way): &(usize, f64)| {
            flips(unknown, way * off).then(|| (unknown, way * found(off, unknown, way)))
        };
        // Of equals the first.
        each_of(&looks, at).into_iter().flatten().min_by(|a, b| a.1.abs().total_cmp(&b.1.abs()))
    });
    let (unknown, sds) = flipped.next()?;
    Some(Reversal { unknown, sds, settles: settles(sides, paired, of, against, (unknown, now)) })
}

/// Where within a stride up to `off` what is left of a gain is gone: by secants that keep it between them (the Illinois
/// rule; M. Dowell and P. Jarratt, BIT 11, 1971), halves where there is no lap.
fn crossing(off: f64, left: impl Fn(f64) -> Option<f64>) -> f64 {
    let (mut inner, mut outer) = ((off - STRIDE, None), (off, left(off)));
    inner.1 = if inner.0 > 0.0 { left(inner.0) } else { Some(1.0) };
    let (mut kept, mut last) = (None, off);
    for _ in 0..MOST {
        let at = match (inner.1, outer.1) {
            (Some(a), Some(b)) if a > 0.0 && b < 0.0 => outer.0 - b * (outer.0 - inner.0) / (b - a),
            (_, Some(0.0)) => return outer.0,
            _ => 0.5 * (inner.0 + outer.0),
        };
        let value = left(at);
        last = at;
        let gone = value.is_none_or(|left| left <= 0.0);
        let (end, other) = if gone { (&mut outer, &mut inner) } else { (&mut inner, &mut outer) };
        let moved = (end.0 - at).abs();
        *end = (at, value);
        if kept == Some(gone) {
            other.1 = other.1.map(|left| 0.5 * left);
        }
        kept = Some(gone);
        if moved < CLOSE || (outer.0 - inner.0).abs() < CLOSE {
            break;
        }
    }
    last
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
