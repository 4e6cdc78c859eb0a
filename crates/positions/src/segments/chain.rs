//! A chain of straights, arcs and clothoids: κ linear between knots; and how a circuit of them is made to close.

use std::f64::consts::PI;

use nalgebra::{DMatrix, DVector, Vector3};

use unladen_track::Pose;
use unladen_track::Segment;

/// The chain.
#[derive(Clone, Debug)]
pub(crate) struct Chain {
    /// A circuit: the last knot is the first again, one length on, with its κ.
    pub(crate) closed: bool,
    /// s of the knots, the first 0 and the last the length.
    pub(crate) s: Vec<f64>,
    /// κ at the knots.
    pub(crate) kappa: Vec<f64>,
}

/// How readily a κ is changed to close a circuit: this much, 1/m, and this share of itself.
const GIVE: [f64; 2] = [5e-5, 0.01];
/// Points of a segment at which its lever is summed.
const POINTS: usize = 24;

impl Chain {
    pub(crate) fn length(&self) -> f64 {
        self.s.last().copied().unwrap_or(0.0)
    }

    pub(crate) fn kappa_at(&self, s: f64) -> f64 {
        let k = self.s.partition_point(|x| *x <= s).clamp(1, self.s.len() - 1);
        let share = ((s - self.s[k - 1]) / (self.s[k] - self.s[k - 1])).clamp(0.0, 1.0);
        self.kappa[k - 1] + share * (self.kappa[k] - self.kappa[k - 1])
    }

    fn segment(&self, k: usize) -> Segment {
        let (length, kappa) = (self.s[k + 1] - self.s[k], [self.kappa[k], self.kappa[k + 1]]);
        Segment { length, kappa, q: [0.0; 2], phi: [0.0; 2], gamma: 1.0, place: None }
    }

    /// End of the chain from the origin, along x.
    fn end(&self) -> Pose {
        (0..self.s.len() - 1).fold(Pose::default(), |at, k| self.segment(k).pose(&at, self.s[k + 1] - self.s[k]))
    }

    /// Makes a circuit close by the least change of its curvatures, each weighed by what it can [`GIVE`]: Newton's
    /// method on δr(S) = ∫ ẑ × (r(S) − r(u)) δκ du = 0 and δψ(S) = ∫ δκ du = 0. An open chain stays as it is.
    pub(crate) fn close(&mut self) {
        if !self.closed || self.s.len() < 3 {
            return;
        }
        let free = self.kappa.len() - 1;
        for _ in 0..12 {
            let end = self.end();
            let turns = 2.0 * PI * (end.heading / (2.0 * PI)).round();
            let off = Vector3::new(end.x, end.y, end.heading - turns);
            if off.x.hypot(off.y) < 1e-9 && off.z.abs() < 1e-12 {
                return;
            }
            let lever = self.levers(&end);
            let give = DVector::from_fn(free, |k, _| (GIVE[0] + GIVE[1] * self.kappa[k].abs()).powi(2));
            let weighed = DMatrix::from_fn(3, free, |i, k| lever[(i, k)] * give[k]);
            let Some(inverse) = (&weighed * lever.transpose()).try_inverse() else { return };
            let step = -weighed.transpose() * (inverse * DVector::from_column_slice(off.as_slice()));
            // A circle of one κ closes by its length alone: then there is nothing to solve.
            if step.iter().any(|d| !d.is_finite() || d.abs() > 0.2) {
                return;
            }
            for k in 0..free {
                self.kappa[k] += step[k];
            }
            self.kappa[free] = self.kappa[0];
        }
    }

    /// ∂(x, y, ψ at the end)/∂κ of each free knot.
    fn levers(&self, end: &Pose) -> DMatrix<f64> {
        let free = self.kappa.len() - 1;
        let mut all = DMatrix::zeros(3, free);
        let mut at = Pose::default();
        for k in 0..self.s.len() - 1 {
            let segment = self.segment(k);
            let width = segment.length / POINTS as f64;
            for p in 0..POINTS {
                let share = (p as f64 + 0.5) / POINTS as f64;
                let r = segment.pose(&at, share * segment.length);
                let moved = [-(end.y - r.y) * width, (end.x - r.x) * width, width];
                for (i, m) in moved.into_iter().enumerate() {
                    all[(i, k % free)] += m * (1.0 - share);
                    all[(i, (k + 1) % free)] += m * share;
                }
            }
            at = segment.pose(&at, segment.length);
        }
        all
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// An oval with a bend 3 % too tight and a straight 2 m too long closes by small changes.
    #[test]
    fn closed_form_an_oval_out_of_shape_closes() {
        let bend = PI / 0.02;
        let parts = [200.0, bend, 202.0, bend];
        let mut s = vec![0.0];
        let mut kappa = vec![0.0];
        for (i, part) in parts.into_iter().enumerate() {
            let k = if i % 2 == 1 { [0.02, 0.0206][i / 2] } else { 0.0 };
            let from = s[s.len() - 1];
            // κ rises over 10 m and falls over 10 m; the bend's turn stays π.
            s.extend([from + 10.0, from + part, from + part + 10.0]);
            kappa.extend([k, k, 0.0]);
        }
        let mut chain = Chain { closed: true, s, kappa };
        let before = chain.kappa.clone();
        chain.close();
        let end = chain.end();
        assert!(end.x.hypot(end.y) < 1e-8 && (end.heading - 2.0 * PI).abs() < 1e-10, "{end:?}");
        assert!(chain.kappa.iter().zip(&before).all(|(a, b)| (a - b).abs() < 1.5e-3));
    }
}
