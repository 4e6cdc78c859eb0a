//! The least-squares problem of a fit: the model's speed at even stations, what each lap says there, and derivatives.

use unladen_lap::{Course, LapError, Row};
use unladen_vehicle::Car;

use super::LoggedLap;
use super::knob::{Knob, applied};
use super::left_out::{LeftOut, mistakes, other_gears};

use crate::threads::each_of;

/// What is fitted: the factors, in the order of [`Knob::ALL`], and behind them the shift.
pub(super) const FACTORS: usize = Knob::ALL.len();
pub(super) const SHIFT: usize = FACTORS;
/// A log is silent across a gap of more than this, m.
pub(super) const GAP: f64 = 60.0;
/// Distance between stations, m.
const STATION: f64 = 8.0;
/// Step of a factor for its derivative, and of the shift, m.
const NUDGE: f64 = 4e-3;
/// Standard deviation of how far the log's places may lie behind the track's, m: positions and the start line together.
/// Judgement.
pub(super) const SHIFT_SD: f64 = 1.5;

/// The model at the stations.
pub(super) struct Modelled {
    /// Lap time, s.
    pub(super) time_s: f64,
    /// Speed, m/s.
    pub(super) v: Vec<f64>,
    /// Gear.
    pub(super) gear: Vec<u8>,
    /// Whether it brakes there.
    pub(super) brakes: Vec<bool>,
}

pub(super) struct Problem<'a> {
    course: Course,
    car: &'a Car,
    s: Vec<f64>,
    /// Speeds of each lap at each station; NaN for none.
    seen: Vec<Vec<f64>>,
    left_out: Vec<LeftOut>,
}

/// The row before a distance, and how far it is to the next, 0 to 1.
fn between(rows: &[Row], s: f64) -> (usize, f64) {
    let i = rows.partition_point(|r| r.s <= s).clamp(1, rows.len() - 1);
    let (a, b) = (&rows[i - 1], &rows[i]);
    (i - 1, ((s - a.s) / (b.s - a.s).max(1e-9)).clamp(0.0, 1.0))
}

/// v at a distance between rows: v² linear.
pub(super) fn speed_at(rows: &[Row], s: f64) -> f64 {
    let (i, share) = between(rows, s);
    let (a, b) = (rows[i].v, rows[i + 1].v);
    (a * a + share * (b * b - a * a)).max(0.0).sqrt()
}

fn linear(x: &[f64], y: &[f64], at: f64) -> Option<f64> {
    let i = x.partition_point(|v| *v <= at);
    if i == 0 || i >= x.len() || x[i] - x[i - 1] > GAP {
        return None;
    }
    let share = (at - x[i - 1]) / (x[i] - x[i - 1]).max(1e-9);
    Some(y[i - 1] + share * (y[i] - y[i - 1]))
}

impl<'a> Problem<'a> {
    pub(super) fn new(course: &Course, car: &'a Car, laps: &[LoggedLap]) -> Self {
        let length = course.track().length();
        let count = ((length / STATION) as usize).max(2);
        let s: Vec<f64> = (0..count).map(|i| (i as f64 + 0.5) * length / count as f64).collect();
        let at = |l: &LoggedLap| s.iter().map(|s| linear(&l.s_m, &l.v_mps, *s).unwrap_or(f64::NAN)).collect();
        let mut seen: Vec<Vec<f64>> = laps.iter().map(at).collect();
        let left_out = mistakes(&s, &mut seen);
        Self { course: course.clone(), car, s, seen, left_out }
    }

    /// Where a driver is long in another gear than the model, power and drag are not what speed tells.
    pub(super) fn leave_out_other_gears(&mut self, model: &Modelled, laps: &[LoggedLap]) {
        let new = other_gears(&self.s, &mut self.seen, model, laps);
        self.left_out.extend(new);
    }

    /// The model with these factors, at the stations moved by the shift (last in `x`).
    pub(super) fn model(&self, x: &[f64]) -> Result<Modelled, LapError> {
        self.model_on(&self.course, x)
    }

    /// The same on another course, its stations at the same shares of the way.
    pub(super) fn model_on(&self, course: &Course, x: &[f64]) -> Result<Modelled, LapError> {
        let lap = course.lap(&applied(self.car, &x[..FACTORS]))?;
        let rows = lap.trace();
        let track = course.track();
        let scale = track.length() / self.course.track().length();
        let place = |s: &f64| {
            let s = scale * (s - x[SHIFT]);
            if track.closed { s.rem_euclid(track.length()) } else { s }
        };
        let at = |of: &dyn Fn(f64) -> f64| self.s.iter().map(|s| of(place(s))).collect::<Vec<f64>>();
        let row = |s: f64| &rows[between(&rows, s).0];
        Ok(Modelled {
            time_s: lap.time,
            v: at(&|s| speed_at(&rows, s)),
            gear: self.s.iter().map(|s| row(place(s)).gear).collect(),
            brakes: self.s.iter().map(|s| row(place(s)).a_x < -1.0).collect(),
        })
    }

