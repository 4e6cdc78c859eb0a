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
    /// Where each is among the points that were given: 2.5 half way from the third to the fourth.
    own: Vec<f64>,
}

/// Of a closed curve so many points come again at both ends: what is done at an end dies away by half or more from
/// point to point.
const AGAIN: usize = 40;

impl Spline {
    /// Through these points, no two neighbours the same. A closed one runs from the first to the first again.
    pub(crate) fn through(points: &[[f64; 2]], closed: bool) -> Spline {
        let (points, own) = graded(points, closed);
        let n = points.len();
        if !closed {
            return Spline { own, ..Spline::open(points) };
        }
        let again = AGAIN.min(n);
        let round: Vec<[f64; 2]> = (0..n + 2 * again + 1).map(|i| points[(i + n - again) % n]).collect();
        let all = Spline::open(round);
        let round = again..again + n + 1;
        let from = all.at[again];
        Spline {
            at: all.at[round.clone()].iter().map(|u| u - from).collect(),
            points: all.points[round.clone()].to_vec(),
            second: all.second[round].to_vec(),
            own,
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
        Spline { at, points, second, own: Vec::new() }
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
                (self.between(i, share), self.own[i] + share * (self.own[i + 1] - self.own[i]))
            }));
        }
        if !closed {
            all.push((self.points[self.points.len() - 1], self.own[self.pieces()]));
        }
        all
    }
}

/// A piece is at most so many times as long as the one beside it, and none is cut shorter than this, m. Judgement: on
/// roads drawn by Douglas and Peucker's rule at 0.3 to 2 m, 2 leaves a straight bowed by a tenth of what a plain spline
/// does, and 3 by a sixth.
const GRADE: (f64, f64) = (2.0, 5.0);

/// The points, and more on chords that are much longer than those beside them: a road that nobody gave a point to for
/// so long is straight there, and would bow by metres without. And where each is among the points given.
fn graded(points: &[[f64; 2]], closed: bool) -> (Vec<[f64; 2]>, Vec<f64>) {
    let h = chords(points, closed);
    let (n, m) = (points.len(), h.len());
    let beside = |i: usize| match closed {
        true => (h[(i + m - 1) % m], h[(i + 1) % m]),
        // Beyond an end there is nothing that is short.
        false => (if i == 0 { f64::INFINITY } else { h[i - 1] }, h.get(i + 1).copied().unwrap_or(f64::INFINITY)),
    };
    let (mut all, mut own) = (Vec::new(), Vec::new());
    for i in 0..m {
        let (mut left, mut right) = beside(i);
        (left, right) = (left.max(GRADE.1), right.max(GRADE.1));
        let (mut from, mut to) = (0.0, h[i]);
        let mut shares = vec![0.0];
        let mut back = Vec::new();
        while to - from > GRADE.0 * left.min(right) {
            if left <= right {
                left *= GRADE.0;
                from += left;
                shares.push(from / h[i]);
            } else {
                right *= GRADE.0;
                to -= right;
                back.push(to / h[i]);
            }
        }
        shares.extend(back.into_iter().rev());
        let (p, q) = (points[i], points[(i + 1) % n]);
        for share in shares {
            all.push([p[0] + share * (q[0] - p[0]), p[1] + share * (q[1] - p[1])]);
            own.push(i as f64 + share);
        }
    }
    if !closed {
        all.push(points[n - 1]);
    }
    own.push(m as f64);
    (all, own)
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

    /// Two straights of 600 m between half circles of 40 m radius by a point every 30°. Where the bend ends a
    /// straight's first piece, 41 m, begins off its chord by half of 15° at most, so it bows by 4/27 of length × angle,
    /// 0.8 m; each piece behind it, twice as long, by about two thirds of the one before.
    #[test]
    fn closed_form_straights_between_bends_do_not_bow() {
        let at = |x: f64, degrees: f64| {
            let (s, c) = degrees.to_radians().sin_cos();
            [x + 40.0 * c, 40.0 * s]
        };
        let half = |x: f64, from: f64| (0..=6).map(move |i| at(x, from + 30.0 * f64::from(i)));
        let points: Vec<[f64; 2]> = half(600.0, -90.0).chain(half(0.0, 90.0)).collect();
        let places = Spline::through(&points, true).places(|_| 20, true);
        let most = |from: f64| {
            let straight = places.iter().filter(|(p, _)| (from..600.0 - from).contains(&p[0]));
            straight.map(|(p, _)| (p[1].abs() - 40.0).abs()).fold(0.0, f64::max)
        };
        assert!(
            most(1.0) < 0.85 && most(45.0) < 0.55 && most(130.0) < 0.38,
            "{} {} {}",
            most(1.0),
            most(45.0),
            most(130.0)
        );
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
