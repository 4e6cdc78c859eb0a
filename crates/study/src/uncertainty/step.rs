//! Each unknown alone, a standard deviation down and up. By one lap with its derivatives most of them are seen to do
//! next to nothing to any difference; only the others have laps of their own.

use crate::threads::{each, each_of};
use crate::uncertainty::paired::Sides;
use crate::uncertainty::ways::{Lapped, Way, Ways};

/// What one unknown does to one side.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Step {
    /// How far down and up it was moved, in standard deviations, and the time there.
    pub(crate) ends: [Option<(f64, f64)>; 2],
    /// The side doesn't depend on it.
    pub(crate) still: bool,
}

/// Unknowns that together have no more than this share of a difference's variance are not lapped.
const QUIET: f64 = 2e-3;
/// Of them all off at once, laps may differ from the slopes by so much of it: what has no slope may yet do something a
/// step further on.
const HIDDEN: f64 = 0.1;
/// What is smaller than this, s, is of no consequence.
const NOISE_S: f64 = 1e-5;
/// A step that leads to no possible car is halved, so often at most.
const HALVINGS: i32 = 6;

/// By unknown, by side. `all`: every one is lapped.
pub(crate) fn steps(
    sides: &dyn Sides,
    ways: &Ways,
    nominal: &[f64],
    pairs: &[(usize, usize)],
    all: bool,
) -> Vec<Vec<Step>> {
    let (unknowns, count) = (sides.unknowns().len(), sides.count());
    let mut wanted = vec![false; count];
    pairs.iter().for_each(|&(a, b)| (wanted[a], wanted[b]) = (true, true));
    let still = |unknown: usize, side: usize| !wanted[side] || !sides.moves(side, unknown);
    // A priced side's ends cost less than its slopes.
    let slopes =
        |side: usize| if all || ways.by[side] == Way::Priced || !wanted[side] { None } else { sides.slopes(side) };
    let slopes: Vec<Option<Vec<f64>>> = each(count, slopes);
    // As slopes have it, until it is lapped.
    let first = |unknown: usize, side: usize| {
        let slope = slopes[side].as_ref().filter(|_| !still(unknown, side)).map_or(0.0, |of| of[unknown]);
        let ends = [-1.0, 1.0].map(|off| Some((off, nominal[side] + off * slope)));
        Step { ends, still: still(unknown, side) }
    };
    let mut found: Vec<Vec<Step>> = (0..unknowns).map(|u| (0..count).map(|side| first(u, side)).collect()).collect();
    let unlappable = |side: usize| wanted[side] && slopes[side].is_none();
    let mut lapped: Vec<Vec<bool>> = (0..unknowns).map(|_| vec![false; count]).collect();
    let mut wanting: Vec<(usize, usize)> =
        (0..unknowns).flat_map(|u| (0..count).filter(|&side| unlappable(side)).map(move |side| (u, side))).collect();
    let mut looked = all;
    loop {
        wanting.retain(|&(u, side)| !still(u, side) && !lapped[u][side]);
        wanting.sort_unstable();
        wanting.dedup();
        let together: Vec<&[(usize, usize)]> = wanting.chunk_by(|a, b| a.0 == b.0).collect();
        let laps: Vec<Vec<Step>> = each_of(&together, |of| lap(ways, all, of[0].0, of));
        for (&(u, side), step) in wanting.iter().zip(laps.into_iter().flatten()) {
            (found[u][side], lapped[u][side]) = (step, true);
        }
        wanting = pairs.iter().flat_map(|&pair| loud(&found, &lapped, nominal, pair)).collect();
        wanting.retain(|&(u, side)| !still(u, side) && !lapped[u][side]);
        if wanting.is_empty() && !looked {
            looked = true;
            wanting = hidden(ways, nominal, &found, &lapped, pairs);
        }
        if wanting.is_empty() {
            return found;
        }
    }
}

/// What this unknown does to the difference, mean square.
fn square(steps: &[Step], nominal: &[f64], (a, b): (usize, usize)) -> f64 {
    let off = |side: usize, i: usize| steps[side].ends[i].map_or(0.0, |(off, time)| (time - nominal[side]) / off.abs());
    (0..2).map(|i| 0.5 * (off(b, i) - off(a, i)).powi(2)).sum()
}

