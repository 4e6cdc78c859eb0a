//! The road at a station, as the car feels it.

use crate::car::G;
use crate::scalar::Scalar;

/// Shape of the road at a point of the path (`docs/model.md` §1), axes ISO 8855.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Shape<S = f64> {
    /// κ: curvature in plan, left +, 1/m.
    pub kappa: S,
    /// q = tanθ: slope, up +.
    pub q: S,
    /// q′ = dq/ds, 1/m.
    pub dq: f64,
    /// φ: bank, right side up +, rad.
    pub phi: S,
    /// γ: local grip factor.
    pub gamma: f64,
}

/// The demands of `docs/model.md` §2 split into what X = v² multiplies and what it does not.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Road<S = f64> {
    /// A_n at X = 0: g cosθ cosφ, m/s².
    pub n_0: S,
    /// dA_n/dX: κ cos²θ sinφ + κ_v cosφ, 1/m.
    pub n_x: S,
    /// A_y at X = 0: −g cosθ sinφ, m/s².
    pub y_0: S,
    /// dA_y/dX: κ cos²θ cosφ − κ_v sinφ, 1/m.
    pub y_x: S,
    /// A_x − a_x: g sinθ, m/s².
    pub x_0: S,
    /// cosθ.
    pub cos_theta: S,
    /// γ.
    pub gamma: f64,
}

impl<S: Scalar> Shape<S> {
    /// The demands' coefficients.
    pub fn road(&self) -> Road<S> {
        let cos_theta = S::from(1.0) / (self.q * self.q + 1.0).sqrt();
        // Of most roads the bank is 0: there sine and cosine are spared.
        let level = self.phi.value() == 0.0;
        let (sin_phi, cos_phi) = if level { (self.phi, S::from(1.0)) } else { (self.phi.sin(), self.phi.cos()) };
        let kappa_v = cos_theta * cos_theta * cos_theta * self.dq;
        let kappa_plan = self.kappa * cos_theta * cos_theta;
        Road {
            n_0: cos_theta * cos_phi * G,
            n_x: kappa_plan * sin_phi + kappa_v * cos_phi,
            y_0: -(cos_theta * sin_phi * G),
            y_x: kappa_plan * cos_phi - kappa_v * sin_phi,
            x_0: self.q * cos_theta * G,
            cos_theta,
            gamma: self.gamma,
        }
    }
}

impl Road<f64> {
    /// The same road over another kind of number.
    pub fn lift<S: Scalar>(&self) -> Road<S> {
        Road {
            n_0: self.n_0.into(),
            n_x: self.n_x.into(),
            y_0: self.y_0.into(),
            y_x: self.y_x.into(),
            x_0: self.x_0.into(),
            cos_theta: self.cos_theta.into(),
            gamma: self.gamma,
        }
    }
}
