//! Symmetric positive matrices that couple near neighbours only, in a row or round a ring: factors, solutions and the
//! part of the inverse that lies on the couplings.

/// How far a coupling reaches: a fourth difference spans five nodes.
const REACH: usize = 4;
/// The last nodes, which on a ring couple to the first: kept as a dense border.
const TAIL: usize = REACH;

/// What couples to one node of the body, all of it later in the order.
#[derive(Clone, Copy, Debug, Default)]
struct Column {
    diagonal: f64,
    below: [f64; REACH],
    tail: [f64; TAIL],
}

/// The matrix, then in place its factors L D Lᵀ (L unit lower).
#[derive(Clone, Debug)]
pub(crate) struct Ring {
    body: Vec<Column>,
    corner: [[f64; TAIL]; TAIL],
}

/// Factors of a [`Ring`].
#[derive(Clone, Debug)]
pub(crate) struct Factors(Ring);

/// The entries of the inverse where the matrix has couplings.
#[derive(Debug)]
pub(crate) struct Inverse(Ring);

impl Ring {
    /// All zero; `n` ≥ 10 nodes.
    pub(crate) fn zeros(n: usize) -> Self {
        Self { body: vec![Column::default(); n - TAIL], corner: [[0.0; TAIL]; TAIL] }
    }

    fn n(&self) -> usize {
        self.body.len() + TAIL
    }

    /// Where the entry of two nodes is kept.
    fn at(&mut self, i: usize, j: usize) -> Option<&mut f64> {
        let (low, high) = (i.min(j), i.max(j));
        let body = self.body.len();
        if low >= body {
            // Both triangles, so that a reader need not care.
            return Some(&mut self.corner[high - body][low - body]);
        }
        let column = &mut self.body[low];
        match high {
            _ if high == low => Some(&mut column.diagonal),
            _ if high >= body => Some(&mut column.tail[high - body]),
            _ => column.below.get_mut(high - low - 1),
        }
    }

    /// Adds `weight` v vᵀ for a vector with these few entries (each node once).
    pub(crate) fn add(&mut self, entries: &[(usize, f64)], weight: f64) {
        for (k, &(i, a)) in entries.iter().enumerate() {
            for &(j, b) in &entries[..=k] {
                if let Some(entry) = self.at(i, j) {
                    *entry += weight * a * b;
                }
            }
        }
    }

    /// L D Lᵀ; `None` where the matrix is not positive.
    pub(crate) fn factor(mut self) -> Option<Factors> {
        let body = self.body.len();
        for i in 0..body {
            let Column { diagonal: d, below, tail } = self.body[i];
            if !(d > 0.0 && d.is_finite()) {
                return None;
            }
            let (l_below, l_tail) = (below.map(|a| a / d), tail.map(|a| a / d));
            for p in 0..REACH.min(body - 1 - i) {
                let column = &mut self.body[i + 1 + p];
                column.diagonal -= l_below[p] * below[p];
                for q in p + 1..REACH {
                    column.below[q - p - 1] -= l_below[q] * below[p];
                }
                for r in 0..TAIL {
                    column.tail[r] -= l_tail[r] * below[p];
                }
            }
            for r in 0..TAIL {
                for c in 0..=r {
                    self.corner[r][c] -= l_tail[r] * tail[c];
                }
            }
            (self.body[i].below, self.body[i].tail) = (l_below, l_tail);
        }
        for i in 0..TAIL {
            let d = self.corner[i][i];
            if !(d > 0.0 && d.is_finite()) {
                return None;
            }
            let column: Vec<f64> = (i + 1..TAIL).map(|r| self.corner[r][i]).collect();
            for (k, a) in column.iter().enumerate() {
                for m in 0..=k {
                    self.corner[i + 1 + k][i + 1 + m] -= a * column[m] / d;
                }
                self.corner[i + 1 + k][i] = a / d;
            }
        }
        Some(Factors(self))
    }
}

impl Factors {
    /// The solution for one right-hand side.
    pub(crate) fn solve(&self, mut x: Vec<f64>) -> Vec<f64> {
        let Ring { body, corner } = &self.0;
        let n = body.len();
        for (i, column) in body.iter().enumerate() {
            let xi = x[i];
            for p in 0..REACH.min(n - 1 - i) {
                x[i + 1 + p] -= column.below[p] * xi;
            }
            for r in 0..TAIL {
                x[n + r] -= column.tail[r] * xi;
            }
        }
        for i in 0..TAIL {
            for r in i + 1..TAIL {
                x[n + r] -= corner[r][i] * x[n + i];
            }
        }
        self.back(x)
    }

    /// A vector whose covariance is the matrix's inverse, from one of independent normal deviates: L⁻ᵀ D^(−½) z.
    pub(crate) fn sample(&self, mut z: Vec<f64>) -> Vec<f64> {
        let Ring { body, corner } = &self.0;
        let pivots = body.iter().map(|c| c.diagonal).chain((0..TAIL).map(|i| corner[i][i]));
        z.iter_mut().zip(pivots).for_each(|(z, d)| *z *= d.sqrt());
        self.back(z)
    }

    /// L⁻ᵀ D⁻¹ x.
    fn back(&self, mut x: Vec<f64>) -> Vec<f64> {
        let Ring { body, corner } = &self.0;
        let n = body.len();
        for i in (0..TAIL).rev() {
            x[n + i] /= corner[i][i];
            for r in i + 1..TAIL {
                x[n + i] -= corner[r][i] * x[n + r];
            }
        }
        for i in (0..n).rev() {
            let column = &body[i];
            let below: f64 = (0..REACH.min(n - 1 - i)).map(|p| column.below[p] * x[i + 1 + p]).sum();
            let tail: f64 = (0..TAIL).map(|r| column.tail[r] * x[n + r]).sum();
            x[i] = x[i] / column.diagonal - below - tail;
        }
        x
    }

