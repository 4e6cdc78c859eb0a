//! How laps scatter about what is the same for all: each lap leans on the one before, and each stop shifts a whole run.
//!
//! With σ² the variance of a lap, φ the correlation of a lap with the one before in its run, and τ σ the standard
//! deviation of what a stop changes: V/σ² = R(φ) + τ² 1 1ᵀ within a run, nothing between runs.

use nalgebra::{DMatrix, DVector};

/// Where a lap stands: its run, and which of the run's laps it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Seat {
    /// Run, 0, 1, … in the order driven.
    pub run: usize,
    /// Lap of that run, 0, 1, … with those that are left out counted.
    pub lap: usize,
}

/// The two numbers that laps hardly tell.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Noise {
    /// Correlation of a lap with the one before.
    pub phi: f64,
    /// What a stop changes, one standard deviation, in those of a lap.
    pub tau: f64,
}

impl Noise {
    /// Laps that know nothing of each other.
    pub const NONE: Noise = Noise { phi: 0.0, tau: 0.0 };
}

/// Rows made independent, of variance σ²: V^(−1/2) X, V^(−1/2) y.
#[derive(Clone, Debug)]
pub struct Whitened {
    /// V^(−1/2) X.
    pub x: DMatrix<f64>,
    /// V^(−1/2) y.
    pub y: DVector<f64>,
    /// ½ ln |V/σ²|.
    pub log_det: f64,
}

/// Makes rows independent; laps of a run stand together, in the order driven.
pub fn whiten(x: &DMatrix<f64>, y: &DVector<f64>, seats: &[Seat], noise: Noise) -> Whitened {
    let (n, p) = x.shape();
    let mut out = Whitened { x: x.clone(), y: y.clone(), log_det: 0.0 };
    let mut from = 0;
    while from < n {
        let to = from + seats[from..].iter().take_while(|s| s.run == seats[from].run).count();
        // R^(−1/2) by rows: what a lap says beyond the one before it.
        let mut ones = vec![1.0; to - from];
        for i in (from + 1..to).rev() {
            let lean = noise.phi.powi((seats[i].lap - seats[i - 1].lap) as i32);
            let own = (1.0 - lean * lean).sqrt();
            out.log_det += own.ln();
            for j in 0..p {
                out.x[(i, j)] = (out.x[(i, j)] - lean * out.x[(i - 1, j)]) / own;
            }
            out.y[i] = (out.y[i] - lean * out.y[i - 1]) / own;
            ones[i - from] = (1.0 - lean) / own;
        }
        // (I + τ² u uᵀ)^(−1/2) = I − a u uᵀ with u = R^(−1/2) 1.
        let u2: f64 = ones.iter().map(|u| u * u).sum();
        let grown = 1.0 + noise.tau * noise.tau * u2;
        let a = (1.0 - 1.0 / grown.sqrt()) / u2;
        out.log_det += 0.5 * grown.ln();
        if a > 0.0 {
            for j in 0..=p {
                let at = |out: &Whitened, i: usize| if j < p { out.x[(i, j)] } else { out.y[i] };
                let sum: f64 = (from..to).map(|i| ones[i - from] * at(&out, i)).sum();
                for i in from..to {
                    let less = a * ones[i - from] * sum;
                    if j < p { out.x[(i, j)] -= less } else { out.y[i] -= less }
                }
            }
        }
        from = to;
    }
    out
}

/// Sums of products of columns and right side, run by run, laps of a run freed of what each owes the one before: all that
/// any τ needs.
#[derive(Clone, Debug)]
pub struct Grams {
    phi: f64,
    log_det: f64,
    /// [X y]ᵀ[X y].
    all: DMatrix<f64>,
    /// Of each run: [X y]ᵀ u and uᵀu, u being the row of ones freed likewise.
    runs: Vec<(DVector<f64>, f64)>,
    rows: usize,
}

/// Least squares under one noise.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Solved {
    /// The coefficient that was asked for.
    pub effect: f64,
    /// Its variance in variances of a row.
    pub unit: f64,
    /// Weighed sum of squares that is left.
    pub rss: f64,
    /// ½ ln |V/σ²| + ½ ln |XᵀV⁻¹X|.
    pub log_det: f64,
}

impl Grams {
    /// Of rows that stand run by run, under the φ of this noise. The right side is best taken about its mean.
    pub fn of(x: &DMatrix<f64>, y: &DVector<f64>, seats: &[Seat], noise: Noise) -> Self {
        let p = x.ncols();
        let with_ones = x.clone().insert_column(p, 1.0);
        let white = whiten(&with_ones, &y.add_scalar(-y.mean()), seats, Noise { tau: 0.0, ..noise });
        let mut both = white.x.clone();
        both.set_column(p, &white.y);
        let mut runs = Vec::new();
        let mut from = 0;
        while from < seats.len() {
            let to = from + seats[from..].iter().take_while(|s| s.run == seats[from].run).count();
            let u = white.x.view((from, p), (to - from, 1));
            runs.push(((both.rows(from, to - from).transpose() * u).column(0).into_owned(), u.norm_squared()));
            from = to;
        }
        let all = both.transpose() * &both;
        Self { phi: noise.phi, log_det: white.log_det, all, runs, rows: seats.len() }
    }

    /// The φ that they are of.
    pub fn phi(&self) -> f64 {
        self.phi
    }

    /// With this τ, coefficient `of`; `None` where columns can't be told apart.
    pub fn solve(&self, tau: f64, of: usize) -> Option<Solved> {
        // (I + τ² u uᵀ)⁻¹ = I − τ²/(1 + τ² uᵀu) u uᵀ.
        let (mut all, mut log_det) = (self.all.clone(), self.log_det);
        for (products, u2) in &self.runs {
            let grown = 1.0 + tau * tau * u2;
            log_det += 0.5 * grown.ln();
            all.ger(-tau * tau / grown, products, products, 1.0);
        }
        let p = all.ncols() - 1;
        let (left, right) = (all.view((0, 0), (p, p)).into_owned(), all.view((0, p), (p, 1)).into_owned());
        let root = left.cholesky()?;
        let beta = root.solve(&right);
        let mut unit = DVector::zeros(p);
        unit[of] = 1.0;
        let unit = root.solve(&unit)[of];
        let rss = (all[(p, p)] - right.dot(&beta)).max(ROUNDING * self.rows as f64 * all[(p, p)]);
        log_det += root.l_dirty().diagonal().iter().map(|d| d.ln()).sum::<f64>();
        Some(Solved { effect: beta[of], unit, rss, log_det })
    }
}

/// What rounding leaves of a difference, as a share.
const ROUNDING: f64 = 1e-16;

/// What each run is off by, of these residuals, shrunk by what a stop may change: the best prediction of τ σ u, laps
/// taken as independent.
pub fn run_steps(residuals: &DVector<f64>, seats: &[Seat], tau: f64) -> DVector<f64> {
    let mut out = DVector::zeros(residuals.len());
    let mut from = 0;
    while from < seats.len() {
        let to = from + seats[from..].iter().take_while(|s| s.run == seats[from].run).count();
        let sum: f64 = (from..to).map(|i| residuals[i]).sum();
        let step = tau * tau * sum / (1.0 + tau * tau * (to - from) as f64);
        (from..to).for_each(|i| out[i] = step);
        from = to;
    }
    out
}
