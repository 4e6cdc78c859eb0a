//! From positions of one or several runs to one line: nodes at even distance, their curvature and slope, each with a standard
//! deviation.
//!
//! A first line is smoothed over the order of one run's positions; then every position of every run is dropped
//! onto the line, its distance from it is smoothed along the line ([`crate::smooth`]), the line is moved, and again until it rests. Curvature
//! is that of the line plus what the offset d adds, d″ + κ² d.

use std::f64::consts::PI;

use crate::smooth::{Choice, Nodes, Reading, Smoothed};

/// Positions in driving order, in a local plane.
#[derive(Clone, Debug, Default)]
pub struct Run {
    /// x, y, m.
    pub points: Vec<[f64; 2]>,
    /// Times, s, where there are any: as many as points.
    pub t: Vec<f64>,
    /// Heights, m, where there are any: as many as points, NaN for none.
    pub z: Vec<f64>,
}

/// What to make of the positions.
#[derive(Clone, Copy, Debug)]
pub struct Wish {
    /// A circuit: each run is one round.
    pub closed: bool,
    /// Standard deviation of a position across the track, m; `None`: from the data.
    pub noise_m: Option<f64>,
    /// Standard deviation of a height, m; `None`: from the data.
    pub height_noise_m: Option<f64>,
}

/// The line through all runs.
#[derive(Clone, Debug)]
pub struct Line {
    /// A circuit.
    pub closed: bool,
    /// Distance between nodes, m.
    pub step_m: f64,
    /// Nodes; of a circuit the last is one step before the first.
    pub points: Vec<[f64; 2]>,
    /// κ at the nodes, 1/m.
    pub kappa: Vec<f64>,
    /// Its standard deviation, 1/m.
    pub kappa_sd: Vec<f64>,
    /// q at the nodes; `None` without heights.
    pub slope: Option<Vec<(f64, f64)>>,
    /// Heights at the nodes, m; `None` without.
    pub z: Option<Vec<f64>>,
    /// Standard deviation of a position across the line, m, as given or found.
    pub noise_m: f64,
    /// Of how many readings one is worth: above 1 where the noise of neighbours is alike.
    pub alike: f64,
    /// Positions used.
    pub used: usize,
    /// Positions further from the line than five standard deviations, not used.
    pub left_out: usize,
}

/// Why there is no line.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum CentreError {
    /// Fewer positions than a line needs.
    #[error("{found} positions; at least {least} are needed")]
    TooFew {
        /// How many there are.
        found: usize,
        /// How many it takes.
        least: usize,
    },
    /// A walk, not a drive.
    #[error("the positions span only {length_m:.0} m")]
    TooShort {
        /// Along the positions, m.
        length_m: f64,
    },
    /// The line folds back on itself.
    #[error(
        "the line that fits the positions is {line_m:.0} m long, {positions_m:.0} m from position to position: it folds, and is none; too few positions, or too noisy"
    )]
    Folds {
        /// m.
        line_m: f64,
        /// m.
        positions_m: f64,
    },
    /// The smoother found no answer.
    #[error("no smooth line follows these positions")]
    NoLine,
}

/// Positions at least.
const LEAST: usize = 12;
/// Shortest track, m.
const SHORTEST: f64 = 60.0;
/// Nodes at most.
const NODES: f64 = 12_000.0;
/// Distance between nodes, m, while that many are enough.
const STEP: f64 = 1.0;
/// Least rate of (dκ)²/ds, 1/m³: κ wanders by 1e-5 1/m in 10 m.
const FLOOR: f64 = 1e-11;
/// Half-width of the window over which the local rate is found, m.
const WINDOW: f64 = 12.0;

impl Line {
    /// Length in plan, m.
    pub fn length_m(&self) -> f64 {
        let n = self.points.len() as f64;
        self.step_m * if self.closed { n } else { n - 1.0 }
    }

    /// The line through the positions.
    ///
    /// # Errors
    /// [`CentreError`].
    pub fn through(runs: &[Run], wish: Wish) -> Result<Line, CentreError> {
        let found: usize = runs.iter().map(|r| r.points.len()).sum();
        if found < LEAST {
            return Err(CentreError::TooFew { found, least: LEAST });
        }
        let first = runs.iter().max_by_key(|r| r.points.len()).ok_or(CentreError::NoLine)?;
        let mut line = Err(CentreError::NoLine);
        // All runs together make the better first line where positions are sparse, unless it folds.
        for all in [together(runs, first, wish), Some(first.clone())].into_iter().flatten() {
            line = Line::about(first_line(&all, wish)?, runs, wish).and_then(|l| l.unfolded(first));
            if line.is_ok() {
                break;
            }
        }
        line
    }

