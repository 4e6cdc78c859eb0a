//! The model brought to logged laps: what this car and driver did that day, by nonlinear least squares on speed over distance.
//!
//! Every parameter is a factor on the car's own value, with a prior (what was believed before the log). The log moves a factor as far as it
//! can tell; what it can't tell stays at the prior, and is said to.

use nalgebra::{DMatrix, DVector};
use rayon::prelude::*;
use unladen_lap::{Course, LapError, Row};
use unladen_vehicle::Car;

/// What is fitted: a factor on a value of the car.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Knob {
    /// The day's grip along the car: all tyres' μ_x.
    GripLong,
    /// The day's grip across the car: all tyres' μ_y.
    GripLat,
    /// The engine's torque.
    Power,
    /// C_dA.
    Drag,
    /// c_rr.
    Rolling,
    /// Share of the envelope used in corners.
    UseCornering,
    /// Share of it used under braking.
    UseBraking,
    /// Share of it used under power.
    UseTraction,
}

impl Knob {
    /// All, in the order of tables.
    pub const ALL: [Knob; 8] = [
        Knob::GripLong,
        Knob::GripLat,
        Knob::Power,
        Knob::Drag,
        Knob::Rolling,
        Knob::UseCornering,
        Knob::UseBraking,
        Knob::UseTraction,
    ];

    /// Its key in JSON.
    pub fn key(self) -> &'static str {
        match self {
            Knob::GripLong => "grip_long",
            Knob::GripLat => "grip_lat",
            Knob::Power => "power_factor",
            Knob::Drag => "drag_area",
            Knob::Rolling => "rolling_resistance",
            Knob::UseCornering => "use_cornering",
            Knob::UseBraking => "use_braking",
            Knob::UseTraction => "use_traction",
        }
    }

    /// Standard deviation of the factor before any log. Judgement, not measurement: what an owner's figures are usually off by.
    pub fn prior_sd(self) -> f64 {
        match self {
            Knob::GripLong | Knob::GripLat => 0.08,
            Knob::Power => 0.06,
            Knob::Drag => 0.15,
            Knob::Rolling => 0.25,
            Knob::UseCornering | Knob::UseBraking | Knob::UseTraction => 0.05,
        }
    }

    /// The car with this factor applied.
    pub fn apply(self, car: &mut Car, factor: f64) {
        match self {
            Knob::GripLong => [&mut car.front, &mut car.rear].into_iter().for_each(|t| {
                t.mu_x0 *= factor;
                t.k_x *= factor;
            }),
            Knob::GripLat => [&mut car.front, &mut car.rear].into_iter().for_each(|t| {
                t.mu_y0 *= factor;
                t.k_y *= factor;
            }),
            Knob::Power => car.engine.power *= factor,
            Knob::Drag => car.aero.cd_a *= factor,
            Knob::Rolling => car.aero.c_rr *= factor,
            Knob::UseCornering => car.driver.cornering *= factor,
            Knob::UseBraking => car.driver.braking *= factor,
            Knob::UseTraction => car.driver.traction *= factor,
        }
    }
}

/// A logged lap: speed over distance.
#[derive(Clone, Debug, Default)]
pub struct LoggedLap {
    /// Distance from the track's start, m in plan, rising.
    pub s_m: Vec<f64>,
    /// m/s.
    pub v_mps: Vec<f64>,
    /// Lap time by the log, s; NaN unknown.
    pub time_s: f64,
}

/// A factor found.
#[derive(Clone, Copy, Debug)]
pub struct Found {
    /// Which.
    pub knob: Knob,
    /// The factor.
    pub factor: f64,
    /// Its standard deviation, prior and log together.
    pub sd: f64,
    /// The log told this share of what was unknown: 1 − (sd/prior sd)².
    pub told: f64,
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
    pub found: Vec<Found>,
    /// Pairs whose correlation is beyond ±0.9, strongest first.
    pub alike: Vec<Alike>,
    /// Covariance of the factors, in the order of [`Knob::ALL`].
    pub covariance: Vec<Vec<f64>>,
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

/// Distance between stations, m.
const STATION: f64 = 8.0;
/// Distance between the solver's stations in a fit, m.
const STEP: f64 = 5.0;
/// Step of a factor for its derivative.
const NUDGE: f64 = 4e-3;
/// Rounds at most.
const ROUNDS: usize = 12;
/// Residuals further out than this many standard deviations count less (P. J. Huber, Ann. Math. Stat. 35, 1964: k = 1.5 to 2).
const HUBER: f64 = 2.0;

/// The car with all factors applied.
pub fn applied(car: &Car, factors: &[f64]) -> Car {
    let mut car = car.clone();
    Knob::ALL.iter().zip(factors).for_each(|(k, f)| k.apply(&mut car, *f));
    car
}

/// v at a distance between rows: v² linear.
fn speed_at(rows: &[Row], s: f64) -> f64 {
    let i = rows.partition_point(|r| r.s <= s).clamp(1, rows.len() - 1);
    let (a, b) = (&rows[i - 1], &rows[i]);
    let share = ((s - a.s) / (b.s - a.s).max(1e-9)).clamp(0.0, 1.0);
    (a.v * a.v + share * (b.v * b.v - a.v * a.v)).max(0.0).sqrt()
}

fn linear(x: &[f64], y: &[f64], at: f64) -> Option<f64> {
    let i = x.partition_point(|v| *v <= at);
    if i == 0 || i >= x.len() || x[i] - x[i - 1] > 60.0 {
        return None;
    }
    let share = (at - x[i - 1]) / (x[i] - x[i - 1]).max(1e-9);
    Some(y[i - 1] + share * (y[i] - y[i - 1]))
}

struct Problem<'a> {
    course: &'a Course,
    car: &'a Car,
    s: Vec<f64>,
    /// Speeds of each lap at each station; NaN for none.
    seen: Vec<Vec<f64>>,
}

