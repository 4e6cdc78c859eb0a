//! The lowest point over one or two shares.

use std::cell::Cell;

use crate::retune::Settings;
use crate::retune::valley::valley;
use crate::threads::{each, each_of};

/// Points of the grid along the only free share, and along each of two.
const GRID: [usize; 2] = [33, 11];
/// Low points of the grid that are looked into.
const LOWS: usize = 4;
/// The first steps of the inner valley, as a share of its width: what is best for one share moves little with the other.
const NEAR: f64 = 0.02;
/// How far a valley may lie off where few stations show it.
const OFF: f64 = 5e-3;

/// The first steps along either share where another car's lowest point is near.
pub(super) const STEP: f64 = 1e-3;

/// The lowest point of `f` over what is free of the two shares, and whether any other may come close.
pub(super) fn search(
    f: &(impl Fn(Settings) -> f64 + Sync),
    from: Settings,
    free: [Option<[f64; 2]>; 2],
) -> ((Settings, f64), bool) {
    let count = free.iter().flatten().count();
    if count == 0 {
        return ((from, f(from)), false);
    }
    let points = |reach: Option<[f64; 2]>, own: f64| match reach {
        Some([a, b]) => {
            let last = GRID[count - 1] - 1;
            let share = |i: usize| i as f64 / last as f64;
            // Each end is met to the last bit.
            (0..=last).map(|i| a * (1.0 - share(i)) + b * share(i)).collect()
        }
        None => vec![own],
    };
    let (chis, betas): (Vec<f64>, Vec<f64>) = (points(free[0], from.chi), points(free[1], from.beta_f));
    let at = |k: usize| Settings { chi: chis[k / betas.len()], beta_f: betas[k % betas.len()] };
    let values: Vec<f64> = each(chis.len() * betas.len(), |k| f(at(k)));
    let around = |i: usize, of: &[f64]| [of[i.saturating_sub(1)], of[(i + 1).min(of.len() - 1)]];
    let looked_into = |k: usize| {
        let within = [around(k / betas.len(), &chis), around(k % betas.len(), &betas)];
        both(f, at(k), within, within.map(|[a, b]| 0.5 * (b - a)))
    };
    let lows = lows(&values, betas.len());
    let found: Vec<(Settings, f64)> = each_of(&lows, |&k| looked_into(k));
    let coarse = lows.iter().map(|&k| (at(k), values[k]));
    // Of equals the first: no matter how many threads.
    let best = coarse.chain(found).fold((from, f64::INFINITY), |best, it| if it.1 < best.1 { it } else { best });
    (best, lows.len() > 1)
}

/// The lowest point of `f` where that of another car like this one is at `from`.
pub(super) fn from_near(f: &impl Fn(Settings) -> f64, from: Settings, free: [Option<[f64; 2]>; 2]) -> (Settings, f64) {
    let within = [free[0].unwrap_or([from.chi; 2]), free[1].unwrap_or([from.beta_f; 2])];
    both(f, from, within, [STEP; 2])
}

/// A valley over one share within a valley over the other.
fn both(
    f: &impl Fn(Settings) -> f64,
    from: Settings,
    [chi, beta_f]: [[f64; 2]; 2],
    steps: [f64; 2],
) -> (Settings, f64) {
    let best = Cell::new((from.beta_f, steps[1]));
    let over_beta = |chi: f64| {
        let (start, step) = best.get();
        let (found, ((), value)) = valley(beta_f, start, step, |beta_f| ((), f(Settings { chi, beta_f })));
        best.set((found, (NEAR * (beta_f[1] - beta_f[0])).min(steps[1])));
        (found, value)
    };
    let (chi, (beta_f, value)) = valley(chi, from.chi, steps[0], over_beta);
    (Settings { chi, beta_f }, value)
}

/// What a few looks along each free share find, starting where another function has its lowest point.
pub(super) fn nearby(
    f: &impl Fn(Settings) -> f64,
    from: Settings,
    [chi, beta_f]: [Option<[f64; 2]>; 2],
) -> (Settings, f64) {
    let within = |[a, b]: [f64; 2], at: f64| [(at - OFF).max(a), (at + OFF).min(b)];
    let (mut best, mut value) = (from, f(from));
    if let Some(reach) = chi {
        let over_chi = |chi: f64| ((), f(Settings { chi, ..best }));
        let (chi, ((), least)) = valley(within(reach, best.chi), best.chi, NEAR * OFF, over_chi);
        (best, value) = (Settings { chi, ..best }, least);
    }
    if let Some(reach) = beta_f {
        let over_beta = |beta_f: f64| ((), f(Settings { beta_f, ..best }));
        let (beta_f, ((), least)) = valley(within(reach, best.beta_f), best.beta_f, NEAR * OFF, over_beta);
        (best, value) = (Settings { beta_f, ..best }, least);
    }
    (best, value)
}

