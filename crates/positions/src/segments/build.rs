//! From a line of nodes to a track: as few segments as its curvature asks for, then brought to the line itself.

use crate::centre::{Line, evened_line};
use crate::curve::knots::Knotted;
use crate::curve::nodes::Nodes;
use crate::curve::smooth::Reading;
use crate::segments::chain::Chain;
use crate::segments::segmenting::{Knot, fewest};
use crate::segments::unflattened::brought_to;
use unladen_track::Segment;

/// How far the segments' curvature may be from the line's before they are brought to the positions.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tolerance {
    /// 1/m.
    pub kappa: f64,
    /// Share of the curvature itself.
    pub share: f64,
    /// Standard deviations of the line's curvature, where that is more.
    pub sds: f64,
    /// Of grade, as tanθ.
    pub slope: f64,
}

impl Default for Tolerance {
    /// Two in ten thousand per metre (a bend of 5 km) and 2 % of the curvature, or half its standard deviation (with a
    /// whole one, corners come out pointed, and laps 1 % slow where bend follows bend); 0.15 % of grade (with 0.3 %
    /// the gentlest hills lose 1.4 % of their grade).
    fn default() -> Self {
        Self { kappa: 2e-4, share: 0.02, sds: 0.5, slope: 0.0015 }
    }
}

/// Segments and what is known of them.
#[derive(Clone, Debug)]
pub struct Built {
    /// In driving order.
    pub segments: Vec<Segment>,
    /// Root mean square of (segments' κ − line's κ), 1/m.
    pub kappa_rms: f64,
    /// Largest (segments' κ − line's κ)/(standard deviation), and where, m.
    pub worst: (f64, f64),
}

/// Distance between samples for the fewest segments, m.
const SAMPLE: f64 = 2.0;
/// How well segments keep to the line sideways, m over a metre: 0.03 m over ten.
const LINE: f64 = 0.1;
/// Positions are not taken to be better than this, m: a map's digits, a logger's.
const LEAST_NOISE: f64 = 0.02;
/// Joins of curvature and grade closer than this become one, m.
const SLIVER: f64 = 0.5;

impl Line {
    fn stride(&self) -> usize {
        let n = self.points.len();
        ((SAMPLE / self.step_m).round() as usize).clamp(1, n / 8)
    }

    /// Nodes to sample; of a circuit the first is the last again.
    fn samples(&self) -> Vec<usize> {
        let n = self.points.len();
        let mut at: Vec<usize> = (0..n).step_by(self.stride()).collect();
        if self.closed {
            at.push(0);
        } else if at.last() != Some(&(n - 1)) {
            at.push(n - 1);
        }
        at
    }

    /// s of a sample; the closing one is a length on.
    fn s_of(&self, sample: usize, samples: &[usize]) -> f64 {
        if sample + 1 == samples.len() { self.length_m() } else { samples[sample] as f64 * self.step_m }
    }

    /// The track's segments.
    pub fn build(&self, tolerance: Tolerance) -> Built {
        // Nodes closer together than samples only cost digits: fourth differences of positions grow with 1/step⁴.
        if self.step_m < 0.75 * SAMPLE && self.length_m() > 12.0 * SAMPLE {
            return evened_line(self, SAMPLE).build(tolerance);
        }
        let samples = self.samples();
        let first = self.first(&samples, tolerance);
        let mut best = None;
        for chain in
            [self.improved(&first, &samples, tolerance), Some(self.plain(&first, &samples)), Some(self.nodes())]
        {
            let Some(mut chain) = chain else { continue };
            chain.close();
            let scale = chain.length() / self.length_m();
            let (kappa_rms, worst) = self.compare(&chain, scale);
            best = Some((chain, scale, kappa_rms, worst));
            // A chain that is off its line is none: the next one, with more segments, is nearer.
            if kappa_rms <= self.near(tolerance) {
                break;
            }
        }
        let Some((chain, scale, kappa_rms, worst)) = best else {
            return Built { segments: Vec::new(), kappa_rms: 0.0, worst: (0.0, 0.0) };
        };
        let grades: Vec<(f64, f64)> =
            self.grades(&samples, tolerance).into_iter().map(|(s, q)| (s * scale, q)).collect();
        Built { segments: segments(&chain, &grades), kappa_rms, worst }
    }

