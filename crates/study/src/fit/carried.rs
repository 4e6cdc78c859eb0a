//! What a fit can't know and carries: factors that were held, and the line of a made track. Neither is found; what each does
//! to the others is added to their variance (S. F. Schmidt, Advances in Control Systems 3, 1966: a filter that considers
//! parameters without estimating them; from memory).

use nalgebra::{DMatrix, DVector};
use unladen_lap::{Course, LapError};
use unladen_track::Track;

use super::problem::{FACTORS, Modelled, Problem};
use super::{Because, Knob, Normal};
use crate::made_track::doubt::ROUGH;
use crate::made_track::lines::Lines;
use crate::threads::each_of;

/// How many times what lines and heights do to the factors counts: the laps' own residuals, which lean on each other where the
/// track is off, carry part of it. By the errors of fits on three invented circuits (`crates/study/tests/all/fit_coverage.rs`
/// measures the coverage on others).
const BENDS: f64 = 0.5;
const CLIMBS: f64 = 1.0;

/// Factors moved, and how much slower the lap is, by one thing that is off by one standard deviation.
#[derive(Clone, Debug)]
pub(super) struct Off {
    /// What is found less what is, in the order of [`Knob::ALL`].
    pub(super) factors: Vec<f64>,
    /// Lap time as it is less that of the model, by the thing itself, s.
    pub(super) time_s: f64,
}

/// A fit at rest: what a change of what is seen does to what is found.
pub(super) struct Rested<'a> {
    pub(super) problem: &'a Problem<'a>,
    /// The factors, and the shift.
    pub(super) x: &'a [f64],
    /// Which of them are free.
    pub(super) index: &'a [usize],
    pub(super) normal: &'a Normal,
    /// By reading: station, and weight.
    pub(super) weights: &'a [(usize, f64)],
    /// Derivatives of speeds by the free ones.
    pub(super) jacobian: &'a [Vec<f64>],
}

impl Rested<'_> {
    /// Where what is seen at the stations changes so much: how the factors change.
    fn moved(&self, speeds: &[f64]) -> Vec<f64> {
        let gradient = DVector::from_fn(self.index.len(), |a, _| {
            self.weights.iter().map(|&(i, weight)| weight * self.jacobian[a][i] * speeds[i]).sum()
        });
        let step = self.normal.matrix.clone().cholesky().map(|c| c.solve(&gradient));
        let mut factors = vec![0.0; FACTORS];
        for (a, k) in self.index.iter().enumerate().filter(|(_, k)| **k < FACTORS) {
            factors[*k] = step.as_ref().map_or(f64::NAN, |s| s[a]);
        }
        factors
    }

    /// Factors that are held where they may not be.
    pub(super) fn by_held(&self, held: &[(Knob, Because)]) -> Result<Vec<Off>, LapError> {
        let index: Vec<usize> = held.iter().filter_map(|h| Knob::ALL.iter().position(|k| *k == h.0)).collect();
        let by = self.problem.jacobian(self.x, &index)?;
        let off = |(k, slopes): (usize, Vec<f64>)| {
            let sd = Knob::ALL[k].prior_sd();
            let mut factors: Vec<f64> = self.moved(&slopes).into_iter().map(|f| sd * f).collect();
            factors[k] = -sd;
            Off { factors, time_s: 0.0 }
        };
        Ok(index.into_iter().zip(by).map(off).collect())
    }

    /// The line that the positions leave open, and last how much rougher than the smooth one it may be, which a lap time feels;
    /// `made` is the model on the track that was fitted on.
    pub(super) fn by_line(&self, lines: &Lines, made: &Modelled) -> Result<(Vec<Off>, Off), LapError> {
        let on = |track: &Track| self.problem.model_on(&Course::new(track), self.x);
        let fine = on(&lines.fine)?;
        let less = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(a, b)| a - b).collect::<Vec<f64>>();
        let off = |times: f64, speeds: Vec<f64>, time_s: f64| Off {
            factors: self.moved(&speeds).into_iter().map(|f| times * f).collect(),
            time_s: times * time_s,
        };
        // A car that can't lap a line says nothing of it.
        let lapped = |pairs: &[[Track; 2]]| -> Vec<[Modelled; 2]> {
            each_of(pairs, |[one, other]| Some([on(one).ok()?, on(other).ok()?])).into_iter().flatten().collect()
        };
        let scatter = |pairs: &[[Modelled; 2]], times: f64| -> Vec<Off> {
            let each = 0.5 * times / (pairs.len() as f64).max(1.0).sqrt();
            pairs.iter().map(|[a, b]| off(each, less(&a.v, &b.v), a.time_s - b.time_s)).collect()
        };
        let (bends, climbs) = (lapped(&lines.bends), lapped(&lines.climbs));
        let mut all = scatter(&bends, BENDS);
        all.extend(scatter(&climbs, CLIMBS));
        // What the segments leave of the line.
        all.push(off(1.0, less(&fine.v, &made.v), fine.time_s - made.time_s));
        let share = 0.5 / (bends.len() as f64).max(1.0);
        let (mut rough, mut rough_s) = (vec![0.0; fine.v.len()], 0.0);
        for m in bends.iter().flatten() {
            rough.iter_mut().zip(less(&m.v, &fine.v)).for_each(|(sum, off)| *sum += share * off);
            rough_s += share * (m.time_s - fine.time_s);
        }
        Ok((all, off(ROUGH.0.hypot(ROUGH.1), rough, rough_s)))
    }
}

