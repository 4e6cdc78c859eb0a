//! The model brought to logged laps: what this car and driver did that day, by nonlinear least squares on speed over
//! distance.
//!
//! Every parameter is a factor on the car's own value, with a prior (what was believed before the log). The log moves a
//! factor as far as it can tell; what it can't tell stays at the prior, and is said to. Two factors that only act as a
//! product can't be told apart: the fit for the car's file ([`fit_told_apart`]) holds one of them where the file has
//! it, and what is found for the other is the product.

mod carried;
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
pub use predict::{Prediction, USUAL_SCATTER, predict, scatter};

use crate::made_track::lines::Lines;

use carried::{Off, Rested, variances};
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
    /// Its standard deviation: prior and log together, with what is held and, on a made track, with its line; the prior's for
    /// one that was held.
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
    /// Covariance of the factors by the laps, in the order of [`Knob::ALL`]; zero where one was held.
    pub covariance: Vec<Vec<f64>>,
    /// Inverse covariance of what was free, and of the shift.
    information: DMatrix<f64>,
    /// What is carried besides: factors that were held, and the line of a made track.
    carried: Vec<Off>,
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

/// Fits all factors to logged laps on a track; `lines` where that was made of positions.
///
/// # Errors
/// [`FitError`].
pub fn fit(course: &Course, car: &Car, laps: &[LoggedLap], lines: Option<&Lines>) -> Result<Fit, FitError> {
    fit_holding((course, lines), car, laps, &[], &START)
}

/// The fit of all factors, and the one in which those that this log can't tell (apart) are held where the car's file
/// has them: what that leaves open is in the others' deviations.
///
/// # Errors
/// [`FitError`].
pub fn fit_told_apart(
    course: &Course,
    car: &Car,
    laps: &[LoggedLap],
    lines: Option<&Lines>,
) -> Result<(Fit, Fit), FitError> {
    let all = fit(course, car, laps, lines)?;
    let mut held = to_hold(&all.information);
    if held.is_empty() {
        return Ok((all.clone(), all));
    }
    let mut start = START;
    start.iter_mut().zip(&all.found).for_each(|(x, f)| *x = f.factor);
    start[SHIFT] = all.shift_m.0;
    loop {
        let now = fit_holding((course, lines), car, laps, &held, &start)?;
        // What is carried may leave nothing of what the log tells.
        let free = now.found.iter().filter(|f| f.held.is_none() && f.told < TOLD);
        match free.min_by(|a, b| a.told.total_cmp(&b.told)) {
            Some(least) => held.push((least.knob, Because::Untold)),
            None => return Ok((all, now)),
        }
    }
}

/// What is to be held, one after the other, by what the fit of all knows of all together (its inverse covariance): of two that
/// are alike one, then what the log says little of.
fn to_hold(information: &DMatrix<f64>) -> Vec<(Knob, Because)> {
    let mut held: Vec<(Knob, Because)> = Vec::new();
    loop {
        let free: Vec<usize> =
            (0..=FACTORS).filter(|k| *k == SHIFT || held.iter().all(|h| h.0 != Knob::ALL[*k])).collect();
        let own = information.select_rows(&free).select_columns(&free);
        let Some(inverse) = own.try_inverse() else { return held };
        let covariance = spread_out(&inverse, &free);
        let of_pair = alike(&covariance).first().map(|pair| {
            let first = |k: Knob| HOLD.iter().position(|h| *h == k);
            if first(pair.a) < first(pair.b) {
                (pair.a, Because::With(pair.b))
            } else {
                (pair.b, Because::With(pair.a))
            }
        });
        let told = |k: usize| 1.0 - covariance[k][k] / Knob::ALL[k].prior_sd().powi(2);
        let untold = || {
            let least = free.iter().copied().filter(|k| *k != SHIFT).min_by(|a, b| told(*a).total_cmp(&told(*b)));
            least.filter(|k| told(*k) < TOLD).map(|k| (Knob::ALL[k], Because::Untold))
        };
        match of_pair.or_else(untold) {
            Some(next) => held.push(next),
            None => return held,
        }
    }
}

/// A matrix of the free ones as one of all, zero elsewhere.
fn spread_out(matrix: &DMatrix<f64>, free: &[usize]) -> Vec<Vec<f64>> {
    let mut all = vec![vec![0.0; FACTORS + 1]; FACTORS + 1];
    for (i, a) in free.iter().enumerate() {
        for (j, b) in free.iter().enumerate() {
            all[*a][*b] = matrix[(i, j)];
        }
    }
    all
}