    /// A segment from node to node, whatever the tolerance: what a line is worth itself.
    pub fn build_finely(&self) -> Vec<Segment> {
        if self.step_m < 0.75 * SAMPLE && self.length_m() > 12.0 * SAMPLE {
            return evened_line(self, SAMPLE).build_finely();
        }
        let mut chain = self.nodes();
        chain.close();
        let scale = chain.length() / self.length_m();
        let grades = self.grades(&self.samples(), Tolerance::default());
        segments(&chain, &grades.into_iter().map(|(s, q)| (s * scale, q)).collect::<Vec<_>>())
    }

    /// How far segments may be from the line, 1/m rms: three times what is allowed at each node.
    fn near(&self, tolerance: Tolerance) -> f64 {
        let square: f64 = (0..self.kappa.len()).map(|i| self.within(i, tolerance).powi(2)).sum();
        3.0 * (square / self.kappa.len() as f64).sqrt()
    }

    fn within(&self, i: usize, tolerance: Tolerance) -> f64 {
        (tolerance.kappa + tolerance.share * self.kappa[i].abs()).max(tolerance.sds * self.kappa_sd[i])
    }

    /// The fewest pieces within the tolerance.
    fn first(&self, samples: &[usize], tolerance: Tolerance) -> Vec<Knot> {
        let values: Vec<f64> = samples.iter().map(|i| self.kappa[*i]).collect();
        fewest(&values, &samples.iter().map(|i| self.within(*i, tolerance)).collect::<Vec<_>>())
    }

    /// Those as they are.
    fn plain(&self, first: &[Knot], samples: &[usize]) -> Chain {
        let s = first.iter().map(|k| self.s_of(k.at, samples)).collect();
        Chain { closed: self.closed, s, kappa: first.iter().map(|k| k.value).collect() }
    }

    /// A segment from node to node.
    fn nodes(&self) -> Chain {
        let n = self.points.len();
        let count = if self.closed { n + 1 } else { n };
        let s = (0..count).map(|i| i as f64 * self.step_m).collect();
        Chain { closed: self.closed, s, kappa: (0..count).map(|i| self.kappa[i % n]).collect() }
    }

    /// Starting from the fewest pieces the line itself says where knots are and what κ is there (not the positions:
    /// with few knots and much noise those make corners too sharp).
    fn improved(&self, first: &[Knot], samples: &[usize], tolerance: Tolerance) -> Option<Chain> {
        let nodes = Nodes { n: self.points.len(), step: self.step_m, ring: self.closed, kappa: self.own_kappa() };
        let readings = self.readings();
        // On a ring the first node is one like the others: a bend may well end on the start line.
        let from = if self.closed { 0 } else { 1 };
        let inner = first[from..first.len() - 1].iter().map(|k| samples[k.at]).collect();
        let wanted = (0..nodes.n).map(|i| (self.kappa[i], self.within(i, tolerance))).collect();
        let mut knotted = Knotted::new(&nodes, &readings, self.noise_m.max(LEAST_NOISE), wanted, inner);
        let fit = knotted.improve()?;
        // Moved sideways by d, a step is (1 − κ d) as long.
        let n = nodes.n;
        let mut s_of = vec![0.0];
        for i in 0..if self.closed { n } else { n - 1 } {
            let j = (i + 1) % n;
            let stretch = 1.0 - 0.5 * (nodes.kappa[i] * fit.d[i] + nodes.kappa[j] * fit.d[j]);
            s_of.push(s_of[i] + self.step_m * stretch);
        }
        let mut at = vec![0];
        at.extend(knotted.knots.iter().filter(|k| **k > 0));
        at.push(s_of.len() - 1);
        let kappa = at.iter().map(|j| knotted.kappa(&fit, j % n)).collect();
        Some(Chain { closed: self.closed, s: at.iter().map(|j| s_of[*j]).collect(), kappa })
    }