/// The lowest [`LOWS`] points of a grid that none of their neighbours is below; without those that can't come below the
/// lowest, falling between two points no more than they rise to a neighbour.
fn lows(values: &[f64], width: usize) -> Vec<usize> {
    let height = values.len() / width;
    let neighbours = |k: usize| {
        let (i, j) = (k / width, k % width);
        let rows = i.saturating_sub(1)..=(i + 1).min(height - 1);
        rows.flat_map(move |r| (j.saturating_sub(1)..=(j + 1).min(width - 1)).map(move |c| r * width + c))
    };
    let is_low = |k: usize| {
        values[k].is_finite()
            && neighbours(k).all(|n| {
                // Of a plateau the first point stands for all.
                values[n] > values[k] || values[n] == values[k] && n >= k
            })
    };
    let mut lows: Vec<usize> = (0..values.len()).filter(|&k| is_low(k)).collect();
    lows.sort_by(|&a, &b| values[a].total_cmp(&values[b]).then(a.cmp(&b)));
    lows.truncate(LOWS);
    let least = lows.first().map_or(f64::INFINITY, |&k| values[k]);
    lows.retain(|&k| {
        let rise = neighbours(k).map(|n| values[n] - values[k]).fold(0.0, f64::max);
        values[k] - rise <= least
    });
    lows
}

#[cfg(test)]
mod tests {
    use super::*;

    fn settings(chi: f64, beta_f: f64) -> Settings {
        Settings { chi, beta_f }
    }

    const ALL: [Option<[f64; 2]>; 2] = [Some([0.3, 0.8]), Some([0.5, 0.9])];

    /// A valley whose floor is a kink that runs askew to both shares: where one share at a time stands still, and the
    /// two together still gain.
    #[test]
    fn closed_form_a_kinked_valley_askew() {
        let f = |s: Settings| 5.0 * (s.chi + s.beta_f - 1.3).abs() + (s.chi - s.beta_f + 0.1).abs();
        let ((at, value), _) = search(&f, settings(0.4, 0.6), ALL);
        assert!(value < 3e-4 && (at.chi - 0.6).abs() < 1e-4 && (at.beta_f - 0.7).abs() < 1e-4, "{at:?} {value}");
    }

    /// Two low points; the one further off is lower.
    #[test]
    fn closed_form_of_two_valleys_the_lower() {
        let valley = |s: Settings, chi: f64, beta_f: f64| (s.chi - chi).abs() + (s.beta_f - beta_f).abs();
        let f = |s: Settings| valley(s, 0.35, 0.85).min(valley(s, 0.71, 0.55) - 0.01);
        let ((at, _), others) = search(&f, settings(0.36, 0.85), ALL);
        assert!((at.chi - 0.71).abs() < 1e-4 && (at.beta_f - 0.55).abs() < 1e-4 && others, "{at:?}");
    }

    /// Only what is free is moved; where half of it is impossible the other half is searched.
    #[test]
    fn closed_form_one_share_and_holes() {
        let f = |s: Settings| if s.chi < 0.55 { f64::INFINITY } else { (s.chi - 0.4).abs() + (s.beta_f - 0.7).abs() };
        let ((at, _), _) = search(&f, settings(0.6, 0.9), [Some([0.3, 0.8]), None]);
        assert!((at.chi - 0.55).abs() < 5e-5 && at.beta_f == 0.9, "{at:?}");
        let ((at, _), _) = search(&f, settings(0.6, 0.9), [None, Some([0.5, 0.9])]);
        assert!(at.chi == 0.6 && (at.beta_f - 0.7).abs() < 5e-5, "{at:?}");
    }

    #[test]
    fn property_ends_belong_to_it() {
        let f = |s: Settings| s.chi - s.beta_f;
        let ((at, _), _) = search(&f, settings(0.6, 0.6), ALL);
        assert_eq!(at, settings(0.3, 0.9));
    }
}
