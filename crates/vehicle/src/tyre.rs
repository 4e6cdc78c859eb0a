//! The tyre: peak friction falling linearly with load, and a friction ellipse a wheel (`docs/model.md` §4).

use crate::car::Tyre;
use crate::scalar::Scalar;

/// Friction never falls below this share, however heavy the load (`docs/model.md` §4).
pub(crate) const MU_FLOOR: f64 = 0.05;

/// What one wheel's contact patch can carry.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Patch<S> {
    /// μ_x N: longitudinal capacity, N.
    pub c: S,
    /// μ_y N: lateral capacity, N.
    pub c_y: S,
    mu_x: S,
    mu_y: S,
}

impl<S: Scalar> Tyre<S> {
    /// μ_i(N)/(u γ γ_0) = max(μ_i0 + k_i (N/N_0 − 1), 0.05), the linear law of the Magic Formula's peak factor
    /// (H. B. Pacejka, *Tire and Vehicle Dynamics*); `load` is N/N_0.
    #[inline(always)]
    pub fn mu(&self, mu_0: S, k: S, load: S) -> S {
        (mu_0 + k * (load - 1.0)).max(S::from(MU_FLOOR))
    }

    /// Capacity at load `n`, N; `per_n_0` is 1/N_0, and `u_x`, `u_y` hold u γ γ_0 for the two directions.
    #[inline(always)]
    pub fn patch(&self, n: S, per_n_0: S, u_x: S, u_y: S) -> Patch<S> {
        let load = n * per_n_0;
        let mu_x = self.mu(self.mu_x0, self.k_x, load) * u_x;
        let mu_y = self.mu(self.mu_y0, self.k_y, load) * u_y;
        Patch { c: mu_x * n, c_y: mu_y * n, mu_x, mu_y }
    }
}

/// √e_1 + √e_2, squared, with √ odd (√−e = −√e) and so is the square: where a wheel is asked for more than it can carry
/// this goes on smoothly and keeps falling, as root finders and continued pieces of the envelope want it.
#[inline(always)]
pub(crate) fn square_of_sum<S: Scalar>(e_1: S, e_2: S) -> S {
    let p = e_1 * e_2;
    let sum = e_1 + e_2;
    if p.value() >= 0.0 {
        let cross = p.sqrt() * 2.0;
        return if sum.value() >= 0.0 { sum + cross } else { sum - cross };
    }
    let apart = if e_1.value() > 0.0 { e_1 - e_2 } else { e_2 - e_1 };
    let square = apart - (-p).sqrt() * 2.0;
    if sum.value() >= 0.0 { square } else { -square }
}

/// By how much an axle holds its lateral force `f_y` while its wheels carry `f`: (Σ μ_y N √(1 − (f/μ_x N)²))² − F_y²
/// in N² (§4's axle condition, squared: nearly quadratic, so easy on root finders). Both patches may carry `f`.
#[inline(always)]
pub(crate) fn axle_hold<S: Scalar>(patch: [Patch<S>; 2], f: [S; 2], f_y: S) -> S {
    // One quotient for both wheels: divisions are what an evaluation spends its time on.
    let [p, q] = patch;
    let per = S::from(1.0) / (p.mu_x * q.mu_x);
    let left_over = |patch: Patch<S>, other: Patch<S>, f: S| {
        let lat_per_long = patch.mu_y * other.mu_x * per;
        (patch.c * patch.c - f * f) * (lat_per_long * lat_per_long)
    };
    square_of_sum(left_over(p, q, f[0]), left_over(q, p, f[1])) - f_y * f_y
}