    /// κ of the nodes as they lie.
    fn own_kappa(&self) -> Vec<f64> {
        crate::curve::polyline::kappa_of(&self.points, self.closed)
    }

    /// The line itself, each node as good as [`LINE`] over a metre.
    fn readings(&self) -> Vec<Reading> {
        let weight = self.step_m * (self.noise_m.max(LEAST_NOISE) / LINE).powi(2);
        (0..self.points.len()).map(|i| Reading { at: i as f64, value: 0.0, weight }).collect()
    }

    /// Knots of grade: (s, q). A circuit comes back to its height.
    fn grades(&self, samples: &[usize], tolerance: Tolerance) -> Vec<(f64, f64)> {
        let Some(slope) = &self.slope else { return vec![(0.0, 0.0), (self.length_m(), 0.0)] };
        let mut values: Vec<f64> = samples.iter().map(|i| slope[*i].0).collect();
        let within: Vec<f64> = samples.iter().map(|i| tolerance.slope.max(tolerance.sds * slope[*i].1)).collect();
        if self.closed {
            let mean = values[1..].iter().sum::<f64>() / (values.len() - 1) as f64;
            values.iter_mut().for_each(|q| *q -= mean);
        }
        let knots = fewest(&values, &within);
        let mut heights = brought_to(&values, &within, &knots);
        if let (true, [first, .., last]) = (self.closed, &mut heights[..]) {
            // A circuit ends in the grade that it begins with.
            let both = 0.5 * (*first + *last);
            (*first, *last) = (both, both);
        }
        let mut out: Vec<(f64, f64)> = knots.iter().map(|k| self.s_of(k.at, samples)).zip(heights).collect();
        if self.closed {
            let rise: f64 = out.windows(2).map(|w| 0.5 * (w[0].1 + w[1].1) * (w[1].0 - w[0].0)).sum();
            let off = rise / self.length_m();
            out.iter_mut().for_each(|k| k.1 -= off);
        }
        out
    }

    fn compare(&self, chain: &Chain, scale: f64) -> (f64, (f64, f64)) {
        let mut sum = 0.0;
        let mut worst = (0.0, 0.0);
        for (i, (k, sd)) in self.kappa.iter().zip(&self.kappa_sd).enumerate() {
            let s = i as f64 * self.step_m * scale;
            let off = chain.kappa_at(s) - k;
            sum += off * off;
            let sds = off.abs() / sd.max(1e-9);
            if sds > worst.0 {
                worst = (sds, s);
            }
        }
        ((sum / self.kappa.len() as f64).sqrt(), worst)
    }
}

fn on(knots: &[(f64, f64)], s: f64) -> f64 {
    let k = knots.partition_point(|k| k.0 <= s).clamp(1, knots.len() - 1);
    let (a, b) = (knots[k - 1], knots[k]);
    a.1 + ((s - a.0) / (b.0 - a.0)).clamp(0.0, 1.0) * (b.1 - a.1)
}

/// Joins wherever curvature or grade has one.
fn segments(chain: &Chain, grades: &[(f64, f64)]) -> Vec<Segment> {
    let length = chain.length();
    let mut joins: Vec<f64> = chain.s.clone();
    for &(s, _) in grades {
        if joins.iter().all(|j| (j - s).abs() > SLIVER) {
            joins.push(s);
        }
    }
    joins.sort_by(f64::total_cmp);
    let _ = length;
    joins
        .windows(2)
        .map(|w| Segment {
            length: w[1] - w[0],
            kappa: [
                chain.kappa_at(w[0]),
                if w[1] >= length { chain.kappa[chain.kappa.len() - 1] } else { chain.kappa_at(w[1]) },
            ],
            q: [on(grades, w[0]), on(grades, w[1])],
            phi: [0.0; 2],
            gamma: 1.0,
            place: None,
        })
        .collect()
}
