//! Positions dropped onto a line: how far off, which are no noise, how alike neighbours are; heights and curvatures
//! that come with them.

use crate::centre::{LEAST, Run, Wish};
use crate::curve::nodes::Nodes;
use crate::curve::polyline::{Shape, interpolated};
use crate::curve::smooth::{Choice, Reading, Smoothed, Turn};

/// A position dropped onto the line.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Drop {
    run: usize,
    point: usize,
    /// Where, m.
    pub(crate) s: f64,
    /// How far to the left, m.
    pub(crate) offset: f64,
}

/// Further out than this is no noise: five standard deviations, or ten times the median before any is known.
pub(crate) fn spread(drops: &[Drop], stated: Option<f64>, before: Option<&Smoothed>) -> f64 {
    let mut sizes: Vec<f64> = drops.iter().map(|d| d.offset.abs()).collect();
    sizes.sort_by(f64::total_cmp);
    let median = sizes.get(sizes.len() / 2).copied().unwrap_or(0.0);
    match (before, stated) {
        (None, _) => (10.0 * median).max(20.0),
        // 1.4826: the standard deviation of a normal distribution by its median.
        (Some(s), _) => 5.0 * s.noise.max(1.482_6 * median).max(0.01),
    }
}

/// 1 + 2 Σ ρ_k of the residuals along each run, up to the first that is not positive: by this much the variance of
/// their mean is above that of independent ones.
pub(crate) fn alikeness(drops: &[Drop], smoothed: &Smoothed, line: &Shape) -> f64 {
    let residual = |d: &Drop| d.offset - interpolated(&smoothed.values, d.s / line.step, line.closed);
    let all: Vec<(usize, f64)> = drops.iter().map(|d| (d.run, residual(d).clamp(-4.0, 4.0))).collect();
    let variance = all.iter().map(|r| r.1 * r.1).sum::<f64>() / all.len() as f64;
    if variance <= 0.0 {
        return 1.0;
    }
    let mut sum = 1.0;
    for lag in 1..200.min(all.len() / 4) {
        let pairs = all.iter().zip(&all[lag..]).filter(|(a, b)| a.0 == b.0);
        let (n, total) = pairs.fold((0, 0.0), |(n, s), (a, b)| (n + 1, s + a.1 * b.1));
        let rho = total / (n.max(1) as f64 * variance);
        // Two standard errors of a correlation that is none.
        if rho < 2.0 / f64::from(n.max(1)).sqrt() {
            break;
        }
        sum += 2.0 * rho;
    }
    sum
}

/// Every position dropped onto the line, in order: near where the one before fell, so that a crossing is not taken for
/// a turn.
pub(crate) fn drop_all(runs: &[Run], line: &Shape) -> Vec<Drop> {
    let mut drops = Vec::new();
    for (run, points) in runs.iter().enumerate().map(|(i, r)| (i, &r.points)) {
        let mut last: Option<(f64, [f64; 2])> = None;
        for (point, &p) in points.iter().enumerate() {
            let near = last.map(|(s, q)| (s, 3.0 * (p[0] - q[0]).hypot(p[1] - q[1]) + 25.0));
            let (s, offset) = line.nearest(p, near);
            last = Some((s, p));
            // Before the start or behind the end of an open line there is nothing to say.
            let outside = !line.closed && (s <= 0.0 || s >= line.length());
            if !outside {
                drops.push(Drop { run, point, s, offset });
            }
        }
    }
    drops
}

/// Heights along the line; `None` for too few.
pub(crate) fn heights(runs: &[Run], drops: &[Drop], line: &Shape, wish: Wish) -> Option<Smoothed> {
    let reading = |d: &Drop| {
        let z = runs[d.run].z.get(d.point).copied().filter(|z| z.is_finite())?;
        Some(Reading { at: d.s / line.step, value: z, weight: 1.0 })
    };
    let readings: Vec<Reading> = drops.iter().filter_map(reading).collect();
    if readings.len() < LEAST {
        return None;
    }
    let mean = readings.iter().map(|r| r.value).sum::<f64>() / readings.len() as f64;
    let readings: Vec<Reading> = readings.into_iter().map(|r| Reading { value: r.value - mean, ..r }).collect();
    let nodes = Nodes { n: line.points.len(), step: line.step, ring: wish.closed, kappa: vec![0.0; line.points.len()] };
    let choice = Choice { noise: wish.height_noise_m, window: None, floor: 1e-13, rounds: 60 };
    let mut smoothed = nodes.smooth(&readings, &[], choice)?;
    smoothed.values.iter_mut().for_each(|z| *z += mean);
    Some(smoothed)
}

