//! A curve through points: cubics over the length of the chords, curvature continuous.

use crate::curve::polyline::chords;

/// x and y as natural cubic splines over the chords' length (J. H. Ahlberg, E. N. Nilson and J. L. Walsh, *The Theory
/// of Splines and Their Applications*, 1967, ch. 2; from memory). Over chord length it neither loops nor overshoots
/// where points are dense in bends and far apart on straights, as one over their number does.
pub(crate) struct Spline {
    /// Chord length up to each point.
    at: Vec<f64>,
    points: Vec<[f64; 2]>,
    /// Second derivatives there.
    second: Vec<[f64; 2]>,
}

/// Of a closed curve so many points come again at both ends: what is done at an end dies away by half or more from
/// point to point.
const AGAIN: usize = 40;

impl Spline {
    /// Through these points, no two neighbours the same. A closed one runs from the first to the first again.
    pub(crate) fn through(points: &[[f64; 2]], closed: bool) -> Spline {
        let n = points.len();
        if !closed {
            return Spline::open(points.to_vec());
        }
        let again = AGAIN.min(n);
        let round: Vec<[f64; 2]> = (0..n + 2 * again + 1).map(|i| points[(i + n - again) % n]).collect();
        let all = Spline::open(round);
        let own = again..again + n + 1;
        let from = all.at[again];
        Spline {
            at: all.at[own.clone()].iter().map(|u| u - from).collect(),
            points: all.points[own.clone()].to_vec(),
            second: all.second[own].to_vec(),
        }
    }

    fn open(points: Vec<[f64; 2]>) -> Spline {
        let n = points.len();
        let h = chords(&points, false);
        let mut at = vec![0.0];
        h.iter().for_each(|c| at.push(at[at.len() - 1] + c));
        // h₋ m₋ + 2 (h₋ + h) m + h m₊ = 6 (Δ/h − Δ₋/h₋), m = 0 at both ends, by elimination.
        let mut second = vec![[0.0; 2]; n];
        let mut above = vec![0.0; n];
        for i in 1..n.saturating_sub(1) {
            let slope = |k: usize, axis: usize| (points[k + 1][axis] - points[k][axis]) / h[k];
            let pivot = 2.0 * (h[i - 1] + h[i]) - h[i - 1] * above[i - 1];
            above[i] = h[i] / pivot;
            for axis in 0..2 {
                let due = 6.0 * (slope(i, axis) - slope(i - 1, axis));
                second[i][axis] = (due - h[i - 1] * second[i - 1][axis]) / pivot;
            }
        }
        for i in (1..n.saturating_sub(1)).rev() {
            for axis in 0..2 {
                second[i][axis] -= above[i] * second[i + 1][axis];
            }
        }
        Spline { at, points, second }
    }

    /// The place at a share of the way from point i to the next.
    pub(crate) fn between(&self, i: usize, share: f64) -> [f64; 2] {
        let h = self.at[i + 1] - self.at[i];
        let (a, b) = (1.0 - share, share);
        let bend = |w: f64| (w * w * w - w) * h * h / 6.0;
        std::array::from_fn(|k| {
            let (p, q) = (self.points[i][k], self.points[i + 1][k]);
            a * p + b * q + bend(a) * self.second[i][k] + bend(b) * self.second[i + 1][k]
        })
    }

    /// Pieces between points.
    pub(crate) fn pieces(&self) -> usize {
        self.at.len() - 1
    }

    /// Chord length of a piece.
    pub(crate) fn chord(&self, i: usize) -> f64 {
        self.at[i + 1] - self.at[i]
    }

    /// Each piece in so many parts: the places, and from which piece at which share each is. Of an open curve its end
    /// as well.
    pub(crate) fn places(&self, parts: impl Fn(f64) -> usize, closed: bool) -> Vec<([f64; 2], f64)> {
        let mut all = Vec::new();
        for i in 0..self.pieces() {
            let count = parts(self.chord(i)).max(1);
            all.extend((0..count).map(|k| {
                let share = k as f64 / count as f64;
                (self.between(i, share), i as f64 + share)
            }));
        }
        if !closed {
            all.push((self.points[self.points.len() - 1], self.pieces() as f64));
        }
        all
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::PI;

    /// A circle by 24 points: the error of a cubic spline is about (R/384) (2π/24)⁴ = 1.2e-5 R.
    #[test]
    fn closed_form_a_circle() {
        let points: Vec<[f64; 2]> =
            (0..24).map(|i| f64::from(i) * PI / 12.0).map(|a| [100.0 * a.cos(), 100.0 * a.sin()]).collect();
        let spline = Spline::through(&points, true);
        assert_eq!(spline.pieces(), 24);
        for (p, _) in spline.places(|_| 7, true) {
            assert!((p[0].hypot(p[1]) - 100.0).abs() < 5e-3, "{p:?}");
        }
    }

    /// Points on a straight stay on it, however uneven their distances.
    #[test]
    fn closed_form_a_straight() {
        let points: Vec<[f64; 2]> = [0.0, 3.0, 400.0, 405.0, 1300.0, 1310.0].map(|x| [x, 2.0 * x]).to_vec();
        for (p, _) in Spline::through(&points, false).places(|_| 9, false) {
            assert!((p[1] - 2.0 * p[0]).abs() < 1e-9, "{p:?}");
        }
    }
}
