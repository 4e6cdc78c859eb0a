//! The line of least curvature within given widths: an approximation of a driven line where only a map's middle is
//! known.
//!
//! Offsets d from the middle, −right ≤ d ≤ left, that make ∫ κ² ds least, κ = κ_ref + d″ + κ_ref² d: a convex quadratic
//! program (F. Braghin, F. Cheli, S. Melzi and E. Sabbioni, *Computers and Structures* 86, 2008, for its use), solved
//! by a general interior-point solver and set up again about the line it found until it rests. A quickest line brakes
//! later and is a little tighter than this one.

use clarabel::algebra::CscMatrix;
use clarabel::solver::{DefaultSettings, DefaultSolver, IPSolver, NonnegativeConeT, SolverStatus};

use crate::centre::{CentreError, Line, carried, evened_line};

/// Times that the program is set up about the line it found.
const ROUNDS: usize = 6;
/// Distance between nodes, m.
const STEP: f64 = 3.0;
/// Weight of the length against curvature, 1/m²: keeps straights where width allows any line.
const LENGTH: f64 = 1e-7;

impl Line {
    /// The line of least curvature, at most `left` and `right` m off this one at each of its nodes.
    ///
    /// # Errors
    /// [`CentreError::NoLine`] where the solver finds none.
    pub fn least_curved(&self, left: &[f64], right: &[f64]) -> Result<Line, CentreError> {
        let middle = evened_line(self, STEP.max(self.step_m));
        let n = middle.points.len();
        let room = [left, right].map(|w| carried(w, n, self.closed));
        let mut offsets = vec![0.0; n];
        let mut now = middle.clone();
        for _ in 0..ROUNDS {
            let step = program(&now, &offsets, &room).ok_or(CentreError::NoLine)?;
            let most = step.iter().fold(0.0f64, |a, d| a.max(d.abs()));
            offsets.iter_mut().zip(&step).for_each(|(o, d)| *o += d);
            now = middle.offset(&offsets);
            if most < 0.01 {
                break;
            }
        }
        // Back to the nodes' distance of the given line, so that segments are as fine.
        Ok(evened_line(&now, self.step_m))
    }
}

