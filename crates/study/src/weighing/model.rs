//! What the pads show of a car of given numbers: the unknowns, and the reading that follows from them.

use nalgebra::DVector;
use unladen_vehicle::G;

use super::{Loads, Raised, Reading, Weighing};

pub(super) const M: usize = 0;
pub(super) const A: usize = 1;
pub(super) const Y: usize = 2;
pub(super) const H: usize = 3;
pub(super) const L: usize = 4;
pub(super) const R: usize = 5;
pub(super) const GAIN: usize = 7;
pub(super) const PAD: usize = 8;
/// What one diagonal carries more than the CG asks for, kg a wheel at the front: springs, not the CG.
pub(super) const WEDGE: usize = 12;
pub(super) const FIRST_LIFT: usize = 13;

impl Weighing {
    /// What a pad (0…3), the front axle (4) or the rear axle (5) would show.
    ///
    /// The line of wheel centres is turned by θ, rear up positive: L sin θ + (r_r − r_f)(cos θ − 1) = H. Seen from the
    /// front wheels' centre, CG at x′ = a cos θ − (h − r_f) sin θ of L′ = L cos θ − (r_r − r_f) sin θ; the rear carries
    /// m x′/L′.
    pub(super) fn predict(&self, reading: &Reading, k: usize, p: &DVector<f64>, what: usize) -> f64 {
        let (l, mut r_f, mut r_r) = (p[L], p[R], p[R + 1]);
        let pads = reading.pads;
        let slope = 0.5 * (pads[2] + pads[3] - pads[0] - pads[1]);
        let mut height = slope;
        if let Some((raised, _)) = reading.lift {
            height += if raised == Raised::Rear { p[FIRST_LIFT + k] } else { -p[FIRST_LIFT + k] };
            // Tyres give way under what comes onto the low axle, and recover under what leaves the high one.
            let gained = p[M] * (p[H] - r_f) * (height / l) / l * G;
            if let Some(rate) = self.geometry.tyre_rate[0] {
                r_f -= gained / (2.0 * rate);
            }
            if let Some(rate) = self.geometry.tyre_rate[1] {
                r_r += gained / (2.0 * rate);
            }
            height += (r_r - p[R + 1]) - (r_f - p[R]);
        }
        let d = p[R + 1] - p[R];
        let theta = turned(l, d, height);
        let (sin, cos) = theta.sin_cos();
        let shift: f64 = self
            .fluids
            .iter()
            .map(|f| {
                let along = f.length * f.length / (12.0 * f.depth) * theta.tan();
                f.mass * (along * cos + 0.5 * along * theta.tan() * sin)
            })
            .sum();
        let behind = p[M] * (p[A] * cos - (p[H] - p[R]) * sin) - shift;
        let rear = behind / (l * cos - d * sin);
        let axle = [p[M] - rear, rear];
        let gain = 1.0 + p[GAIN];
        match what {
            4 => gain * axle[0] + p[PAD] + p[PAD + 1],
            5 => gain * axle[1] + p[PAD + 2] + p[PAD + 3],
            pad => {
                // Half the axle, and its part of the offset to the side: m y, shared as the axles carry weight. A lean
                // of the pads moves the CG sideways by h times it.
                let [f, r] = self.sides(&pads);
                let lean = if pad < 2 { f } else { r };
                let y = p[Y] + p[H] * lean;
                let (i, right) = (pad / 2, pad % 2 == 1);
                let off = axle[i] * y / self.geometry.track[i];
                let wedge = if i == 0 { p[WEDGE] } else { -p[WEDGE] * self.geometry.track[0] / self.geometry.track[1] };
                let more = off + wedge;
                gain * (0.5 * axle[i] + if right { more } else { -more }) + p[PAD + pad]
            }
        }
    }

    /// How much each axle's pads lean, right side down positive.
    fn sides(&self, pads: &[f64; 4]) -> [f64; 2] {
        [(pads[0] - pads[1]) / self.geometry.track[0], (pads[2] - pads[3]) / self.geometry.track[1]]
    }
}

/// θ of L sin θ + d (cos θ − 1) = H, by Newton from H/L.
fn turned(l: f64, d: f64, height: f64) -> f64 {
    let mut theta = (height / l).clamp(-1.0, 1.0).asin();
    for _ in 0..6 {
        let (sin, cos) = theta.sin_cos();
        theta -= (l * sin + d * (cos - 1.0) - height) / (l * cos - d * sin);
    }
    theta
}

pub(super) const NAMES: [&str; 6] = ["front left", "front right", "rear left", "rear right", "front axle", "rear axle"];

pub(super) fn axles(loads: &Loads) -> [f64; 2] {
    match *loads {
        Loads::Corners(c) => [c[0] + c[1], c[2] + c[3]],
        Loads::Axles(a) => a,
        Loads::Front(f) => [f, 0.0],
        Loads::Rear(r) => [0.0, r],
    }
}

pub(super) fn has_corners(reading: &Reading) -> bool {
    reading.lift.is_none() && matches!(reading.loads, Loads::Corners(_))
}

/// (what, value, pads in it).
pub(super) fn observed(reading: &Reading) -> Vec<(usize, f64, usize)> {
    match reading.loads {
        // With an axle raised the car leans on its springs in ways of its own: axles only.
        Loads::Corners([a, b, c, d]) if !has_corners(reading) => vec![(4, a + b, 2), (5, c + d, 2)],
        Loads::Corners(c) => c.iter().enumerate().map(|(i, v)| (i, *v, 1)).collect(),
        Loads::Axles([f, r]) => vec![(4, f, 2), (5, r, 2)],
        Loads::Front(f) => vec![(4, f, 2)],
        Loads::Rear(r) => vec![(5, r, 2)],
    }
}