impl Problem<'_> {
    fn model(&self, factors: &[f64]) -> Result<Vec<f64>, LapError> {
        let lap = self.course.lap(&applied(self.car, factors))?;
        let rows = self.course.trace(&lap);
        Ok(self.s.iter().map(|s| speed_at(&rows, *s)).collect())
    }

    fn residuals(&self, model: &[f64]) -> Vec<(usize, f64)> {
        let lap = |seen: &Vec<f64>| -> Vec<(usize, f64)> {
            seen.iter()
                .zip(model)
                .enumerate()
                .filter(|(_, (v, _))| v.is_finite())
                .map(|(i, (v, m))| (i, v - m))
                .collect()
        };
        self.seen.iter().flat_map(lap).collect()
    }

    /// Derivatives of the model's speeds, by differences to both sides.
    fn jacobian(&self, factors: &[f64]) -> Result<Vec<Vec<f64>>, LapError> {
        (0..factors.len())
            .into_par_iter()
            .map(|k| {
                let at = |sign: f64| {
                    let mut moved = factors.to_vec();
                    moved[k] += sign * NUDGE;
                    self.model(&moved)
                };
                let (up, down) = (at(1.0)?, at(-1.0)?);
                Ok(up.iter().zip(&down).map(|(a, b)| (a - b) / (2.0 * NUDGE)).collect())
            })
            .collect()
    }
}

fn robust_sd(residuals: &[(usize, f64)]) -> f64 {
    let mut sizes: Vec<f64> = residuals.iter().map(|r| r.1.abs()).collect();
    sizes.sort_by(f64::total_cmp);
    (1.482_6 * sizes.get(sizes.len() / 2).copied().unwrap_or(1.0)).max(0.02)
}

/// 1 + 2 Σ ρ of neighbouring residuals of a lap, while they are alike.
fn repeats(residuals: &[(usize, f64)], sd: f64) -> f64 {
    let clipped: Vec<(usize, f64)> = residuals.iter().map(|r| (r.0, r.1.clamp(-3.0 * sd, 3.0 * sd))).collect();
    let variance = clipped.iter().map(|r| r.1 * r.1).sum::<f64>() / clipped.len().max(1) as f64;
    let mut sum = 1.0;
    for lag in 1..60.min(clipped.len() / 3) {
        let pairs = clipped.iter().zip(&clipped[lag..]).filter(|(a, b)| b.0 == a.0 + lag);
        let (n, total) = pairs.fold((0, 0.0), |(n, t), (a, b)| (n + 1, t + a.1 * b.1));
        let rho = total / (f64::from(n.max(1)) * variance.max(1e-12));
        if rho < 2.0 / f64::from(n.max(1)).sqrt() {
            break;
        }
        sum += 2.0 * rho;
    }
    sum
}

