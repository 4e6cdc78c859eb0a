//! A penalised smoother on even nodes, in a row or round a ring, whose smoothing follows from the data: noisy readings
//! of a function d(u) whose second derivative wanders, dκ ~ N(0, rate · du).
//!
//! This is the smoothing spline with a penalty on the third derivative, ∫ d‴²/rate du (G. Wahba, J. R. Stat. Soc. B 40,
//! 1978: its posterior mean). Rate and noise are those that make the data most likely (D. J. C. MacKay, Neural
//! Computation 4, 1992, eqs. 4.20–4.23; both from memory: rate = Σ m²/Σ γ over what the data determine); with a window
//! the rate is a local one, so that a straight is smoothed more than a hairpin.

use crate::curve::banded::{Factors, Inverse, Ring};
use crate::curve::nodes::Nodes;

/// A reading.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Reading {
    /// Where, in nodes from the first.
    pub(crate) at: f64,
    /// What.
    pub(crate) value: f64,
    /// Its weight; 1 for one of the noise's variance.
    pub(crate) weight: f64,
}

/// A reading of κ itself at a node, from a gyroscope or an accelerometer.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Turn {
    /// Which node.
    pub(crate) at: usize,
    /// κ, 1/m.
    pub(crate) kappa: f64,
    /// Its standard deviation, 1/m.
    pub(crate) sd: f64,
}

/// How rates and noise are found.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Choice {
    /// Standard deviation of a reading of weight 1; `None`: from the data.
    pub(crate) noise: Option<f64>,
    /// Half-width in nodes of the window over which a rate is found; `None`: one rate for all.
    pub(crate) window: Option<usize>,
    /// Least rate.
    pub(crate) floor: f64,
    /// Rounds of the fixed point at most.
    pub(crate) rounds: usize,
}

/// What came out.
#[derive(Clone, Debug)]
pub(crate) struct Smoothed {
    /// d at the nodes.
    pub(crate) values: Vec<f64>,
    /// Curvature at the nodes, the reference's included: κ + d″ + κ² d.
    pub(crate) kappa: Vec<f64>,
    /// Its standard deviation.
    pub(crate) kappa_sd: Vec<f64>,
    /// Slope d′ at the nodes and its standard deviation.
    pub(crate) slope: Vec<(f64, f64)>,
    /// Noise, as given or found.
    pub(crate) noise: f64,
    /// Factors of the precision of d.
    pub(crate) factors: Factors,
}

/// Less noise than this is none: what a file's digits leave, m.
const LEAST_NOISE: f64 = 1e-3;

impl Nodes {
    fn posterior(
        &self,
        readings: &[Reading],
        turns: &[Turn],
        rates: &[f64],
        noise: f64,
    ) -> Option<(Factors, Vec<f64>)> {
        let mut a = Ring::zeros(self.n);
        let mut rhs = vec![0.0; self.n];
        for r in readings {
            let weight = r.weight / (noise * noise);
            let at = self.reading(r.at);
            a.add(&at, weight);
            at.iter().for_each(|&(i, c)| rhs[i] += weight * c * r.value);
        }
        for turn in turns {
            let (row, weight) = (self.bend(turn.at), turn.sd.powi(-2));
            a.add(&row, weight);
            row.iter().for_each(|&(i, c)| rhs[i] += weight * c * (turn.kappa - self.kappa[turn.at]));
        }
        for k in self.steps() {
            let (row, reference) = self.step(k);
            let weight = 1.0 / (rates[k] * self.step);
            a.add(&row, weight);
            row.iter().for_each(|&(i, c)| rhs[i] -= weight * c * reference);
        }
        // Nodes without any reading near on an open row: a whisper towards zero keeps the matrix positive.
        (0..self.n).for_each(|i| a.add(&[(i, 1.0)], 1e-9 / (noise * noise)));
        let factors = a.factor()?;
        let d = factors.solve(rhs);
        Some((factors, d))
    }

    /// Smooths; `None` for fewer nodes or readings than make sense.
    pub(crate) fn smooth(&self, readings: &[Reading], turns: &[Turn], choice: Choice) -> Option<Smoothed> {
        let mut all = self.smooth_all(&[readings], turns, choice)?;
        all.pop()
    }

    /// Smooths several functions (x and y) that share noise and rates.
    pub(crate) fn smooth_alike(&self, sets: &[&[Reading]], choice: Choice) -> Option<Vec<Smoothed>> {
        self.smooth_all(sets, &[], choice)
    }