/// One program about a line that is already `offsets` off the middle: further offsets.
fn program(line: &Line, offsets: &[f64], [left, right]: &[Vec<f64>; 2]) -> Option<Vec<f64>> {
    let n = offsets.len();
    let c = 1.0 / (line.step_m * line.step_m);
    let wrap =
        |i: isize| if line.closed { i.rem_euclid(n as isize) as usize } else { i.clamp(0, n as isize - 1) as usize };
    // P = 2 Σ r rᵀ, q = 2 Σ κ r over rows r of d″ + κ² d; and the slope d′ with little weight.
    // (terms, constant, weight) of each row.
    type Row = (Vec<(usize, f64)>, f64, f64);
    let mut rows: Vec<Row> = Vec::new();
    let inner = if line.closed { 0..n } else { 1..n - 1 };
    for j in inner {
        let (i, k, kappa) = (wrap(j as isize - 1), wrap(j as isize + 1), line.kappa[j]);
        rows.push((vec![(i, c), (j, kappa * kappa - 2.0 * c), (k, c)], kappa, 1.0));
        rows.push((vec![(i, -0.5 / line.step_m), (k, 0.5 / line.step_m)], 0.0, LENGTH));
    }
    let mut upper: Vec<std::collections::BTreeMap<usize, f64>> = vec![Default::default(); n];
    let mut q = vec![0.0; n];
    for (row, value, weight) in &rows {
        for &(i, a) in row {
            q[i] += 2.0 * weight * a * value;
            for &(j, b) in row {
                if i <= j {
                    *upper[j].entry(i).or_insert(0.0) += 2.0 * weight * a * b;
                }
            }
        }
    }
    // The ends of an open line stay.
    let free = |i: usize| line.closed || (i > 0 && i + 1 < n);
    let bounds: Vec<(f64, f64)> =
        (0..n)
            .map(|i| {
                if free(i) { ((left[i] - offsets[i]).max(0.0), (right[i] + offsets[i]).max(0.0)) } else { (1e-6, 1e-6) }
            })
            .collect();
    let (mut colptr, mut rowval, mut nzval) = (vec![0], Vec::new(), Vec::new());
    for column in &upper {
        for (i, v) in column {
            rowval.push(*i);
            nzval.push(*v);
        }
        colptr.push(rowval.len());
    }
    let p = CscMatrix::new(n, n, colptr, rowval, nzval);
    // d ≤ left, −d ≤ right: two rows a column.
    let a = CscMatrix::new(
        2 * n,
        n,
        (0..=n).map(|i| 2 * i).collect(),
        (0..n).flat_map(|i| [i, n + i]).collect(),
        (0..n).flat_map(|_| [1.0, -1.0]).collect(),
    );
    let b: Vec<f64> = bounds.iter().map(|b| b.0).chain(bounds.iter().map(|b| b.1)).collect();
    let settings = DefaultSettings { verbose: false, ..DefaultSettings::default() };
    let mut solver = DefaultSolver::new(&p, &q, &a, &b, &[NonnegativeConeT(2 * n)], settings).ok()?;
    solver.solve();
    let solved = matches!(solver.solution.status, SolverStatus::Solved | SolverStatus::AlmostSolved);
    solved.then(|| solver.solution.x.clone())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::centre::{Run, Wish};
    use std::f64::consts::PI;

    /// A ring between two circles: of all lines within, the outer circle has the least ∫κ² ds = 2π/R.
    #[test]
    fn closed_form_a_ring_is_driven_along_its_outside() {
        let points = (0..500).map(|i| f64::from(i) * PI / 250.0).map(|a| [80.0 * a.cos(), 80.0 * a.sin()]).collect();
        let wish = Wish { closed: true, noise_m: Some(0.05), height_noise_m: None };
        let line = Line::through(&[Run { points, ..Run::default() }], wish).unwrap();
        let n = line.points.len();
        let best = line.least_curved(&vec![4.0; n], &vec![5.0; n]).unwrap();
        for p in &best.points {
            assert!((p[0].hypot(p[1]) - 85.0).abs() < 0.1, "{p:?}");
        }
        assert!(best.kappa.iter().all(|k| (k - 1.0 / 85.0).abs() < 1e-4));
    }

    /// A right angle of R 20 m on a road 8 m wide: wide in, apex at the inside, wide out; the radius grows by more than
    /// the width.
    #[test]
    fn property_a_corner_is_cut_at_its_apex() {
        let mut points: Vec<[f64; 2]> = (0..60).map(|i| [2.0 * f64::from(i), 0.0]).collect();
        points
            .extend((1..17).map(|i| f64::from(i) * PI / 34.0).map(|a| [120.0 + 20.0 * a.sin(), 20.0 - 20.0 * a.cos()]));
        points.extend((0..60).map(|i| [140.0, 20.0 + 2.0 * f64::from(i)]));
        let wish = Wish { closed: false, noise_m: Some(0.05), height_noise_m: None };
        let line = Line::through(&[Run { points, ..Run::default() }], wish).unwrap();
        let n = line.points.len();
        let best = line.least_curved(&vec![4.0; n], &vec![4.0; n]).unwrap();
        let tightest = |l: &Line| l.kappa.iter().fold(0.0f64, |a, k| a.max(k.abs()));
        assert!(1.0 / tightest(&best) > 28.0, "{}", 1.0 / tightest(&best));
        assert!(best.length_m() < line.length_m());
        // Never off the road: measured from the middle of the bend.
        let apex = best
            .points
            .iter()
            .map(|p| (p[0] - 120.0).hypot(p[1] - 20.0))
            .filter(|r| *r < 40.0)
            .fold(f64::MAX, f64::min);
        assert!(apex > 15.9, "{apex}");
    }
}
