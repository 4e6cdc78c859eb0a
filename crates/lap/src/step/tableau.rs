//! One step of the profile: a three-stage, third-order, L-stable method whose last stage is the step's end.
//!
//! R. Alexander, SIAM J. Numer. Anal. 14(6), 1977 (diagonally implicit, γ the middle root of γ³ − 3γ² + 3γ/2 − 1/6).
//! Every stage is one scalar equation: find a_x where the line X = x_base + k a_x meets the edge of the feasible set.
//! L-stability keeps traces from zigzagging where the profile is pulled hard towards a ceiling, and no slope is needed
//! at the start, where it may jump. Between the stages X is of lower order: what happens there wants [`Poly::leaving_at`],
//! or a step that ends there.

use unladen_vehicle::Scalar;

/// γ.
const G: f64 = 0.435_866_521_508_459;

/// Where the stages lie, as a share of the step.
pub const C: [f64; 3] = [G, 0.5 * (1.0 + G), 1.0];

/// Weights of earlier stages' slopes and, on the diagonal, of a stage's own.
pub const A: [[f64; 3]; 3] = [
    [G, 0.0, 0.0],
    [0.5 * (1.0 - G), G, 0.0],
    [-0.25 * (6.0 * G * G - 16.0 * G + 1.0), 0.25 * (6.0 * G * G - 20.0 * G + 5.0), G],
];

/// Coefficients in τ of the quadratics that are 1 at one stage and 0 at the others.
const LAGRANGE: [[f64; 3]; 3] = {
    let mut l = [[0.0; 3]; 3];
    let mut i = 0;
    while i < 3 {
        let (p, q) = (C[(i + 1) % 3], C[(i + 2) % 3]);
        let d = (C[i] - p) * (C[i] - q);
        l[i] = [p * q / d, -(p + q) / d, 1.0 / d];
        i += 1;
    }
    l
};

/// X over a step, a cubic in τ = 0…1 that meets the method's own end value.
#[derive(Clone, Copy, Debug)]
pub struct Poly<S = f64> {
    /// Coefficients of 1, τ, τ², τ³, m²/s².
    pub c: [S; 4],
}

impl<S: Scalar> Poly<S> {
    /// From the start value, the step's signed length (m) and the stages' slopes dX/ds (m/s²).
    pub fn new(x_0: S, length: S, slope: [S; 3]) -> Self {
        let coefficient = |k: usize| {
            (slope[0] * LAGRANGE[0][k] + slope[1] * LAGRANGE[1][k] + slope[2] * LAGRANGE[2][k]) * length
                / (k as f64 + 1.0)
        };
        Self { c: [x_0, coefficient(0), coefficient(1), coefficient(2)] }
    }

    /// The cubic between the same ends with the slopes that X has there, where the start's is known: nearer to X between the
    /// stages, whose own values are of lower order.
    pub fn leaving_at(self, length: S, slope: [S; 2]) -> Self {
        let rise = self.at(S::from(1.0)) - self.c[0];
        let [p, q] = slope.map(|slope| slope * length);
        Self { c: [self.c[0], p, rise * 3.0 - p * 2.0 - q, p + q - rise * 2.0] }
    }

    /// X at τ.
    #[inline(always)]
    pub fn at(&self, tau: S) -> S {
        ((self.c[3] * tau + self.c[2]) * tau + self.c[1]) * tau + self.c[0]
    }

    /// dX/dτ.
    #[inline(always)]
    pub fn slope(&self, tau: S) -> S {
        (self.c[3] * tau * 3.0 + self.c[2] * 2.0) * tau + self.c[1]
    }
}

/// ∫ ds/(v cosθ) over τ = `from`…`to` of a step of `length` m (> 0); `sec` gives 1/cosθ at τ.
///
/// Integrated over speed rather than distance, so that a standing start (X = 0) is no singularity.
pub fn travel_time<S: Scalar>(poly: &Poly<S>, length: S, from: S, to: S, sec: impl Fn(S) -> S) -> S {
    // Gauss–Legendre, 3 points on 0…1.
    const NODES: [f64; 3] = [0.112_701_665_379_258_3, 0.5, 0.887_298_334_620_741_7];
    const WEIGHTS: [f64; 3] = [5.0 / 18.0, 8.0 / 18.0, 5.0 / 18.0];
    let (v_0, v_1) = (poly.at(from).sqrt(), poly.at(to).sqrt());
    let sum = v_0 + v_1;
    let mut t = S::from(0.0);
    for (u, w) in NODES.into_iter().zip(WEIGHTS) {
        let v = v_0 + (v_1 - v_0) * u;
        let tau = from + (to - from) * (v_0 * 2.0 + (v_1 - v_0) * u) * u / sum;
        t = t + v / poly.at(tau).sqrt() * sec(tau) * w;
    }
    t * (to - from) * length * 2.0 / sum
}
