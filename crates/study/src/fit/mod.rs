//! The model brought to logged laps: what this car and driver did that day, by nonlinear least squares on speed over
//! distance.
//!
//! Every parameter is a factor on the car's own value, with a prior (what was believed before the log). The log moves a
//! factor as far as it can tell; what it can't tell stays at the prior, and is said to. Two factors that only act as a
//! product can't be told apart: the fit for the car's file ([`fit_told_apart`]) holds one of them where the file has
//! it, and what is found for the other is the product.

mod gears;
mod knob;
mod left_out;
mod predict;
mod problem;

use nalgebra::{DMatrix, DVector};
use unladen_lap::{Course, LapError};
use unladen_vehicle::Car;

pub use gears::{Gearing, gear_of, gearing};
pub use knob::{Knob, applied};
pub use left_out::{LeftOut, Why};
pub use predict::{Prediction, predict};

use problem::{FACTORS, Problem, SHIFT, SHIFT_SD, repeats, robust_sd};

/// A logged lap: speed over distance.
#[derive(Clone, Debug, Default)]
pub struct LoggedLap {
    /// Distance from the track's start, m in plan, rising.
    pub s_m: Vec<f64>,
    /// m/s.
    pub v_mps: Vec<f64>,
    /// Gear at each, 0 for not known; empty where none is logged.
    pub gear: Vec<u8>,
    /// Lap time by the log, s; NaN unknown.
    pub time_s: f64,
}

/// A factor found.
#[derive(Clone, Copy, Debug)]
pub struct FittedFactor {
    /// Which.
    pub knob: Knob,
    /// The factor.
    pub factor: f64,
    /// Its standard deviation, prior and log together; the prior's for one that was held.
    pub sd: f64,
    /// The log told this share of what was unknown: 1 − (sd/prior sd)².
    pub told: f64,
    /// Held at 1, and why.
    pub held: Option<Because>,
}

/// Why a factor is held where the car's file has it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Because {
    /// It acts together with another, which takes what is found of both.
    With(Knob),
    /// The log says little of it.
    Untold,
}

/// Factors that this log can't tell apart: only a mix of them is known.
#[derive(Clone, Copy, Debug)]
pub struct Alike {
    /// One.
    pub a: Knob,
    /// The other.
    pub b: Knob,
    /// Their correlation.
    pub correlation: f64,
}

/// A fit.
#[derive(Clone, Debug)]
pub struct Fit {
    /// Every factor.
    pub found: Vec<FittedFactor>,
    /// Pairs whose correlation is beyond ±0.9, strongest first.
    pub alike: Vec<Alike>,
    /// Covariance of the factors, in the order of [`Knob::ALL`]; zero where one was held.
    pub covariance: Vec<Vec<f64>>,
    /// How far the log's places lie behind the track's, m, and its standard deviation.
    pub shift_m: (f64, f64),
    /// Stretches that were not used.
    pub left_out: Vec<LeftOut>,
    /// Standard deviation of speed about the model, m/s.
    pub residual_mps: f64,
    /// Of how many neighbours one residual is worth.
    pub repeats: f64,
    /// Stations, m.
    pub s_m: Vec<f64>,
    /// Mean of (log − model) at each station, m/s.
    pub residuals_mps: Vec<f64>,
    /// Speed of the model at each station, m/s.
    pub model_mps: Vec<f64>,
    /// Rounds that it took.
    pub rounds: usize,
    /// It came to rest.
    pub settled: bool,
}

/// Why there is no fit.
#[derive(Debug, thiserror::Error)]
pub enum FitError {
    /// No lap to fit to.
    #[error("no lap to fit to; at least one beside the one that is held out is needed")]
    NoLap,
    /// The model can't lap.
    #[error("the car as its file has it can't lap here: {0}")]
    Lap(#[from] LapError),
    /// The derivatives make no sense.
    #[error(
        "the fit does not settle: the log and the model differ too much; is it this car, this track, this direction?"
    )]
    Unsettled,
}

