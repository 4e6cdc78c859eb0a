//! Traffic and mistakes by a robust loss: Huber's first, which has one solution, then Tukey's, which gives what is far
//! off no weight at all.
//!
//! The M-estimate is least squares on pseudo-values, the fit and ψ(r)/mean ψ′ about it, and so is its covariance
//! (P. J. Huber, Robust Statistics, 1981, §7.6): what comes after may take them for laps.

use nalgebra::{DMatrix, DVector};

use super::least_squares::Factored;
use super::noise::{Noise, Seat, run_steps, whiten};

/// 95 % as good as least squares where nothing is off, in standard deviations (the usual constants of Huber's loss and
/// Tukey's).
const HUBER: f64 = 1.345;
const TUKEY: f64 = 4.685;
/// The median of what is off, of a normal distribution of standard deviation 1.
const MAD: f64 = 0.674_489_750_196_081_7;
/// Rounds at most, and the change of the fit, in standard deviations, that ends them.
const ROUNDS: usize = 300;
const SETTLED: f64 = 1e-6;

/// A robust fit.
#[derive(Clone, Debug, PartialEq)]
pub struct Robust {
    /// Weight of each row, 1 counted whole, 0 not at all.
    pub weights: Vec<f64>,
    /// How far each row is off, in standard deviations.
    pub off: Vec<f64>,
    /// What least squares may take for the rows.
    pub pseudo: DVector<f64>,
    /// By how much standard errors are to be widened for so few rows (Huber's K).
    pub factor: f64,
    /// The coefficients.
    pub beta: DVector<f64>,
}

/// A loss by its ψ(u)/u and ψ′(u).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Loss {
    /// Straight beyond 1.345.
    Huber,
    /// Level beyond 4.685.
    Tukey,
}

impl Loss {
    /// ψ(u)/u.
    pub fn weight(self, u: f64) -> f64 {
        match self {
            Loss::Huber => (HUBER / u.abs()).min(1.0),
            Loss::Tukey if u.abs() >= TUKEY => 0.0,
            Loss::Tukey => (1.0 - (u / TUKEY).powi(2)).powi(2),
        }
    }

    /// ψ′(u).
    pub fn slope(self, u: f64) -> f64 {
        match self {
            Loss::Huber => f64::from(u.abs() <= HUBER),
            Loss::Tukey if u.abs() >= TUKEY => 0.0,
            Loss::Tukey => (1.0 - (u / TUKEY).powi(2)) * (1.0 - 5.0 * (u / TUKEY).powi(2)),
        }
    }
}

/// The median of absolute values over that of a standard normal distribution.
pub fn mad(values: impl IntoIterator<Item = f64>) -> f64 {
    let mut all: Vec<f64> = values.into_iter().map(f64::abs).collect();
    all.sort_by(f64::total_cmp);
    let n = all.len();
    if n == 0 { 0.0 } else { 0.5 * (all[(n - 1) / 2] + all[n / 2]) / MAD }
}

/// M-estimate by modified residuals: each round fits what ψ leaves of them. Its fitted values and the scale, which is
/// the residuals' own (the rows that the fit used up not made up for). `None` where columns can't be told apart.
pub fn m_estimate(x: &DMatrix<f64>, y: &DVector<f64>, loss: Loss) -> Option<(DVector<f64>, f64)> {
    let factored = Factored::of(x)?;
    let mut beta = factored.solve(y);
    let mut s = 0.0;
    for _ in 0..ROUNDS {
        let left = y - x * &beta;
        s = mad(left.iter().copied());
        if s <= 0.0 {
            break;
        }
        let by = factored.solve(&left.map(|r| r * loss.weight(r / s)));
        let moved = (x * &by).amax();
        beta += by;
        if moved < SETTLED * s {
            break;
        }
    }
    Some((beta, s))
}

/// The rows freed of what is far off. `within` has what tells runs apart in place of what doesn't change within one: it
/// finds how much laps scatter, whatever stops did. `None` where the columns of `x` can't be told apart.
pub fn robust(x: &DMatrix<f64>, y: &DVector<f64>, seats: &[Seat], within: &DMatrix<f64>) -> Option<Robust> {
    let (n, p) = x.shape();
    let factored = Factored::of(&whiten(x, y, seats, OPEN).x)?;
    let own = |columns: &DMatrix<f64>| {
        let (beta, s) = m_estimate(columns, y, Loss::Huber)?;
        Some((columns * beta, s * (n as f64 / (n - columns.ncols()) as f64).sqrt()))
    };
    let (mut fitted, scale) = own(within).or_else(|| own(x))?;
    let mut beta = DVector::zeros(p);
    if scale <= 0.0 {
        let beta = Factored::of(x)?.solve(y);
        return Some(Robust { weights: vec![1.0; n], off: vec![0.0; n], pseudo: y.clone(), factor: 1.0, beta });
    }
    let mut loss = Loss::Huber;
    for _ in 0..ROUNDS {
        let pulled = DVector::from_fn(n, |i, _| {
            let r = y[i] - fitted[i];
            fitted[i] + r * loss.weight(r / scale)
        });
        let white = whiten(x, &pulled, seats, OPEN);
        beta = factored.solve(&white.y);
        let next = x * &beta + run_steps(&(&pulled - x * &beta), seats, OPEN.tau);
        let moved = (&next - &fitted).amax();
        fitted = next;
        if loss == Loss::Tukey && moved < SETTLED * scale {
            break;
        }
        loss = Loss::Tukey;
    }
    let (off, weights, pseudo, factor) = pseudo_values(y, &fitted, scale, Loss::Tukey, p);
    Some(Robust { weights, off, pseudo, factor, beta })
}

/// How far each row is off, its weight, what least squares may take for it, and by how much standard errors are to be
/// widened for so few rows. Rows of no weight are not counted.
pub fn pseudo_values(
    y: &DVector<f64>,
    fitted: &DVector<f64>,
    scale: f64,
    loss: Loss,
    columns: usize,
) -> (Vec<f64>, Vec<f64>, DVector<f64>, f64) {
    let off: Vec<f64> = (y - fitted).iter().map(|r| r / scale).collect();
    let weights: Vec<f64> = off.iter().map(|u| loss.weight(*u)).collect();
    let kept: Vec<f64> = off.iter().zip(&weights).filter(|(_, w)| **w > 0.0).map(|(u, _)| loss.slope(*u)).collect();
    let m = kept.len() as f64;
    let mean = kept.iter().sum::<f64>() / m;
    let spread = kept.iter().map(|s| (s - mean).powi(2)).sum::<f64>() / m;
    let factor = 1.0 + columns as f64 / m * spread / (mean * mean);
    let pseudo = DVector::from_fn(y.len(), |i, _| fitted[i] + scale * off[i] * weights[i] / mean);
    (off, weights, pseudo, factor)
}

/// While rows are freed of what is off, a stop may have changed as much as a lap scatters: lest it be taken for traffic.
const OPEN: Noise = Noise { phi: 0.0, tau: 1.0 };