/// Of a pair, what has a share in its variance that counts.
fn loud(found: &[Vec<Step>], lapped: &[Vec<bool>], nominal: &[f64], pair: (usize, usize)) -> Vec<(usize, usize)> {
    let squares: Vec<f64> = found.iter().map(|steps| square(steps, nominal, pair)).collect();
    let total: f64 = squares.iter().sum();
    let mut open: Vec<usize> = (0..found.len()).filter(|&u| !(lapped[u][pair.0] && lapped[u][pair.1])).collect();
    open.sort_by(|&a, &b| squares[a].total_cmp(&squares[b]).then(a.cmp(&b)));
    let mut quiet = 0.0;
    let mut is_quiet = |&u: &usize| {
        quiet += squares[u];
        quiet <= QUIET * total + NOISE_S * NOISE_S
    };
    let kept = open.iter().take_while(|u| is_quiet(u)).count();
    open.drain(kept..).flat_map(|u| [(u, pair.0), (u, pair.1)]).collect()
}

/// Pairs to which unknowns that nothing lapped, all off at once either way, do more than their slopes say: there they
/// are lapped after all.
fn hidden(
    ways: &Ways,
    nominal: &[f64],
    found: &[Vec<Step>],
    lapped: &[Vec<bool>],
    pairs: &[(usize, usize)],
) -> Vec<(usize, usize)> {
    let (unknowns, sides) = (found.len(), ways.sides);
    let quiet: Vec<usize> = (0..unknowns).filter(|&u| !lapped[u].contains(&true)).collect();
    // Signs without a pattern: of neighbours, what one adds the next may not take away.
    let sign = |u: usize| if (u * u + u / 2).is_multiple_of(3) { 1.0 } else { -1.0 };
    let off_slopes = |way: f64| -> Option<Vec<Option<f64>>> {
        let mut z = vec![0.0; unknowns];
        quiet.iter().for_each(|&u| z[u] = way * sign(u));
        sides.possible(&z).then_some(())?;
        let said = |side: usize| nominal[side] + quiet.iter().map(|&u| 0.5 * z[u] * rise(&found[u][side])).sum::<f64>();
        let mut wanted = vec![false; sides.count()];
        pairs.iter().for_each(|&(a, b)| (wanted[a], wanted[b]) = (true, true));
        let off = |(side, time): (usize, &Lapped)| time.time().map(|time| time - said(side));
        Some(ways.instead(&wanted, Some(&z)).iter().enumerate().map(off).collect())
    };
    if quiet.is_empty() {
        return Vec::new();
    }
    let ways: Vec<Option<Vec<Option<f64>>>> = each_of(&[-1.0, 1.0], |&off| off_slopes(off));
    let is_hidden = |&&(a, b): &&(usize, usize)| {
        let total: f64 = found.iter().map(|steps| square(steps, nominal, (a, b))).sum();
        ways.iter().all(Option::is_none)
            || ways.iter().flatten().any(|off| {
                let square = off[a].zip(off[b]).map(|(a, b)| (b - a).powi(2));
                square.is_none_or(|s| s > HIDDEN * total + NOISE_S * NOISE_S)
            })
    };
    pairs.iter().filter(is_hidden).flat_map(|&(a, b)| quiet.iter().flat_map(move |&u| [(u, a), (u, b)])).collect()
}

/// From down to up.
fn rise(step: &Step) -> f64 {
    match step.ends {
        [Some((_, down)), Some((_, up))] if !step.still => up - down,
        _ => 0.0,
    }
}

/// One unknown's steps, side by side; of `all`, by laps.
fn lap(ways: &Ways, all: bool, unknown: usize, of: &[(usize, usize)]) -> Vec<Step> {
    let sides = ways.sides;
    let mut found = vec![Step::default(); sides.count()];
    for (i, way) in [-1.0, 1.0].into_iter().enumerate() {
        let mut z = vec![0.0; sides.unknowns().len()];
        let mut open = vec![false; sides.count()];
        of.iter().for_each(|&(_, side)| open[side] = true);
        for off in (0..HALVINGS).map(|i| way * 0.5f64.powi(i)) {
            z[unknown] = off;
            if !open.contains(&true) || !sides.possible(&z) {
                continue;
            }
            let times = if all { ways.exact(&open, Some(&z)) } else { ways.instead(&open, Some(&z)) };
            for (side, time) in times.iter().enumerate().filter_map(|(side, time)| Some((side, time.time()?))) {
                (found[side].ends[i], open[side]) = (Some((off, time)), false);
            }
        }
    }
    of.iter().map(|&(_, side)| found[side]).collect()
}