    /// Chords from position to position are no shorter than the line, but for what bends they cut.
    fn unfolded(self, run: &Run) -> Result<Line, CentreError> {
        let positions_m: f64 = chords(&run.points, self.closed).iter().sum();
        let line_m = self.length_m();
        if line_m > FOLD * positions_m { Err(CentreError::Folds { line_m, positions_m }) } else { Ok(self) }
    }

    fn about(mut nodes: Vec<[f64; 2]>, runs: &[Run], wish: Wish) -> Result<Line, CentreError> {
        let length: f64 = chords(&nodes, wish.closed).iter().sum();
        if length < SHORTEST {
            return Err(CentreError::TooShort { length_m: length });
        }
        let step = STEP.max(length / NODES);
        nodes = evened(&nodes, step, wish.closed);
        let mut alike = 1.0;
        let mut out = None;
        for round in 0..ROUNDS {
            let line = Shape::of(&nodes, wish.closed);
            let drops = drop_all(runs, &line);
            let spread = spread(&drops, wish.noise_m, out.as_ref());
            let kept: Vec<&Drop> = drops.iter().filter(|d| d.offset.abs() <= spread).collect();
            let readings: Vec<Reading> =
                kept.iter().map(|d| Reading { at: d.s / line.step, value: d.offset, weight: 1.0 / alike }).collect();
            let shape = Nodes { n: nodes.len(), step: line.step, ring: wish.closed, kappa: line.kappa.clone() };
            let choice = Choice {
                noise: wish.noise_m,
                window: (round > 0).then_some((WINDOW / line.step).round().max(2.0) as usize),
                floor: FLOOR,
                rounds: 24,
            };
            let smoothed = shape.smooth(&readings, choice).ok_or(CentreError::NoLine)?;
            if round + 1 == ROUNDS {
                let left_out = drops.len() - kept.len();
                let heights = heights(runs, &drops, &line, wish);
                return Ok(line.finish(smoothed, heights, (kept.len(), left_out, alike)));
            }
            alike = alikeness(&drops, &smoothed, &line);
            nodes = evened(&line.moved(&smoothed.values), step, wish.closed);
            out = Some(smoothed);
        }
        Err(CentreError::NoLine)
    }
}

/// A line longer than its positions' chords by more than this folds: at 1 Hz a chord cuts a bend by 2 %.
const FOLD: f64 = 1.04;
/// Times that the line is moved; it rests after two.
const ROUNDS: usize = 4;

/// A position dropped onto the line.
#[derive(Clone, Copy, Debug)]
struct Drop {
    run: usize,
    point: usize,
    s: f64,
    offset: f64,
}

/// Further out than this is no noise: five standard deviations, or ten times the median before any is known.
fn spread(drops: &[Drop], stated: Option<f64>, before: Option<&Smoothed>) -> f64 {
    let mut sizes: Vec<f64> = drops.iter().map(|d| d.offset.abs()).collect();
    sizes.sort_by(f64::total_cmp);
    let median = sizes.get(sizes.len() / 2).copied().unwrap_or(0.0);
    match (before, stated) {
        (None, _) => (10.0 * median).max(20.0),
        // 1.4826: the standard deviation of a normal distribution by its median.
        (Some(s), _) => 5.0 * s.noise.max(1.482_6 * median).max(0.01),
    }
}