/// The car as its file has it, and no shift.
const START: [f64; FACTORS + 1] = {
    let mut start = [1.0; FACTORS + 1];
    start[SHIFT] = 0.0;
    start
};

/// What a round stands on.
struct Normal {
    matrix: DMatrix<f64>,
    gradient: DVector<f64>,
}

/// A round's normal equations, the weights of the samples by their index, and the slopes of each free number at all of them.
type Round = (Normal, Vec<(usize, f64)>, Vec<Vec<f64>>);

fn fit_holding(
    (course, lines): (&Course, Option<&Lines>),
    car: &Car,
    laps: &[LoggedLap],
    held: &[(Knob, Because)],
    start: &[f64],
) -> Result<Fit, FitError> {
    if laps.is_empty() {
        return Err(FitError::NoLap);
    }
    let mut problem = Problem::new(course, car, laps);
    // The free factors, and last the shift of the log's places.
    let free: Vec<usize> = (0..FACTORS).filter(|k| held.iter().all(|h| h.0 != Knob::ALL[*k])).collect();
    let mean = START;
    let prior_sd: Vec<f64> = Knob::ALL.iter().map(|k| k.prior_sd()).chain([SHIFT_SD]).collect();
    let index: Vec<usize> = free.iter().copied().chain([SHIFT]).collect();
    let n = index.len();
    let mut x = mean.to_vec();
    index.iter().for_each(|k| x[*k] = start[*k]);
    let mut model = problem.model(&x)?;
    problem.leave_out_other_gears(&model, laps);
    let (mut rounds, mut settled) = (0, false);
    let (mut sd, mut worth) = (1.0, 1.0);
    let mut rested: Option<Round> = None;
    while rounds < ROUNDS && !settled {
        rounds += 1;
        let residuals = problem.residuals(&model.v);
        sd = robust_sd(&residuals);
        worth = repeats(&residuals, model.v.len(), sd);
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
        let mut weights = Vec::with_capacity(residuals.len());
        for &(i, r) in &residuals {
            let weight = (HUBER * sd / r.abs().max(1e-12)).min(1.0) / (sd * sd * worth);
            weights.push((i, weight));
            for a in 0..n {
                at.gradient[a] += weight * jacobian[a][i] * r;
                for b in 0..n {
                    at.matrix[(a, b)] += weight * jacobian[a][i] * jacobian[b][i];
                }
            }
        }
        let step = at.matrix.clone().cholesky().map(|c| c.solve(&at.gradient)).ok_or(FitError::Unsettled)?;
        rested = Some((at, weights, jacobian));
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
    let (normal, weights, jacobian) = rested.ok_or(FitError::Unsettled)?;
    let inverse = normal.matrix.clone().try_inverse().ok_or(FitError::Unsettled)?;
    let scores = problem.scores(&model.v, &weights, &jacobian);
    let at =
        Rested { problem: &problem, x: &x, index: &index, normal: &normal, weights: &weights, jacobian: &jacobian };
    let wider = carried::wider(&at, &inverse, &scores, &prior_sd);
    let scaled = DMatrix::from_fn(n, n, |i, j| wider[i] * wider[j] * inverse[(i, j)]);
    let covariance = spread_out(&scaled, &index);
    let by_held = at.by_held(held)?;
    let (by_line, rough) = match lines {
        Some(lines) => at.by_line(lines, &model).map(|(all, rough)| (all, Some(rough)))?,
        None => (Vec::new(), None),
    };
    let more = variances(&x, &by_held, held, &by_line);
    let (s_m, residuals_mps, left_out) = problem.leftovers(&model.v);
    Ok(Fit {
        found: factors(&x, &covariance, &more, held),
        alike: alike(&covariance),
        information: normal.matrix.clone(),
        carried: by_held.into_iter().chain(by_line).chain(rough).collect(),
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

fn factors(x: &[f64], covariance: &[Vec<f64>], more: &[f64], held: &[(Knob, Because)]) -> Vec<FittedFactor> {
    let of = |(k, &knob): (usize, &Knob)| {
        let held = held.iter().find(|h| h.0 == knob).map(|h| h.1);
        let sd = if held.is_some() { knob.prior_sd() } else { (covariance[k][k] + more[k]).max(0.0).sqrt() };
        FittedFactor { knob, factor: x[k], sd, told: (1.0 - (sd / knob.prior_sd()).powi(2)).max(0.0), held }
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
