//! Curvature linear between given knots, brought to positions by one linear least squares: offsets d on even nodes
//! along a line, whose curvature κ + d″ + κ² d may bend at a knot and nowhere else (its second difference is held at
//! zero elsewhere).
//!
//! Where knots lie is then improved node by node, and a knot goes that the positions don't ask for: taking it out
//! raises χ² by less than [`NEEDED`].

use crate::curve::banded::{Factors, Ring};
use crate::curve::nodes::Nodes;
use crate::curve::smooth::Reading;

/// χ² that a knot has to be worth: the Bayesian information criterion (G. Schwarz, Ann. Stat. 6, 1978; from memory) for
/// a thousand readings, ln 1000 = 6.9.
const NEEDED: f64 = 6.9;
/// Standard deviation of a second difference of κ away from knots, 1/m per m²: none, but for the arithmetic.
const STIFF: f64 = 1e-7;
/// Standard deviation of one at a knot: as good as free.
const FREE: f64 = 0.1;
/// Of how many neighbours one node's κ is worth: it is smoothed over about so many.
const ALIKE: f64 = 5.0;
/// Sweeps over all knots at most.
const SWEEPS: usize = 8;

/// A fit with its knots.
pub(crate) struct Knotted<'a> {
    nodes: &'a Nodes,
    readings: &'a [Reading],
    noise: f64,
    /// κ of the line at each node and how far the knots' may be from it (one standard deviation).
    wanted: Vec<(f64, f64)>,
    /// Nodes that are knots, rising; without the ends of an open line.
    pub(crate) knots: Vec<usize>,
}

/// What the knots give.
pub(crate) struct Fit {
    /// d at the nodes.
    pub(crate) d: Vec<f64>,
    /// χ².
    pub(crate) chi2: f64,
    factors: Factors,
}

impl<'a> Knotted<'a> {
    pub(crate) fn new(
        nodes: &'a Nodes,
        readings: &'a [Reading],
        noise: f64,
        wanted: Vec<(f64, f64)>,
        mut knots: Vec<usize>,
    ) -> Self {
        knots.sort_unstable();
        knots.dedup();
        Self { nodes, readings, noise, wanted, knots }
    }

    /// κ at node j as coefficients of d.
    fn second(&self, j: usize) -> ([(usize, f64); 5], f64) {
        let nodes = self.nodes;
        let c = 1.0 / (nodes.step * nodes.step);
        let w = |o: isize| nodes.wrap(j as isize + o);
        let k = |o: isize| nodes.kappa[w(o)];
        let own = |o: isize| k(o) * k(o) - 2.0 * c;
        let row = [
            (w(-2), c),
            (w(-1), own(-1) - 2.0 * c),
            (w(0), 2.0 * c - 2.0 * own(0)),
            (w(1), own(1) - 2.0 * c),
            (w(2), c),
        ];
        (row, k(-1) - 2.0 * k(0) + k(1))
    }

    fn inner(&self) -> std::ops::Range<usize> {
        if self.nodes.ring { 0..self.nodes.n } else { 2..self.nodes.n - 2 }
    }

