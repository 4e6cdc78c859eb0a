//! A line of nodes: its curvature and normals, where a point falls on it, nodes at even distance.

use std::f64::consts::PI;

/// Curvature of a line of nodes, by the angle between its chords.
pub(crate) fn kappa_of(points: &[[f64; 2]], closed: bool) -> Vec<f64> {
    Shape::of(points, closed).kappa
}

pub(crate) fn chords(points: &[[f64; 2]], closed: bool) -> Vec<f64> {
    let n = points.len();
    let ends = if closed { n } else { n - 1 };
    (0..ends).map(|i| (points[(i + 1) % n][0] - points[i][0]).hypot(points[(i + 1) % n][1] - points[i][1])).collect()
}

/// The same line with nodes at even distance, about `step` apart: a cubic through each four nodes.
pub(crate) fn evened(points: &[[f64; 2]], step: f64, closed: bool) -> Vec<[f64; 2]> {
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
#[derive(Clone, Debug)]
pub(crate) struct Shape {
    pub(crate) closed: bool,
    /// Mean distance between nodes, m.
    pub(crate) step: f64,
    /// The nodes, m.
    pub(crate) points: Vec<[f64; 2]>,
    /// Normals to the left.
    normals: Vec<[f64; 2]>,
    /// By the angle between chords, 1/m.
    pub(crate) kappa: Vec<f64>,
}

impl Shape {
    /// Of these nodes.
    pub(crate) fn of(points: &[[f64; 2]], closed: bool) -> Shape {
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

    /// m.
    pub(crate) fn length(&self) -> f64 {
        self.step * if self.closed { self.points.len() as f64 } else { self.points.len() as f64 - 1.0 }
    }

    /// Each node moved to the left.
    pub(crate) fn moved(&self, offsets: &[f64]) -> Vec<[f64; 2]> {
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
}

impl Shape {
    /// The nearest place on the line, within a reach of a place where one is known: (s, offset to the left).
    pub(crate) fn nearest(&self, p: [f64; 2], near: Option<(f64, f64)>) -> (f64, f64) {
        let n = self.points.len();
        let segments = if self.closed { n } else { n - 1 };
        let best = |range: &mut dyn Iterator<Item = usize>| {
            range.map(|i| self.onto(p, i)).min_by(|a, b| a.0.total_cmp(&b.0)).map(|(_, s, d)| (s, d))
        };
        let found = match near {
            Some((s, reach)) if 2.0 * reach < self.length() => {
                let (middle, half) = ((s / self.step) as isize, (reach / self.step) as isize + 1);
                let index = |i: isize| {
                    if self.closed { Some(i.rem_euclid(n as isize) as usize) } else { usize::try_from(i).ok() }
                };
                best(&mut (middle - half..=middle + half).filter_map(index).filter(|i| *i < segments))
            }
            _ => best(&mut (0..segments)),
        };
        found.unwrap_or((0.0, 0.0))
    }
}

/// Linear between nodes.
pub(crate) fn interpolated(values: &[f64], at: f64, closed: bool) -> f64 {
    let n = values.len();
    let low = (at.max(0.0) as usize).min(n - 1);
    let next = if closed { (low + 1) % n } else { (low + 1).min(n - 1) };
    let share = (at - low as f64).clamp(0.0, 1.0);
    values[low] + share * (values[next] - values[low])
}