    pub(super) fn residuals(&self, model: &[f64]) -> Vec<(usize, f64)> {
        let lap = |seen: &Vec<f64>| -> Vec<(usize, f64)> {
            let all = seen.iter().zip(model).enumerate().filter(|(_, (v, _))| v.is_finite());
            all.map(|(i, (v, m))| (i, v - m)).collect()
        };
        self.seen.iter().flat_map(lap).collect()
    }

    /// Derivatives of the model's speeds, by differences to both sides.
    pub(super) fn jacobian(&self, x: &[f64], index: &[usize]) -> Result<Vec<Vec<f64>>, LapError> {
        let by = |&k: &usize| {
            let nudge = if k < FACTORS { NUDGE } else { 100.0 * NUDGE };
            let at = |sign: f64| {
                let mut moved = x.to_vec();
                moved[k] += sign * nudge;
                self.model(&moved)
            };
            let (up, down) = (at(1.0)?, at(-1.0)?);
            Ok(up.v.iter().zip(&down.v).map(|(a, b)| (a - b) / (2.0 * nudge)).collect())
        };
        each_of(index, by).into_iter().collect()
    }

    /// What the readings of each station pull at each parameter: their weighted residuals by its derivative.
    pub(super) fn scores(&self, model: &[f64], weights: &[(usize, f64)], jacobian: &[Vec<f64>]) -> Vec<Vec<f64>> {
        let mut pulls = vec![0.0; model.len()];
        self.residuals(model).iter().zip(weights).for_each(|((i, r), (_, weight))| pulls[*i] += weight * r);
        jacobian.iter().map(|by| by.iter().zip(&pulls).map(|(slope, pull)| slope * pull).collect()).collect()
    }

    /// Stations, the mean of (log − model) at each, and what was left out.
    pub(super) fn leftovers(self, model: &[f64]) -> (Vec<f64>, Vec<f64>, Vec<LeftOut>) {
        let mut sums = vec![(0.0, 0.0); model.len()];
        self.residuals(model).iter().for_each(|(i, r)| sums[*i] = (sums[*i].0 + r, sums[*i].1 + 1.0));
        let mean = sums.iter().map(|(r, n)| if *n > 0.0 { r / n } else { f64::NAN }).collect();
        (self.s, mean, self.left_out)
    }
}

/// Standard deviation by the median of the sizes.
pub(super) fn robust_sd(residuals: &[(usize, f64)]) -> f64 {
    let mut sizes: Vec<f64> = residuals.iter().map(|r| r.1.abs()).collect();
    sizes.sort_by(f64::total_cmp);
    // 1.4826: of a normal distribution by its median.
    (1.482_6 * sizes.get(sizes.len() / 2).copied().unwrap_or(1.0)).max(0.02)
}

/// Of how many readings one is worth: the variance of all readings' sum about the model over what it were if none leant on
/// another, neither on its neighbours along the lap nor on what other laps say at the same place (that the log's places are
/// off by is the same for all laps). 1 and more.
pub(super) fn repeats(residuals: &[(usize, f64)], stations: usize, sd: f64) -> f64 {
    let mut sums = vec![(0.0, 0.0); stations];
    for &(i, r) in residuals {
        sums[i] = (sums[i].0 + r.clamp(-3.0 * sd, 3.0 * sd), sums[i].1 + 1.0);
    }
    let product = |lag: usize| sums.iter().zip(&sums[lag..]).map(|(a, b)| a.0 * b.0).sum::<f64>();
    let pairs = |lag: usize| sums.iter().zip(&sums[lag..]).filter(|(a, b)| a.1 * b.1 > 0.0).count();
    let alone: f64 = residuals.iter().map(|r| r.1.clamp(-3.0 * sd, 3.0 * sd).powi(2)).sum();
    let own = product(0);
    let mut sum = own;
    for lag in 1..60.min(stations / 3) {
        let (products, pairs) = (product(lag), pairs(lag) as f64);
        // Two standard errors of a correlation that is none.
        if products / own.max(1e-12) < 2.0 / pairs.max(1.0).sqrt() {
            break;
        }
        sum += 2.0 * products;
    }
    (sum / alone.max(1e-12)).max(1.0)
}
