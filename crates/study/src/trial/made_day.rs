//! Days made in numbers: what the estimator is measured on, and what a plan's power is found by.

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};
use statrs::distribution::{ContinuousCDF, Normal};

use super::fit::mixture::beforehand;
use super::fit::noise::Noise;
use super::laps::{Mark, TimedLap};

/// What is true of a day.
#[derive(Clone, Debug, PartialEq)]
pub struct MadeDay {
    /// What is fitted, run by run: with the change or without.
    pub order: Vec<bool>,
    /// Flying laps a run.
    pub laps: usize,
    /// A lap's time, s.
    pub lap_s: f64,
    /// What the change gains, s.
    pub gain_s: f64,
    /// Standard deviation of a lap, s.
    pub scatter_s: f64,
    /// How laps lean on each other and on stops; `None`: drawn from what is usual.
    pub noise: Option<Noise>,
    /// The track's trend, s an hour.
    pub drift_s_per_h: f64,
    /// How long a stop takes, s.
    pub stop_s: f64,
    /// Share of laps that traffic or a mistake slows, and by how much in the mean, s (exponential).
    pub slowed: (f64, f64),
    /// Share of laps that were timed wrongly, and by how much at most, s (even, either way).
    pub mistimed: (f64, f64),
    /// Fuel burnt a lap, kg, and what a kilogram is worth, s.
    pub fuel: (f64, f64),
    /// Filled up at every stop; else only when the change comes or goes.
    pub fills: bool,
}

impl MadeDay {
    /// A quiet day.
    pub fn new(order: &[bool], laps: usize, gain_s: f64, scatter_s: f64) -> Self {
        Self {
            order: order.to_vec(),
            laps,
            lap_s: 76.0,
            gain_s,
            scatter_s,
            noise: None,
            drift_s_per_h: 0.0,
            stop_s: 1200.0,
            slowed: (0.0, 0.0),
            mistimed: (0.0, 0.0),
            fuel: (0.0, 0.0),
            fills: true,
        }
    }

    /// Its laps; the same seed and number give the same.
    pub fn laps(&self, seed: u64, number: u64) -> Vec<TimedLap> {
        let mut draws = Chance::new(seed, number);
        let noise = self.noise.unwrap_or_else(|| draws.noise());
        let mut all = Vec::new();
        let (mut clock_s, mut burnt_kg) = (0.0, 0.0);
        for (run, &changed) in self.order.iter().enumerate() {
            if run > 0 {
                clock_s += self.stop_s;
                if self.fills || self.order[run - 1] != changed {
                    burnt_kg = 0.0;
                }
            }
            let step = noise.tau * draws.normal();
            let mut off = draws.normal();
            for lap in 0..self.laps {
                if lap > 0 {
                    off = noise.phi * off + (1.0 - noise.phi * noise.phi).sqrt() * draws.normal();
                }
                let drift = self.drift_s_per_h * clock_s / 3600.0;
                let gain = if changed { self.gain_s } else { 0.0 };
                let fuel = -self.fuel.1 * burnt_kg;
                let mut time_s = self.lap_s - gain + drift + fuel + self.scatter_s * (off + step);
                // Drawn whether or not they are used: a day's laps are the same with and without traffic.
                let (a, b, c, d) = (draws.even(), draws.even(), draws.even(), draws.even());
                if a < self.slowed.0 {
                    time_s -= self.slowed.1 * b.ln();
                }
                if c < self.mistimed.0 {
                    time_s += self.mistimed.1 * (2.0 * d - 1.0);
                }
                let mark = Mark::Flying;
                all.push(TimedLap { run, lap, changed, block: 0, day: 0, clock_s, burnt_kg, time_s, mark });
                clock_s += time_s;
                burnt_kg += self.fuel.0;
            }
        }
        all
    }
}

/// Numbers drawn for one day.
pub struct Chance {
    generator: ChaCha8Rng,
    normal: Normal,
}

impl Chance {
    /// The same seed and number give the same draws.
    pub fn new(seed: u64, number: u64) -> Self {
        let mut generator = ChaCha8Rng::seed_from_u64(seed);
        generator.set_stream(number);
        Self { generator, normal: Normal::standard() }
    }

    /// Even between 0 and 1, both excluded.
    pub fn even(&mut self) -> f64 {
        ((self.generator.next_u64() >> 11) as f64 + 0.5) / (1u64 << 53) as f64
    }

    /// Standard normal.
    pub fn normal(&mut self) -> f64 {
        let even = self.even();
        self.normal.inverse_cdf(even)
    }

    /// χ² over its degrees of freedom, by Wilson and Hilferty's cube (Proc. Natl. Acad. Sci. 17 (1931) 684).
    pub fn chi_squared(&mut self, freedom: f64) -> f64 {
        let a = 2.0 / (9.0 * freedom);
        (1.0 - a + a.sqrt() * self.normal()).max(0.05).powi(3)
    }

    /// From what is usual.
    pub fn noise(&mut self) -> Noise {
        let mut at = self.even();
        let all = beforehand();
        let last = all.last().map_or(Noise::NONE, |l| l.0);
        all.into_iter()
            .find(|(_, weight)| {
                at -= weight;
                at < 0.0
            })
            .map_or(last, |found| found.0)
    }
}