    fn smooth_all(&self, sets: &[&[Reading]], turns: &[Turn], choice: Choice) -> Option<Vec<Smoothed>> {
        let count: usize = sets.iter().map(|s| s.len()).sum();
        if self.n < 10 || sets.iter().any(|s| s.len() < 6) {
            return None;
        }
        let (mut noise, mut rates) = (choice.noise.unwrap_or(1.0), vec![0.0; self.n]);
        rates.fill(self.first_rate(sets, choice.floor));
        for round in 0..choice.rounds {
            let mut squares = vec![0.0; self.n];
            let mut known = vec![0.0; self.n];
            let mut rss = 0.0;
            for set in sets {
                let (factors, d) = self.posterior(set, turns, &rates, noise)?;
                let inverse = factors.inverse();
                for k in self.steps() {
                    let (row, reference) = self.step(k);
                    let mean = reference + row.iter().map(|&(i, c)| c * d[i]).sum::<f64>();
                    squares[k] += mean * mean;
                    known[k] += (1.0 - inverse.form(&row) / (rates[k] * self.step)).clamp(0.0, 1.0);
                }
                rss += self.rss(set, &d);
            }
            let effective: f64 = known.iter().sum::<f64>() + self.free() * sets.len() as f64;
            if choice.noise.is_none() {
                noise = (rss / (count as f64 - effective).max(0.1 * count as f64)).sqrt().max(LEAST_NOISE);
            }
            // The first rounds find one rate for all, from which the local ones start.
            let window = choice.window.filter(|_| round >= choice.rounds / 3);
            let new = self.rates(&squares, &known, window, choice.floor);
            let change = self.steps().map(|k| (new[k] / rates[k]).ln().abs()).fold(0.0, f64::max);
            rates = new;
            if change < 1e-3 && window.is_some() == choice.window.is_some() {
                break;
            }
        }
        sets.iter().map(|set| self.finish(set, turns, &rates, noise)).collect()
    }

    /// Dimensions that the penalty leaves free.
    fn free(&self) -> f64 {
        if self.ring { 1.0 } else { 3.0 }
    }

    fn rss(&self, set: &[Reading], d: &[f64]) -> f64 {
        let residual = |r: &Reading| r.value - self.reading(r.at).iter().map(|&(i, c)| c * d[i]).sum::<f64>();
        set.iter().map(|r| r.weight * residual(r).powi(2)).sum()
    }

    /// A rate to start from: the reference's own steps, or a curve that turns with the readings' spread.
    fn first_rate(&self, sets: &[&[Reading]], floor: f64) -> f64 {
        let own = self.steps().map(|k| self.step(k).1.powi(2)).sum::<f64>() / (self.n as f64 * self.step);
        if own > 0.0 {
            return own.max(floor);
        }
        let spread = |set: &&[Reading]| {
            let mean = set.iter().map(|r| r.value).sum::<f64>() / set.len() as f64;
            set.iter().map(|r| (r.value - mean).powi(2)).sum::<f64>() / set.len() as f64
        };
        let length = self.n as f64 * self.step;
        let variance: f64 = sets.iter().map(spread).sum();
        // A sine of this variance with some ten waves: third derivative (20π/length)³.
        (variance * (20.0 * std::f64::consts::PI / length).powi(6)).max(floor)
    }

    /// Σ m²/(step Σ γ), over all or over a triangular window.
    fn rates(&self, squares: &[f64], known: &[f64], window: Option<usize>, floor: f64) -> Vec<f64> {
        let rate = |m: f64, g: f64| (m / (self.step * g.max(1e-9))).max(floor);
        let Some(half) = window else {
            return vec![rate(squares.iter().sum(), known.iter().sum()); self.n];
        };
        let half = half as isize;
        let at = |k: usize| {
            let (mut m, mut g) = (0.0, 0.0);
            for o in -half..=half {
                let i = k as isize + o;
                if !self.ring && (i < 0 || i >= self.n as isize) {
                    continue;
                }
                let (i, w) = (self.wrap(i), 1.0 - o.abs() as f64 / (half as f64 + 1.0));
                m += w * squares[i];
                g += w * known[i];
            }
            // Half a determined step at the floor: where nothing is determined the rate falls to it, not to 0/0.
            rate(m + 0.5 * floor * self.step, g + 0.5)
        };
        (0..self.n).map(at).collect()
    }

