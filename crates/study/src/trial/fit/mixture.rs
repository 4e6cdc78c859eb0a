//! The effect with what the laps can't tell of the noise left open: one t distribution for each φ and τ, weighed by how
//! well the laps go with it and by what is usual.
//!
//! Given φ and τ, the effect is t distributed about its least-squares estimate with n − p degrees of freedom (β and ln σ
//! flat beforehand). The weight of each is the restricted likelihood, |V|^(−½) |XᵀV⁻¹X|^(−½) S^(−(n−p)/2), times the
//! weight that it has before any lap is driven.

use nalgebra::{DMatrix, DVector};
use statrs::distribution::{Continuous, ContinuousCDF, StudentsT};

use super::noise::{Grams, Noise, Seat};

/// What is usual of a driver: how heavy φ is before any lap is driven, (1 − φ) to this power. Judgement, no source: two
/// laps that follow one another are alike a little, seldom much.
const LEAN: i32 = 2;
/// Steps of φ.
const PHIS: [f64; 9] = [0.0, 0.08, 0.16, 0.25, 0.36, 0.48, 0.6, 0.72, 0.84];
/// Steps of τ; before any lap is driven it is half-normal with this standard deviation. Judgement, no source.
const TAUS: [f64; 8] = [0.0, 0.1, 0.2, 0.3, 0.42, 0.58, 0.8, 1.2];
const STOP: f64 = 0.25;

/// All pairs of φ and τ, τ the faster, with their weights beforehand; these sum to one.
pub fn beforehand() -> Vec<(Noise, f64)> {
    let phis = weights(&PHIS, |x| (1.0 - x).powi(LEAN));
    let taus = weights(&TAUS, |x| (-0.5 * (x / STOP).powi(2)).exp());
    let all = PHIS.iter().zip(&phis).flat_map(|(&phi, a)| {
        let pair = move |(&tau, b): (&f64, &f64)| (Noise { phi, tau }, a * b);
        TAUS.iter().zip(&taus).map(pair).collect::<Vec<_>>()
    });
    all.collect()
}

/// Weights of the trapezoid rule for a density, summing to one.
fn weights(at: &[f64], density: impl Fn(f64) -> f64) -> Vec<f64> {
    let last = at.len() - 1;
    let share = |i: usize| 0.5 * (at[(i + 1).min(last)] - at[i.saturating_sub(1)]);
    let all: Vec<f64> = (0..at.len()).map(|i| share(i) * density(at[i])).collect();
    let sum: f64 = all.iter().sum();
    all.into_iter().map(|w| w / sum).collect()
}

/// The effect under one noise.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Part {
    /// Which.
    pub noise: Noise,
    /// Its weight after the laps; of all parts they sum to one.
    pub weight: f64,
    /// Estimate of the effect.
    pub effect: f64,
    /// Its standard error.
    pub error: f64,
    /// Variance of the effect in variances of a lap.
    pub unit: f64,
    /// Standard deviation of a lap.
    pub sd: f64,
}

/// The effect under all of them.
#[derive(Clone, Debug, PartialEq)]
pub struct Mixture {
    /// Those that weigh anything.
    pub parts: Vec<Part>,
    /// n − p.
    pub freedom: f64,
}

impl Mixture {
    /// Of rows that stand run by run in the order driven; the effect is coefficient `of`, and standard errors are widened
    /// by `factor`. `None` where it can't be told apart from the rest.
    pub fn of(x: &DMatrix<f64>, y: &DVector<f64>, seats: &[Seat], of: usize, factor: f64) -> Option<Self> {
        let (n, p) = x.shape();
        let freedom = n.checked_sub(p).filter(|f| *f > 0)? as f64;
        let mut logs = Vec::new();
        let mut parts = Vec::new();
        let mut grams = Grams::of(x, y, seats, Noise::NONE);
        for (noise, before) in beforehand() {
            if noise.phi != grams.phi() {
                grams = Grams::of(x, y, seats, noise);
            }
            let solved = grams.solve(noise.tau, of)?;
            logs.push(before.ln() - solved.log_det - 0.5 * freedom * solved.rss.max(TINY).ln());
            let sd = (solved.rss / freedom).sqrt();
            let error = factor * sd * solved.unit.sqrt();
            parts.push(Part { noise, weight: 0.0, effect: solved.effect, error, unit: solved.unit, sd });
        }
        let most = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        parts.iter_mut().zip(&logs).for_each(|(part, log)| part.weight = (log - most).exp());
        let sum: f64 = parts.iter().map(|part| part.weight).sum();
        parts.retain(|part| part.weight > LIGHT * sum);
        let sum: f64 = parts.iter().map(|part| part.weight).sum();
        parts.iter_mut().for_each(|part| part.weight /= sum);
        Some(Self { parts, freedom })
    }

    /// The mean of something over the parts.
    pub fn mean(&self, of: impl Fn(&Part) -> f64) -> f64 {
        self.parts.iter().map(|p| p.weight * of(p)).sum()
    }

    /// The estimate.
    pub fn effect(&self) -> f64 {
        self.mean(|p| p.effect)
    }

    /// The chance that the effect is below this.
    pub fn below(&self, x: f64) -> f64 {
        let Ok(t) = StudentsT::new(0.0, 1.0, self.freedom) else { return f64::NAN };
        self.mean(|p| if p.error > 0.0 { t.cdf((x - p.effect) / p.error) } else { f64::from(x >= p.effect) })
    }

    /// Its density.
    pub fn density(&self, x: f64) -> f64 {
        let Ok(t) = StudentsT::new(0.0, 1.0, self.freedom) else { return f64::NAN };
        self.mean(|p| if p.error > 0.0 { t.pdf((x - p.effect) / p.error) / p.error } else { 0.0 })
    }

    /// The effect that it is below with this chance, by Newton's steps inside a bracket.
    pub fn quantile(&self, chance: f64) -> f64 {
        let middle = self.effect();
        let mut reach = self.parts.iter().map(|p| p.error + (p.effect - middle).abs()).fold(0.0, f64::max);
        while reach > 0.0 && (self.below(middle - reach) > chance || self.below(middle + reach) < chance) {
            reach *= 2.0;
        }
        let (mut low, mut high, mut at) = (middle - reach, middle + reach, middle);
        for _ in 0..STEPS {
            let off = self.below(at) - chance;
            if off < 0.0 {
                low = at
            } else {
                high = at
            }
            let newton = at - off / self.density(at);
            let next = if newton > low && newton < high { newton } else { 0.5 * (low + high) };
            if (next - at).abs() <= SETTLED * reach {
                return next;
            }
            at = next;
        }
        at
    }
}

/// A sum of squares is taken as no less than this: rows that are all alike.
const TINY: f64 = 1e-24;
/// Parts that weigh less are dropped.
const LIGHT: f64 = 1e-9;
/// Steps to a quantile at most, and the share of its bracket that ends them.
const STEPS: usize = 80;
const SETTLED: f64 = 1e-9;
