//! Lines that the positions do not rule out, drawn as likely as they are.

use crate::centre::Line;
use crate::curve::banded::Factors;
use crate::curve::noise::Noise;
use crate::curve::polyline::{Shape, kappa_of};

/// The last smoothing: offsets from a line and the precision of them all together.
#[derive(Clone, Debug)]
pub(crate) struct Open {
    pub(crate) about: Shape,
    pub(crate) offsets: Vec<f64>,
    pub(crate) factors: Factors,
}

/// The smoothing of heights: what they are at the nodes, and the precision of all together.
#[derive(Clone, Debug)]
pub(crate) struct Rise {
    pub(crate) heights: Vec<f64>,
    pub(crate) factors: Factors,
}

impl Line {
    /// Another line that these positions might be of: a draw from the smoother's posterior (G. Wahba, J. R. Stat. Soc.
    /// B 45, 1983: bands of curvature by it cover the truth along the line on average; from memory), given its rates
    /// and noise. Heights stay. `None` for a line that was not found from positions.
    pub fn drawn(&self, seed: u64) -> Option<Line> {
        self.off_by(seed, 1.0)
    }

    /// The line as far off to the other side: half the difference of what the two give is free of what only their
    /// roughness does.
    pub fn drawn_against(&self, seed: u64) -> Option<Line> {
        self.off_by(seed, -1.0)
    }

    /// This line with other heights that these might be of, and with heights as far off the other way; `None` without.
    pub fn climbing(&self, seed: u64) -> Option<[Line; 2]> {
        let rise = self.rise.as_ref()?;
        let mut noise = Noise::new(seed);
        let off = rise.factors.sample(rise.heights.iter().map(|_| noise.normal()).collect());
        Some([1.0, -1.0].map(|sign| {
            let z: Vec<f64> = rise.heights.iter().zip(&off).map(|(z, off)| z + sign * off).collect();
            let sds = self.slope.iter().flatten().map(|slope| slope.1);
            let slope = slopes(&z, self.step_m, self.closed).into_iter().zip(sds).collect();
            Line { slope: Some(slope), z: Some(z), rise: None, ..self.clone() }
        }))
    }

    fn off_by(&self, seed: u64, sign: f64) -> Option<Line> {
        let open = self.open.as_ref()?;
        let mut noise = Noise::new(seed);
        let z = open.offsets.iter().map(|_| sign * noise.normal()).collect();
        let offsets: Vec<f64> = open.factors.sample(z).iter().zip(&open.offsets).map(|(a, b)| a + b).collect();
        let points = open.about.moved(&offsets);
        let step_m = Shape::of(&points, self.closed).step;
        Some(Line { kappa: kappa_of(&points, self.closed), points, step_m, open: None, ..self.clone() })
    }
}

/// Slopes of heights at nodes, by both neighbours.
fn slopes(heights: &[f64], step: f64, closed: bool) -> Vec<f64> {
    let n = heights.len();
    let slope = |i: usize| {
        let m = if closed { i } else { i.clamp(1, n - 2) };
        (heights[(m + 1) % n] - heights[(m + n - 1) % n]) / (2.0 * step)
    };
    (0..n).map(slope).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::centre::{Run, Wish};
    use std::f64::consts::PI;

    /// Draws scatter about the line's curvature as its standard deviation says.
    #[test]
    fn property_draws_scatter_as_stated() {
        let mut noise = Noise::new(8);
        let mut point = |i: i32| {
            let angle = 2.0 * PI * f64::from(i) / 1500.0;
            let radius = 60.0 + 8.0 * (3.0 * angle).cos();
            [radius * angle.sin(), -radius * angle.cos()].map(|x| x + 0.5 * noise.normal())
        };
        let run = Run { points: (0..1500).map(&mut point).collect(), ..Run::default() };
        let wish = Wish { closed: true, noise_m: None, height_noise_m: None };
        let line = Line::through(&[run], wish).unwrap();
        let draws: Vec<Line> = (1..=60).map(|seed| line.drawn(seed).unwrap()).collect();
        let n = line.kappa.len();
        let z2 = |d: &Line| (0..n).map(|i| ((d.kappa[i] - line.kappa[i]) / line.kappa_sd[i]).powi(2)).sum::<f64>();
        let mean = draws.iter().map(z2).sum::<f64>() / (60 * n) as f64;
        // 60 draws of a curve that is alike over some ten places each: its χ² is known to 6 %.
        assert!((mean - 1.0).abs() < 0.25, "{mean}");
        assert!(line.drawn(1).unwrap().points == draws[0].points && draws[0].drawn(1).is_none());
    }
}