/// 1 + 2 Σ ρ_k of the residuals along each run, up to the first that is not positive: by this much the variance of their mean is
/// above that of independent ones.
fn alikeness(drops: &[Drop], smoothed: &Smoothed, line: &Shape) -> f64 {
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

fn heights(runs: &[Run], drops: &[Drop], line: &Shape, wish: Wish) -> Option<Smoothed> {
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
    let mut smoothed = nodes.smooth(&readings, choice)?;
    smoothed.values.iter_mut().for_each(|z| *z += mean);
    Some(smoothed)
}

/// A smooth line over the order of one run's positions: x and y over time, or over distance where there is no time.
fn first_line(run: &Run, wish: Wish) -> Result<Vec<[f64; 2]>, CentreError> {
    let chord = |w: &[[f64; 2]]| (w[1][0] - w[0][0]).hypot(w[1][1] - w[0][1]);
    let timed = run.t.len() == run.points.len();
    let mut at = vec![0.0];
    for i in 1..run.points.len() {
        let du = if timed { run.t[i] - run.t[i - 1] } else { chord(&run.points[i - 1..=i]) };
        at.push(at[i - 1] + du.max(0.0));
    }
    let last = at[at.len() - 1];
    let back = if timed { last / (at.len() as f64 - 1.0) } else { chord(&[run.points[at.len() - 1], run.points[0]]) };
    let span = if wish.closed { last + back } else { last };
    if span <= 0.0 {
        return Err(CentreError::TooShort { length_m: 0.0 });
    }
    let n = (run.points.len() * if timed { 1 } else { 2 }).clamp(64, 8000);
    let step = span / if wish.closed { n as f64 } else { n as f64 - 1.0 };
    let nodes = Nodes { n, step, ring: wish.closed, kappa: vec![0.0; n] };
    let of = |axis: usize| -> Vec<Reading> {
        run.points.iter().zip(&at).map(|(p, u)| Reading { at: u / step, value: p[axis], weight: 1.0 }).collect()
    };
    let choice = Choice { noise: wish.noise_m, window: None, floor: 1e-13, rounds: 60 };
    let both = nodes.smooth_alike(&[&of(0), &of(1)], choice).ok_or(CentreError::NoLine)?;
    Ok((0..n).map(|i| [both[0].values[i], both[1].values[i]]).collect())
}

/// Positions further apart than this make no line by themselves, m.
const SPARSE: f64 = 6.0;

/// Rounds of sparse positions (1 Hz) laid over one another by the share of their time; for the first line only: what that is off
/// along the track is put right when positions are dropped onto the line.
fn together(runs: &[Run], first: &Run, wish: Wish) -> Option<Run> {
    let length: f64 = chords(&first.points, wish.closed).iter().sum();
    let timed = runs.iter().all(|r| r.t.len() == r.points.len() && r.t.len() > 3);
    if !wish.closed || runs.len() < 2 || !timed || length / (first.points.len() as f64) < SPARSE {
        return None;
    }
    let mut all: Vec<(f64, [f64; 2])> = Vec::new();
    for run in runs {
        let (from, n) = (run.t[0], run.t.len());
        let whole = (run.t[n - 1] - from) * n as f64 / (n as f64 - 1.0);
        all.extend(run.t.iter().zip(&run.points).map(|(t, p)| ((t - from) / whole, *p)));
    }
    all.sort_by(|a, b| a.0.total_cmp(&b.0));
    let t = all.iter().map(|a| a.0 * first.t.len() as f64).collect();
    Some(Run { points: all.into_iter().map(|a| a.1).collect(), t, z: Vec::new() })
}

/// Distance of each of a run's positions along a line, m.
pub(crate) fn distances(line: &Line, run: &Run) -> Vec<f64> {
    let shape = Shape::of(&line.points, line.closed);
    let mut last: Option<(f64, [f64; 2])> = None;
    run.points
        .iter()
        .map(|&p| {
            let near = last.map(|(s, q): (f64, [f64; 2])| (s, 3.0 * (p[0] - q[0]).hypot(p[1] - q[1]) + 25.0));
            let (s, _) = nearest(&shape, p, near);
            last = Some((s, p));
            s
        })
        .collect()
}

/// The same line with nodes about `step` apart, its curvature by the nodes' own chords; deviations and heights are carried over.
pub(crate) fn evened_line(line: &Line, step: f64) -> Line {
    let points = evened(&line.points, step, line.closed);
    let shape = Shape::of(&points, line.closed);
    let n = points.len();
    let at = |i: usize| i as f64 / n as f64 * line.points.len() as f64;
    let carried = |values: &[f64]| (0..n).map(|i| interpolated(values, at(i), line.closed)).collect::<Vec<f64>>();
    let slopes = |slope: &Vec<(f64, f64)>| {
        let (q, sd): (Vec<f64>, Vec<f64>) = slope.iter().copied().unzip();
        carried(&q).into_iter().zip(carried(&sd)).collect()
    };
    Line {
        step_m: shape.step,
        kappa: shape.kappa,
        kappa_sd: carried(&line.kappa_sd),
        slope: line.slope.as_ref().map(slopes),
        z: line.z.as_ref().map(|z| carried(z)),
        points,
        ..line.clone()
    }
}

impl Line {
    /// Moved sideways, nodes as they are.
    pub(crate) fn offset(&self, offsets: &[f64]) -> Line {
        let moved = Shape::of(&self.points, self.closed).moved(offsets);
        let shape = Shape::of(&moved, self.closed);
        Line { points: moved, kappa: shape.kappa, step_m: shape.step, ..self.clone() }
    }
}

/// Curvature of a line of nodes, by the angle between its chords.
pub(crate) fn kappa_of(points: &[[f64; 2]], closed: bool) -> Vec<f64> {
    Shape::of(points, closed).kappa
}

fn chords(points: &[[f64; 2]], closed: bool) -> Vec<f64> {
    let n = points.len();
    let ends = if closed { n } else { n - 1 };
    (0..ends).map(|i| (points[(i + 1) % n][0] - points[i][0]).hypot(points[(i + 1) % n][1] - points[i][1])).collect()
}

/// The same line with nodes at even distance, about `step` apart: a cubic through each four nodes.
fn evened(points: &[[f64; 2]], step: f64, closed: bool) -> Vec<[f64; 2]> {
    let n = points.len();
    let chords = chords(points, closed);
    let mut at = vec![0.0];
    chords.iter().for_each(|c| at.push(at[at.len() - 1] + c));
    let length = at[at.len() - 1];
    let count = ((length / step).round() as usize).max(8);
    let gap = length / count as f64;
    let index = |i: isize| if closed { i.rem_euclid(n as isize) } else { i.clamp(0, n as isize - 1) } as usize;
    let s_of = |i: isize| {
        let turn = if closed { i.div_euclid(n as isize) } else { 0 };
        at[index(i)] + turn as f64 * length
    };
    let mut i = 0;
    let total = if closed { count } else { count + 1 };
    (0..total)
        .map(|k| {
            let s = (k as f64 * gap).min(length);
            while i + 2 < at.len() && at[i + 1] <= s {
                i += 1;
            }
            let mut first = i as isize - 1;
            if !closed {
                first = first.clamp(0, n as isize - 4);
            }
            // Lagrange's cubic through four nodes.
            let mut out = [0.0; 2];
            for a in first..first + 4 {
                let others = (first..first + 4).filter(|b| *b != a);
                let w: f64 = others.map(|b| (s - s_of(b)) / (s_of(a) - s_of(b)).max_abs(1e-9)).product();
                (0..2).for_each(|m| out[m] += w * points[index(a)][m]);
            }
            out
        })
        .collect()
}

trait MaxAbs {
    fn max_abs(self, least: f64) -> f64;
}

impl MaxAbs for f64 {
    /// Never nearer to zero than `least`.
    fn max_abs(self, least: f64) -> f64 {
        if self.abs() < least { least.copysign(self) } else { self }
    }
}

/// A line with what follows from its nodes.
struct Shape {
    closed: bool,
    step: f64,
    points: Vec<[f64; 2]>,
    /// Normals to the left.
    normals: Vec<[f64; 2]>,
    kappa: Vec<f64>,
}

impl Shape {
    fn of(points: &[[f64; 2]], closed: bool) -> Shape {
        let n = points.len();
        let chords = chords(points, closed);
        let step = chords.iter().sum::<f64>() / chords.len() as f64;
        let at = |i: isize| points[if closed { i.rem_euclid(n as isize) } else { i.clamp(0, n as isize - 1) } as usize];
        let heading = |i: isize| {
            let (a, b) = (at(i), at(i + 1));
            (b[1] - a[1]).atan2(b[0] - a[0])
        };
        let folded = |a: f64| a - 2.0 * PI * (a / (2.0 * PI)).round();
        let inner = |i: usize| if closed { i as isize } else { (i as isize).clamp(1, n as isize - 2) };
        let kappa: Vec<f64> = (0..n).map(|i| folded(heading(inner(i)) - heading(inner(i) - 1)) / step).collect();
        let normal = |i: usize| {
            let (a, b) = (at(i as isize - 1), at(i as isize + 1));
            let (x, y) = (b[0] - a[0], b[1] - a[1]);
            let size = x.hypot(y).max(1e-12);
            [-y / size, x / size]
        };
        Shape { closed, step, normals: (0..n).map(normal).collect(), kappa, points: points.to_vec() }
    }

    fn length(&self) -> f64 {
        self.step * if self.closed { self.points.len() as f64 } else { self.points.len() as f64 - 1.0 }
    }

    fn moved(&self, offsets: &[f64]) -> Vec<[f64; 2]> {
        let pairs = self.points.iter().zip(&self.normals).zip(offsets);
        pairs.map(|((p, n), d)| [p[0] + d * n[0], p[1] + d * n[1]]).collect()
    }

    /// The point dropped onto the line between node i and the next: (s, offset), if it falls there or at its ends.
    fn onto(&self, p: [f64; 2], i: usize) -> (f64, f64, f64) {
        let j = (i + 1) % self.points.len();
        let (a, b) = (self.points[i], self.points[j]);
        let (x, y) = (b[0] - a[0], b[1] - a[1]);
        let chord2 = (x * x + y * y).max(1e-18);
        let share = (((p[0] - a[0]) * x + (p[1] - a[1]) * y) / chord2).clamp(0.0, 1.0);
        let foot = [a[0] + share * x, a[1] + share * y];
        let (ex, ey) = (p[0] - foot[0], p[1] - foot[1]);
        let n = [
            self.normals[i][0] + share * (self.normals[j][0] - self.normals[i][0]),
            self.normals[i][1] + share * (self.normals[j][1] - self.normals[i][1]),
        ];
        // The chord cuts the bend by κ s (step − s)/2.
        let kappa = self.kappa[i] + share * (self.kappa[j] - self.kappa[i]);
        let sagitta = 0.5 * kappa * self.step * self.step * share * (1.0 - share);
        (ex.hypot(ey), (i as f64 + share) * self.step, (ex * n[0] + ey * n[1]) + sagitta)
    }

    fn finish(
        self,
        smoothed: Smoothed,
        heights: Option<Smoothed>,
        (used, left_out, alike): (usize, usize, f64),
    ) -> Line {
        let points = self.moved(&smoothed.values);
        let moved = Shape::of(&points, self.closed);
        Line {
            closed: self.closed,
            step_m: moved.step,
            points,
            kappa: smoothed.kappa,
            kappa_sd: smoothed.kappa_sd,
            noise_m: smoothed.noise,
            slope: heights.as_ref().map(|h| h.slope.clone()),
            z: heights.map(|h| h.values),
            alike,
            used,
            left_out,
        }
    }
}

/// Every position dropped onto the line, in order: near where the one before fell, so that a crossing is not taken for a turn.
fn drop_all(runs: &[Run], line: &Shape) -> Vec<Drop> {
    let mut drops = Vec::new();
    for (run, points) in runs.iter().enumerate().map(|(i, r)| (i, &r.points)) {
        let mut last: Option<(f64, [f64; 2])> = None;
        for (point, &p) in points.iter().enumerate() {
            let near = last.map(|(s, q)| (s, 3.0 * (p[0] - q[0]).hypot(p[1] - q[1]) + 25.0));
            let (s, offset) = nearest(line, p, near);
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

fn nearest(line: &Shape, p: [f64; 2], near: Option<(f64, f64)>) -> (f64, f64) {
    let n = line.points.len();
    let segments = if line.closed { n } else { n - 1 };
    let best = |range: &mut dyn Iterator<Item = usize>| {
        range.map(|i| line.onto(p, i)).min_by(|a, b| a.0.total_cmp(&b.0)).map(|(_, s, d)| (s, d))
    };
    let found = match near {
        Some((s, reach)) if 2.0 * reach < line.length() => {
            let (middle, half) = ((s / line.step) as isize, (reach / line.step) as isize + 1);
            let index = |i: isize| {
                if line.closed { Some(i.rem_euclid(n as isize) as usize) } else { usize::try_from(i).ok() }
            };
            best(&mut (middle - half..=middle + half).filter_map(index).filter(|i| *i < segments))
        }
        _ => best(&mut (0..segments)),
    };
    found.unwrap_or((0.0, 0.0))
}

/// Linear between nodes.
fn interpolated(values: &[f64], at: f64, closed: bool) -> f64 {
    let n = values.len();
    let low = (at.max(0.0) as usize).min(n - 1);
    let next = if closed { (low + 1) % n } else { (low + 1).min(n - 1) };
    let share = (at - low as f64).clamp(0.0, 1.0);
    values[low] + share * (values[next] - values[low])
}
