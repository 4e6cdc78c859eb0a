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

/// Stretches of the lap of which each is left out in turn.
const STRETCHES: usize = 24;

/// A variance of so many stretches is itself not well known: 90 % of a t distribution with one degree less lie within 1.714 of
/// its deviations, of a normal one within 1.645.
const STUDENT: f64 = 1.714 / 1.645;

/// How many times wider each parameter's standard deviation is than if residuals were alike everywhere and leant on nothing:
/// noise in the places of a log is more where a car brakes, and shifts have tails of their own. By the jackknife: a stretch of the
/// lap is left out in turn, what it pulls and what is known by it, for a few straights know all of power (R. M. Bell and
/// D. F. McCaffrey, Survey Methodology 28, 2002; from memory); the lap is cut at two sets of places. Never narrower. `scores`: by
/// parameter and station.
pub(super) fn wider(rested: &Rested, inverse: &DMatrix<f64>, scores: &[Vec<f64>], prior_sd: &[f64]) -> Vec<f64> {
    let (n, jacobian) = (rested.index.len(), rested.jacobian);
    let stations = scores.first().map_or(0, Vec::len);
    let mut weight = vec![0.0; stations];
    rested.weights.iter().for_each(|&(i, w)| weight[i] += w);
    let prior = DMatrix::from_diagonal(&DVector::from_fn(n, |i, _| prior_sd[rested.index[i]].powi(-2)));
    let mut seen = inverse * prior * inverse;
    for (offset, stretch) in
        [0, stations / (2 * STRETCHES)].into_iter().flat_map(|o| (0..STRETCHES).map(move |k| (o, k)))
    {
        let [from, to] = [stretch, stretch + 1].map(|k| offset + k * stations / STRETCHES);
        let sum = |of: &dyn Fn(usize) -> f64| (from..to).map(|i| of(i % stations)).sum::<f64>();
        let pull = DVector::from_fn(n, |a, _| sum(&|i| scores[a][i]));
        let known = DMatrix::from_fn(n, n, |a, b| sum(&|i| weight[i] * jacobian[a][i] * jacobian[b][i]));
        // What was believed before is left, so that this is never singular.
        if let Some(moved) = (&rested.normal.matrix - known).cholesky().map(|c| c.solve(&pull)) {
            seen += 0.5 * (&moved * moved.transpose());
        }
    }
    (0..n).map(|i| (STUDENT * (seen[(i, i)] / inverse[(i, i)]).sqrt()).max(1.0)).collect()
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