/// Fits the car to logged laps on a track.
///
/// # Errors
/// [`FitError`].
pub fn fit(course: &Course, car: &Car, laps: &[LoggedLap]) -> Result<Fit, FitError> {
    if laps.is_empty() {
        return Err(FitError::NoLap);
    }
    let coarse = Course::with_step(course.track(), STEP);
    let length = course.track().length();
    let count = (length / STATION) as usize;
    let s: Vec<f64> = (0..count).map(|i| (i as f64 + 0.5) * length / count as f64).collect();
    let seen: Vec<Vec<f64>> =
        laps.iter().map(|l| s.iter().map(|s| linear(&l.s_m, &l.v_mps, *s).unwrap_or(f64::NAN)).collect()).collect();
    let problem = Problem { course: &coarse, car, s, seen };
    let n = Knob::ALL.len();
    let prior = DMatrix::from_diagonal(&DVector::from_fn(n, |k, _| Knob::ALL[k].prior_sd().powi(-2)));
    let mut factors = vec![1.0; n];
    let mut model = problem.model(&factors)?;
    let (mut rounds, mut settled) = (0, false);
    let mut normal = prior.clone();
    let (mut sd, mut worth) = (1.0, 1.0);
    while rounds < ROUNDS && !settled {
        rounds += 1;
        let residuals = problem.residuals(&model);
        sd = robust_sd(&residuals);
        worth = repeats(&residuals, sd);
        let jacobian = problem.jacobian(&factors)?;
        let cost = |model: &[f64], factors: &[f64]| -> f64 {
            let rho = |r: f64| if r.abs() <= HUBER { 0.5 * r * r } else { HUBER * (r.abs() - 0.5 * HUBER) };
            let data: f64 = problem.residuals(model).iter().map(|(_, r)| rho(r / sd)).sum();
            let before: f64 =
                factors.iter().zip(Knob::ALL).map(|(f, k)| 0.5 * ((f - 1.0) / k.prior_sd()).powi(2)).sum();
            data / worth + before
        };
        normal = prior.clone();
        let mut gradient = DVector::from_fn(n, |k, _| -(factors[k] - 1.0) * Knob::ALL[k].prior_sd().powi(-2));
        for &(i, r) in &residuals {
            let weight = (HUBER * sd / r.abs().max(1e-12)).min(1.0) / (sd * sd * worth);
            for a in 0..n {
                gradient[a] += weight * jacobian[a][i] * r;
                for b in 0..n {
                    normal[(a, b)] += weight * jacobian[a][i] * jacobian[b][i];
                }
            }
        }
        let Some(step) = normal.clone().cholesky().map(|c| c.solve(&gradient)) else { return Err(FitError::Unsettled) };
        let now = cost(&model, &factors);
        let mut share = 1.0;
        loop {
            let tried: Vec<f64> =
                factors.iter().zip(step.iter()).map(|(f, d)| (f + share * d).clamp(0.3, 3.0)).collect();
            if let Ok(new) = problem.model(&tried)
                && cost(&new, &tried) <= now + 1e-9
            {
                let moved = tried.iter().zip(&factors).zip(Knob::ALL).map(|((a, b), k)| ((a - b) / k.prior_sd()).abs());
                settled = moved.fold(0.0, f64::max) < 0.01;
                (factors, model) = (tried, new);
                break;
            }
            share *= 0.5;
            if share < 1e-3 {
                settled = true;
                break;
            }
        }
    }
    let Some(covariance) = normal.try_inverse() else { return Err(FitError::Unsettled) };
    Ok(report(&problem, factors, model, &covariance, (sd, worth), (rounds, settled)))
}

fn report(
    problem: &Problem,
    factors: Vec<f64>,
    model: Vec<f64>,
    covariance: &DMatrix<f64>,
    (sd, repeats): (f64, f64),
    (rounds, settled): (usize, bool),
) -> Fit {
    let n = factors.len();
    let own = |k: usize| covariance[(k, k)].max(0.0).sqrt();
    let found = (0..n)
        .map(|k| {
            let knob = Knob::ALL[k];
            Found { knob, factor: factors[k], sd: own(k), told: 1.0 - (own(k) / knob.prior_sd()).powi(2) }
        })
        .collect();
    let mut alike = Vec::new();
    for a in 0..n {
        for b in 0..a {
            let correlation = covariance[(a, b)] / (own(a) * own(b)).max(1e-300);
            if correlation.abs() > 0.9 {
                alike.push(Alike { a: Knob::ALL[b], b: Knob::ALL[a], correlation });
            }
        }
    }
    alike.sort_by(|a, b| b.correlation.abs().total_cmp(&a.correlation.abs()));
    let mut sums = vec![(0.0, 0.0); model.len()];
    problem.residuals(&model).iter().for_each(|(i, r)| {
        sums[*i].0 += r;
        sums[*i].1 += 1.0;
    });
    Fit {
        found,
        alike,
        covariance: (0..n).map(|a| (0..n).map(|b| covariance[(a, b)]).collect()).collect(),
        residual_mps: sd,
        repeats,
        s_m: problem.s.clone(),
        residuals_mps: sums.iter().map(|(r, n)| if *n > 0.0 { r / n } else { f64::NAN }).collect(),
        model_mps: model,
        rounds,
        settled,
    }
}

/// How well a fitted car predicts a lap that it was not fitted to.
#[derive(Clone, Copy, Debug)]
pub struct Prediction {
    /// Lap time of the model, s.
    pub model_s: f64,
    /// Lap time by the log, s.
    pub logged_s: f64,
    /// Standard deviation of (log − model) speed, m/s.
    pub speed_mps: f64,
}

impl Fit {
    /// The fitted car.
    pub fn car(&self, car: &Car) -> Car {
        applied(car, &self.found.iter().map(|f| f.factor).collect::<Vec<_>>())
    }

    /// A held-out lap against the fitted car.
    ///
    /// # Errors
    /// [`LapError`].
    pub fn predict(&self, course: &Course, car: &Car, lap: &LoggedLap) -> Result<Prediction, LapError> {
        let solved = course.lap(&self.car(car))?;
        let rows = course.trace(&solved);
        let off: Vec<f64> = lap.s_m.iter().zip(&lap.v_mps).map(|(s, v)| v - speed_at(&rows, *s)).collect();
        let square = off.iter().map(|r| r * r).sum::<f64>() / off.len().max(1) as f64;
        Ok(Prediction { model_s: solved.time, logged_s: lap.time_s, speed_mps: square.sqrt() })
    }
}