/// Stations over which residuals that lean on each other are looked for.
const LEAN: usize = 24;

/// How many times wider each parameter's standard deviation is than if residuals were alike everywhere: noise in the places of a
/// log is more where a car brakes, and shifts have tails of their own (W. K. Newey and K. D. West, Econometrica 55, 1987, with
/// a triangle of [`LEAN`] stations; from memory). Never narrower. `scores`: by parameter and station.
pub(super) fn wider(inverse: &DMatrix<f64>, scores: &[Vec<f64>], index: &[usize], prior_sd: &[f64]) -> Vec<f64> {
    let n = index.len();
    let product = |a: &[f64], b: &[f64]| -> f64 {
        let lag = |k: usize| a[k..].iter().zip(b).map(|(a, b)| a * b).sum::<f64>();
        let back = |k: usize| b[k..].iter().zip(a).map(|(b, a)| a * b).sum::<f64>();
        let share = |k: usize| 1.0 - k as f64 / (LEAN as f64 + 1.0);
        lag(0) + (1..=LEAN.min(a.len() - 1)).map(|k| share(k) * (lag(k) + back(k))).sum::<f64>()
    };
    let middle = DMatrix::from_fn(n, n, |i, j| {
        let before = if i == j { prior_sd[index[i]].powi(-2) } else { 0.0 };
        before + product(&scores[i], &scores[j])
    });
    let seen = inverse * middle * inverse;
    (0..n).map(|i| (seen[(i, i)] / inverse[(i, i)]).max(1.0).sqrt()).collect()
}

/// Does a use that is held make the other a product, which is known as well as it is said?
pub(super) fn makes_product((knob, because): &(Knob, Because), other: Knob) -> bool {
    let uses = [Knob::UseCornering, Knob::UseBraking, Knob::UseTraction];
    uses.contains(knob) && *because == Because::With(other)
}

/// Variance of each factor by what is carried; of a product, by what it is off as one.
pub(super) fn variances(x: &[f64], by_held: &[Off], held: &[(Knob, Because)], by_line: &[Off]) -> Vec<f64> {
    let of = |k: usize| {
        let own = by_held.iter().zip(held).map(|(off, h)| {
            let product = if makes_product(h, Knob::ALL[k]) { x[k] * h.0.prior_sd() } else { 0.0 };
            (off.factors[k] - product).powi(2)
        });
        own.sum::<f64>() + by_line.iter().map(|off| off.factors[k].powi(2)).sum::<f64>()
    };
    (0..FACTORS).map(of).collect()
}