    fn finish(&self, set: &[Reading], turns: &[Turn], rates: &[f64], noise: f64) -> Option<Smoothed> {
        let (factors, d) = self.posterior(set, turns, rates, noise)?;
        let inverse: Inverse = factors.inverse();
        let dot = |row: &[(usize, f64)]| row.iter().map(|&(i, c)| c * d[i]).sum::<f64>();
        let sd = |row: &[(usize, f64)]| inverse.form(row).max(0.0).sqrt();
        let kappa = (0..self.n).map(|i| self.kappa[i] + dot(&self.bend(i))).collect();
        let kappa_sd = (0..self.n).map(|i| sd(&self.bend(i))).collect();
        let slope = |i: usize| {
            let m = if self.ring { i as isize } else { (i as isize).clamp(1, self.n as isize - 2) };
            let row = [(self.wrap(m - 1), -0.5 / self.step), (self.wrap(m + 1), 0.5 / self.step)];
            (dot(&row), sd(&row))
        };
        Some(Smoothed { kappa, kappa_sd, slope: (0..self.n).map(slope).collect(), noise, values: d, factors })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::curve::noise::Noise;
    use std::f64::consts::PI;

    const CHOICE: Choice = Choice { noise: None, window: None, floor: 1e-14, rounds: 60 };

    fn sine(n: usize, noise: f64, seed: u64) -> (Nodes, Vec<Reading>) {
        let nodes = Nodes { n, step: 1.0, ring: true, kappa: vec![0.0; n] };
        let mut random = Noise::new(seed);
        let wave = 2.0 * PI * 3.0 / n as f64;
        let reading = |i: usize| {
            let at = i as f64 * 0.5;
            Reading { at, value: 10.0 * (wave * at).sin() + noise * random.normal(), weight: 1.0 }
        };
        (nodes, (0..2 * n).map(reading).collect())
    }

    /// Three waves of 10 m round a ring: d″ = −w² d. The noise that is found is the noise that was put in.
    #[test]
    fn closed_form_sine_and_its_noise() {
        for (noise, seed) in [(0.1, 1), (0.5, 2), (2.0, 3)] {
            let (nodes, readings) = sine(600, noise, seed);
            let got = nodes.smooth(&readings, &[], CHOICE).unwrap();
            // The standard error of a standard deviation from 1200 readings is 2 %.
            assert!((got.noise / noise - 1.0).abs() < 0.06, "{noise}: {}", got.noise);
            let wave = 2.0 * PI * 3.0 / 600.0;
            let bend = |i: usize| -10.0 * wave * wave * (wave * i as f64).sin();
            let errors: Vec<f64> = (0..600).map(|i| (got.kappa[i] - bend(i)) / got.kappa_sd[i]).collect();
            let chi2 = errors.iter().map(|e| e * e).sum::<f64>() / 600.0;
            assert!(chi2 < 2.5, "{noise}: {chi2}");
        }
    }

    /// Without noise, what was put in comes out.
    #[test]
    fn closed_form_a_parabola_is_left_alone() {
        let n = 50;
        let nodes = Nodes { n, step: 2.0, ring: false, kappa: vec![0.0; n] };
        let readings: Vec<Reading> = (0..n)
            .map(|i| Reading { at: i as f64, value: 3.0 + 0.02 * (2.0 * i as f64).powi(2), weight: 1.0 })
            .collect();
        let choice = Choice { noise: Some(0.5), floor: 1e-11, ..CHOICE };
        let got = nodes.smooth(&readings, &[], choice).unwrap();
        assert!(got.kappa.iter().all(|k| (k - 0.04).abs() < 1e-5), "{:?}", got.kappa);
    }

    #[test]
    fn property_no_seam_on_a_ring() {
        let (nodes, readings) = sine(300, 0.3, 7);
        let moved: Vec<Reading> = readings.iter().map(|r| Reading { at: r.at + 101.0, ..*r }).collect();
        let (a, b) = (nodes.smooth(&readings, &[], CHOICE).unwrap(), nodes.smooth(&moved, &[], CHOICE).unwrap());
        assert!((0..300).all(|i| (a.values[i] - b.values[(i + 101) % 300]).abs() < 1e-7));
    }

    #[test]
    fn bad_input_too_little() {
        let nodes = Nodes { n: 5, step: 1.0, ring: true, kappa: vec![0.0; 5] };
        assert!(nodes.smooth(&[], &[], CHOICE).is_none());
    }
}