    /// The least squares for these knots.
    pub(crate) fn fit(&self, knots: &[usize]) -> Option<Fit> {
        let nodes = self.nodes;
        let mut a = Ring::zeros(nodes.n);
        let mut rhs = vec![0.0; nodes.n];
        let precision = 1.0 / (self.noise * self.noise);
        for r in self.readings {
            let at = nodes.reading(r.at);
            a.add(&at, r.weight * precision);
            at.iter().for_each(|&(i, c)| rhs[i] += r.weight * precision * c * r.value);
        }
        // A spike of curvature between two near knots hardly moves the line: it shows in κ alone.
        let bends: Vec<_> = self
            .wanted
            .iter()
            .enumerate()
            .map(|(j, (kappa, sd))| (nodes.bend(j), kappa - nodes.kappa[j], 1.0 / (sd * sd * ALIKE)))
            .collect();
        for (row, value, weight) in &bends {
            a.add(row, *weight);
            row.iter().for_each(|&(i, c)| rhs[i] += weight * c * value);
        }
        let stiff = STIFF * nodes.step * nodes.step;
        let mut next = knots.iter().peekable();
        let mut prior = 0.0;
        let mut rows = Vec::with_capacity(nodes.n);
        for j in self.inner() {
            while next.next_if(|k| **k < j).is_some() {}
            let sd = if next.peek() == Some(&&j) { FREE } else { stiff };
            let (row, reference) = self.second(j);
            let weight = 1.0 / (sd * sd);
            a.add(&row, weight);
            row.iter().for_each(|&(i, c)| rhs[i] -= weight * c * reference);
            rows.push((row, reference, weight));
        }
        (0..nodes.n).for_each(|i| a.add(&[(i, 1.0)], 1e-9 * precision));
        let factors = a.factor()?;
        let d = factors.solve(rhs);
        for (row, reference, weight) in rows {
            prior += weight * (reference + row.iter().map(|&(i, c)| c * d[i]).sum::<f64>()).powi(2);
        }
        for (row, value, weight) in &bends {
            prior += weight * (value - row.iter().map(|&(i, c)| c * d[i]).sum::<f64>()).powi(2);
        }
        let off = |r: &Reading| r.value - nodes.reading(r.at).iter().map(|&(i, c)| c * d[i]).sum::<f64>();
        let chi2 = prior + self.readings.iter().map(|r| r.weight * precision * off(r).powi(2)).sum::<f64>();
        Some(Fit { d, chi2, factors })
    }

    /// Moves knots to where they fit better and takes out those that are not needed.
    pub(crate) fn improve(&mut self) -> Option<Fit> {
        let mut fit = self.fit(&self.knots)?;
        for _ in 0..SWEEPS {
            let before = fit.chi2;
            fit = self.shift(fit)?;
            let count = self.knots.len();
            fit = self.weed(fit)?;
            if self.knots.len() == count && before - fit.chi2 < 0.5 {
                break;
            }
        }
        Some(fit)
    }

    /// Each knot tried some nodes on and back.
    fn shift(&mut self, mut best: Fit) -> Option<Fit> {
        for k in 0..self.knots.len() {
            for by in [4, -4, 2, -2, 1, -1] {
                let mut tried = self.knots.clone();
                tried[k] = self.nodes.wrap(tried[k] as isize + by);
                tried.sort_unstable();
                let apart = tried.windows(2).all(|w| w[1] > w[0]);
                let inside = self.inner().contains(&self.nodes.wrap(self.knots[k] as isize + by));
                if !apart || !inside {
                    continue;
                }
                let fit = self.fit(&tried)?;
                if fit.chi2 < best.chi2 - 1e-3 {
                    self.knots = tried;
                    best = fit;
                    break;
                }
            }
        }
        Some(best)
    }

    /// The knots with the least change of slope against its noise are tried without.
    fn weed(&mut self, mut best: Fit) -> Option<Fit> {
        let mut kept = 0;
        while self.knots.len() > if self.nodes.ring { 3 } else { 0 } {
            let mut ranked = self.ranked(&best);
            ranked.retain(|r| r.0 < 4.0 * NEEDED);
            let Some(&(_, k)) = ranked.get(kept) else { break };
            let mut tried = self.knots.clone();
            tried.remove(k);
            let fit = self.fit(&tried)?;
            if fit.chi2 - best.chi2 < NEEDED {
                self.knots = tried;
                best = fit;
                kept = 0;
            } else {
                kept += 1;
            }
            if kept > 3 {
                break;
            }
        }
        Some(best)
    }

    /// (z², index) of every knot, least first.
    fn ranked(&self, fit: &Fit) -> Vec<(f64, usize)> {
        let inverse = fit.factors.inverse();
        let z2 = |j: usize| {
            let (row, reference) = self.second(j);
            let value = reference + row.iter().map(|&(i, c)| c * fit.d[i]).sum::<f64>();
            value * value / inverse.form(&row).max(1e-30)
        };
        let mut all: Vec<(f64, usize)> = self.knots.iter().enumerate().map(|(i, j)| (z2(*j), i)).collect();
        all.sort_by(|a, b| a.0.total_cmp(&b.0));
        all
    }

    /// κ at a node, the line's included.
    pub(crate) fn kappa(&self, fit: &Fit, j: usize) -> f64 {
        self.nodes.kappa[j] + self.nodes.bend(j).iter().map(|&(i, c)| c * fit.d[i]).sum::<f64>()
    }
}
