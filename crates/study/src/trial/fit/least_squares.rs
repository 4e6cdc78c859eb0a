//! Linear least squares by Householder's QR, columns scaled to length one.

use nalgebra::linalg::QR;
use nalgebra::{DMatrix, DVector, Dyn};

/// Columns, made ready for any number of right sides.
#[derive(Clone, Debug)]
pub struct Factored {
    qr: QR<f64, Dyn, Dyn>,
    r: DMatrix<f64>,
    scale: Vec<f64>,
    rows: usize,
}

/// A column that the others make up to this share of itself can't be told from them.
const DEPENDENT: f64 = 1e-13;

impl Factored {
    /// Of columns; `None` where they can't be told apart, or there are not more rows than columns.
    pub fn of(x: &DMatrix<f64>) -> Option<Self> {
        let (rows, p) = x.shape();
        if rows <= p || p == 0 {
            return None;
        }
        // What is told apart must not hang on units.
        let scale: Vec<f64> = x.column_iter().map(|c| c.norm()).collect();
        if scale.iter().any(|s| !(*s > 0.0 && s.is_finite())) {
            return None;
        }
        let qr = DMatrix::from_fn(rows, p, |i, j| x[(i, j)] / scale[j]).qr();
        let r = qr.r();
        if (0..p).any(|j| r[(j, j)].abs() < DEPENDENT) {
            return None;
        }
        Some(Self { qr, r, scale, rows })
    }

    /// β of the least squares y ≈ X β.
    pub fn solve(&self, y: &DVector<f64>) -> DVector<f64> {
        let mut rotated = y.clone();
        self.qr.q_tr_mul(&mut rotated);
        let p = self.scale.len();
        let mut beta = rotated.rows(0, p).into_owned();
        // The diagonal was looked at: there is a solution.
        let _ = self.r.solve_upper_triangular_mut(&mut beta);
        beta.iter_mut().zip(&self.scale).for_each(|(b, s)| *b /= s);
        beta
    }

    /// (XᵀX)⁻¹.
    pub fn unit_covariance(&self) -> DMatrix<f64> {
        let p = self.scale.len();
        let mut inverse = DMatrix::identity(p, p);
        let _ = self.r.solve_upper_triangular_mut(&mut inverse);
        let scaled = &inverse * inverse.transpose();
        DMatrix::from_fn(p, p, |i, j| scaled[(i, j)] / (self.scale[i] * self.scale[j]))
    }

    /// n − p.
    pub fn freedom(&self) -> f64 {
        (self.rows - self.scale.len()) as f64
    }
}