/// No factor leaves this range.
const FACTOR_RANGE: (f64, f64) = (0.3, 3.0);
/// A cost that rises by less than this has not risen.
const COST_ROUNDING: f64 = 1e-9;
/// The fit is at rest when no parameter moves by more than this share of its prior's standard deviation.
const AT_REST: f64 = 0.01;
/// Least share of a step that is tried.
const LEAST_STEP: f64 = 1e-3;
/// Rounds at most.
const ROUNDS: usize = 12;
/// Residuals further out than this many standard deviations count less (P. J. Huber, Ann. Math. Stat. 35, 1964: k = 1.5
/// to 2; from memory).
const HUBER: f64 = 2.0;
/// From this correlation on two factors are not told apart.
const ALIKE: f64 = 0.9;
/// A factor of which the log tells less than this share is held.
const TOLD: f64 = 0.5;
/// Which of two that are alike is held: the driver's use before the car's grip, small forces before large ones.
const HOLD: [Knob; FACTORS] = [
    Knob::UseCornering,
    Knob::UseBraking,
    Knob::UseTraction,
    Knob::Rolling,
    Knob::Drag,
    Knob::Power,
    Knob::GripLong,
    Knob::GripLat,
];

/// Fits all factors to logged laps on a track.
///
/// # Errors
/// [`FitError`].
pub fn fit(course: &Course, car: &Car, laps: &[LoggedLap]) -> Result<Fit, FitError> {
    fit_holding(course, car, laps, &[])
}

/// The fit of all factors, and the one in which those that this log can't tell (apart) are held where the car's file
/// has them.
///
/// # Errors
/// [`FitError`].
pub fn fit_told_apart(course: &Course, car: &Car, laps: &[LoggedLap]) -> Result<(Fit, Fit), FitError> {
    let all = fit(course, car, laps)?;
    let mut held: Vec<(Knob, Because)> = Vec::new();
    let mut now = all.clone();
    while held.len() < FACTORS {
        let of_pair = now.alike.first().map(|pair| {
            let first = |k: Knob| HOLD.iter().position(|h| *h == k);
            if first(pair.a) < first(pair.b) {
                (pair.a, Because::With(pair.b))
            } else {
                (pair.b, Because::With(pair.a))
            }
        });
        let untold = || {
            let free = now.found.iter().filter(|f| f.held.is_none() && f.told < TOLD);
            free.min_by(|a, b| a.told.total_cmp(&b.told)).map(|f| (f.knob, Because::Untold))
        };
        let Some(next) = of_pair.or_else(untold) else { break };
        held.push(next);
        now = fit_holding(course, car, laps, &held)?;
    }
    // A use of grip that is held makes the other a product, which is known as well as it is said. Drag or rolling
    // resistance that are held are not known: what goes with them is as uncertain as in the fit of all.
    for f in now.found.iter_mut().filter(|f| f.held.is_none()) {
        let uses = [Knob::UseCornering, Knob::UseBraking, Knob::UseTraction];
        if held.iter().any(|h| h.1 == Because::With(f.knob) && !uses.contains(&h.0))
            && let Some(free) = all.found.iter().find(|g| g.knob == f.knob)
        {
            (f.sd, f.told) = (free.sd, free.told);
        }
    }
    Ok((all, now))
}

/// What a round stands on.
struct Normal {
    matrix: DMatrix<f64>,
    gradient: DVector<f64>,
}