    /// Entries of the inverse on the couplings, from the last node to the first: Z_ij = δ_ij/D_i − Σ_k L_ki Z_kj (K.
    /// Takahashi, J. Fagan and M.-S. Chin, 1973, as in Y. E. Campbell and T. A. Davis, Univ. of Florida TR-95-021; from
    /// memory).
    pub(crate) fn inverse(&self) -> Inverse {
        let Ring { body, corner } = &self.0;
        let n = body.len();
        let mut z = Ring::zeros(n + TAIL);
        for i in (0..TAIL).rev() {
            for j in (i..TAIL).rev() {
                let sum: f64 = (i + 1..TAIL).map(|k| corner[k][i] * z.corner[k.max(j)][k.min(j)]).sum();
                z.corner[j][i] = if i == j { 1.0 / corner[i][i] } else { 0.0 } - sum;
            }
        }
        let mut zi = Inverse(z);
        for i in (0..n).rev() {
            let column = &body[i];
            let reach = REACH.min(n - 1 - i);
            let later: Vec<(usize, f64)> = (0..reach)
                .map(|p| (i + 1 + p, column.below[p]))
                .chain((0..TAIL).map(|r| (n + r, column.tail[r])))
                .collect();
            let z_of = |zi: &Inverse, j: usize| -> f64 { later.iter().map(|&(k, l)| -l * zi.entry(k, j)).sum() };
            let mut out = Column::default();
            for p in 0..reach {
                out.below[p] = z_of(&zi, i + 1 + p);
            }
            for r in 0..TAIL {
                out.tail[r] = z_of(&zi, n + r);
            }
            let on_diagonal = |&(k, l): &(usize, f64)| -l * if k >= n { out.tail[k - n] } else { out.below[k - i - 1] };
            out.diagonal = 1.0 / column.diagonal + later.iter().map(on_diagonal).sum::<f64>();
            zi.0.body[i] = out;
        }
        zi
    }
}

impl Inverse {
    fn entry(&self, i: usize, j: usize) -> f64 {
        let (low, high) = (i.min(j), i.max(j));
        let n = self.0.n() - TAIL;
        if low >= n {
            self.0.corner[high - n][low - n]
        } else if high >= n {
            self.0.body[low].tail[high - n]
        } else if high == low {
            self.0.body[low].diagonal
        } else {
            self.0.body[low].below.get(high - low - 1).copied().unwrap_or(0.0)
        }
    }

    /// vᵀ A⁻¹ v for a vector within the couplings.
    pub(crate) fn form(&self, entries: &[(usize, f64)]) -> f64 {
        let row = |&(i, a): &(usize, f64)| entries.iter().map(|&(j, b)| a * b * self.entry(i, j)).sum::<f64>();
        entries.iter().map(row).sum()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use nalgebra::{DMatrix, DVector};

    fn system(n: usize, ring: bool) -> (Ring, DMatrix<f64>) {
        let (mut a, mut dense) = (Ring::zeros(n), DMatrix::zeros(n, n));
        let mut put = |entries: &[(usize, f64)], w: f64| {
            a.add(entries, w);
            for &(i, x) in entries {
                for &(j, y) in entries {
                    dense[(i, j)] += w * x * y;
                }
            }
        };
        for k in 0..if ring { n } else { n - 3 } {
            let c = [-1.0, 3.0 + 0.1 * (k as f64).sin(), -3.0, 1.0];
            put(&[0, 1, 2, 3].map(|m| ((k + m) % n, c[m])), 5.0 + (k as f64).cos());
        }
        for k in 0..n {
            put(&[(k, 0.6), (if ring || k + 1 < n { (k + 1) % n } else { k - 1 }, 0.4)], 0.3);
        }
        (a, dense)
    }

    /// Against nalgebra's dense Cholesky.
    #[test]
    fn independent_dense_cholesky() {
        for (n, ring) in [(10, true), (11, false), (40, true), (41, false)] {
            let (a, dense) = system(n, ring);
            let factors = a.factor().unwrap();
            let rhs: Vec<f64> = (0..n).map(|i| (i as f64 * 0.7).sin()).collect();
            let inverse = dense.clone().cholesky().unwrap().inverse();
            let want = &inverse * DVector::from_vec(rhs.clone());
            let got = factors.solve(rhs);
            assert!(got.iter().zip(want.iter()).all(|(g, w)| (g - w).abs() < 1e-10 * (1.0 + w.abs())), "{n} {ring}");
            let z = factors.inverse();
            for k in 0..if ring { n } else { n - 3 } {
                let v = [0, 1, 2, 3].map(|m| ((k + m) % n, [1.0, -2.0, 0.5, 3.0][m]));
                let want: f64 = v.iter().flat_map(|a| v.map(|b| a.1 * b.1 * inverse[(a.0, b.0)])).sum();
                assert!((z.form(&v) - want).abs() < 1e-9 * want.abs(), "{n} {ring} {k}: {} {want}", z.form(&v));
            }
        }
    }

    #[test]
    fn bad_input_a_matrix_that_is_not_positive() {
        let mut a = Ring::zeros(10);
        a.add(&[(2, 1.0)], -1.0);
        assert!(a.factor().is_none());
    }
}