/// A share of curvature that instruments are taken to be off by, and an offset, 1/m: how far a gyroscope's or an
/// accelerometer's scale, the car's roll and its slip are behind what they say. Judgement, no source.
const OFF: (f64, f64) = (0.02, 1e-4);
/// Curvature by instruments is used where it goes with the line's by at least this correlation.
const GOES: f64 = 0.9;

/// Curvature by instruments, node by node: the mean of all runs, brought to the line's scale (κ_seen = a + b κ: a
/// gyroscope's offset, an accelerometer that leans with the car), with a standard deviation from how the runs differ.
/// Empty where it does not go with the line.
pub(crate) fn turns(runs: &[Run], drops: &[Drop], line: &Shape, kappa: &[f64]) -> Vec<Turn> {
    let n = line.points.len();
    let seen = |d: &&Drop| runs[d.run].turn.get(d.point).copied().filter(|k| k.is_finite());
    let all: Vec<(f64, f64, f64)> = drops
        .iter()
        .filter_map(|d| Some((d.s / line.step, seen(&d)?)))
        .map(|(at, k)| (at, k, interpolated(kappa, at, line.closed)))
        .collect();
    let Some((a, b)) = straight(&all).filter(|_| all.len() > n / 20) else { return Vec::new() };
    // Cells of about four readings, so that their scatter is known.
    let cells = (all.len() / 4).clamp(8, n);
    let mut sums = vec![(0.0, 0.0, 0.0, 0.0); cells];
    for &(at, k, own) in &all {
        let sum = &mut sums[((at / n as f64 * cells as f64) as usize).min(cells - 1)];
        // What it says beyond the line at its own place: readings of a cell are not all at its middle.
        let k = (k - a) / b - own;
        *sum = (sum.0 + 1.0, sum.1 + k, sum.2 + k * k, sum.3 + at);
    }
    // The scatter of one reading, from all cells together.
    let (mut square, mut free) = (0.0, 0.0);
    for s in sums.iter().filter(|s| s.0 > 1.5) {
        square += s.2 - s.1 * s.1 / s.0;
        free += s.0 - 1.0;
    }
    let variance: f64 = square / f64::max(free, 1.0);
    let turn = |s: &(f64, f64, f64, f64)| {
        let at = s.3 / s.0;
        let kappa = s.1 / s.0 + interpolated(kappa, at, line.closed);
        let sd = (variance / s.0 + (OFF.0 * kappa).powi(2) + OFF.1 * OFF.1).sqrt();
        Turn { at: (at.round() as usize).min(n - 1), kappa, sd }
    };
    sums.iter().filter(|s| s.0 > 0.5).map(turn).collect()
}

/// a and b of κ_seen = a + b κ; `None` where the two don't go together.
fn straight(all: &[(f64, f64, f64)]) -> Option<(f64, f64)> {
    let n = all.len() as f64;
    let mean = |of: &dyn Fn(&(f64, f64, f64)) -> f64| all.iter().map(of).sum::<f64>() / n;
    let (seen, own) = (mean(&|p| p.1), mean(&|p| p.2));
    let (ss, so, oo) =
        (mean(&|p| (p.1 - seen).powi(2)), mean(&|p| (p.1 - seen) * (p.2 - own)), mean(&|p| (p.2 - own).powi(2)));
    // On a circle nothing tells scale from offset.
    if oo < 1e-8 || so / (ss * oo).sqrt() < GOES {
        return None;
    }
    let b = so / oo;
    Some((seen - b * own, b))
}