fn fit_holding(course: &Course, car: &Car, laps: &[LoggedLap], held: &[(Knob, Because)]) -> Result<Fit, FitError> {
    if laps.is_empty() {
        return Err(FitError::NoLap);
    }
    let mut problem = Problem::new(course, car, laps);
    // The free factors, and last the shift of the log's places.
    let free: Vec<usize> = (0..FACTORS).filter(|k| held.iter().all(|h| h.0 != Knob::ALL[*k])).collect();
    let mean = [1.0; FACTORS].into_iter().chain([0.0]).collect::<Vec<f64>>();
    let prior_sd: Vec<f64> = Knob::ALL.iter().map(|k| k.prior_sd()).chain([SHIFT_SD]).collect();
    let index: Vec<usize> = free.iter().copied().chain([SHIFT]).collect();
    let n = index.len();
    let mut x = mean.clone();
    let mut model = problem.model(&x)?;
    problem.leave_out_other_gears(&model, laps);
    let (mut rounds, mut settled) = (0, false);
    let (mut sd, mut worth) = (1.0, 1.0);
    let mut normal = DMatrix::identity(n, n);
    while rounds < ROUNDS && !settled {
        rounds += 1;
        let residuals = problem.residuals(&model.v);
        sd = robust_sd(&residuals);
        worth = repeats(&residuals, sd);
        let jacobian = problem.jacobian(&x, &index)?;
        let cost = |v: &[f64], x: &[f64]| -> f64 {
            let rho = |r: f64| if r.abs() <= HUBER { 0.5 * r * r } else { HUBER * (r.abs() - 0.5 * HUBER) };
            let data: f64 = problem.residuals(v).iter().map(|(_, r)| rho(r / sd)).sum();
            let before: f64 = index.iter().map(|k| 0.5 * ((x[*k] - mean[*k]) / prior_sd[*k]).powi(2)).sum();
            data / worth + before
        };
        let mut at = Normal {
            matrix: DMatrix::from_diagonal(&DVector::from_fn(n, |i, _| prior_sd[index[i]].powi(-2))),
            gradient: DVector::from_fn(n, |i, _| -(x[index[i]] - mean[index[i]]) * prior_sd[index[i]].powi(-2)),
        };
        for &(i, r) in &residuals {
            let weight = (HUBER * sd / r.abs().max(1e-12)).min(1.0) / (sd * sd * worth);
            for a in 0..n {
                at.gradient[a] += weight * jacobian[a][i] * r;
                for b in 0..n {
                    at.matrix[(a, b)] += weight * jacobian[a][i] * jacobian[b][i];
                }
            }
        }
        let step = at.matrix.clone().cholesky().map(|c| c.solve(&at.gradient)).ok_or(FitError::Unsettled)?;
        normal = at.matrix;
        let now = cost(&model.v, &x);
        let mut share = 1.0;
        loop {
            let mut tried = x.clone();
            for (i, k) in index.iter().enumerate() {
                tried[*k] += share * step[i];
            }
            tried[..FACTORS].iter_mut().for_each(|f| *f = f.clamp(FACTOR_RANGE.0, FACTOR_RANGE.1));
            if let Ok(new) = problem.model(&tried)
                && cost(&new.v, &tried) <= now + COST_ROUNDING
            {
                settled = index.iter().all(|k| (tried[*k] - x[*k]).abs() < AT_REST * prior_sd[*k]);
                (x, model) = (tried, new);
                break;
            }
            share *= 0.5;
            if share < LEAST_STEP {
                settled = true;
                break;
            }
        }
    }
    let inverse = normal.try_inverse().ok_or(FitError::Unsettled)?;
    let mut covariance = vec![vec![0.0; FACTORS + 1]; FACTORS + 1];
    for (i, a) in index.iter().enumerate() {
        for (j, b) in index.iter().enumerate() {
            covariance[*a][*b] = inverse[(i, j)];
        }
    }
    let (s_m, residuals_mps, left_out) = problem.leftovers(&model.v);
    Ok(Fit {
        found: factors(&x, &covariance, held),
        alike: alike(&covariance),
        shift_m: (x[SHIFT], covariance[SHIFT][SHIFT].max(0.0).sqrt()),
        covariance: covariance[..FACTORS].iter().map(|row| row[..FACTORS].to_vec()).collect(),
        left_out,
        residual_mps: sd,
        repeats: worth,
        s_m,
        residuals_mps,
        model_mps: model.v,
        rounds,
        settled,
    })
}

fn factors(x: &[f64], covariance: &[Vec<f64>], held: &[(Knob, Because)]) -> Vec<FittedFactor> {
    let of = |(k, &knob): (usize, &Knob)| {
        let held = held.iter().find(|h| h.0 == knob).map(|h| h.1);
        let sd = if held.is_some() { knob.prior_sd() } else { covariance[k][k].max(0.0).sqrt() };
        FittedFactor { knob, factor: x[k], sd, told: 1.0 - (sd / knob.prior_sd()).powi(2), held }
    };
    Knob::ALL.iter().enumerate().map(of).collect()
}

fn alike(covariance: &[Vec<f64>]) -> Vec<Alike> {
    let mut all = Vec::new();
    for a in 0..FACTORS {
        for b in 0..a {
            let size = (covariance[a][a] * covariance[b][b]).sqrt();
            let correlation = if size > 0.0 { covariance[a][b] / size } else { 0.0 };
            if correlation.abs() > ALIKE {
                all.push(Alike { a: Knob::ALL[b], b: Knob::ALL[a], correlation });
            }
        }
    }
    all.sort_by(|a, b| b.correlation.abs().total_cmp(&a.correlation.abs()));
    all
}

impl Fit {
    /// The fitted car.
    pub fn car(&self, car: &Car) -> Car {
        applied(car, &self.found.iter().map(|f| f.factor).collect::<Vec<_>>())
    }
}
