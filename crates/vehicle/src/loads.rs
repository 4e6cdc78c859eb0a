//! Demands and wheel loads (`docs/model.md` §§2, 3).

use crate::branches::Conditions;
use crate::model::Model;
use crate::road::Road;
use crate::scalar::Scalar;

/// Forces at axle level for a state (X, a_x) at a station.
#[derive(Clone, Copy, Debug)]
pub struct Axles<S> {
    /// A_n, m/s².
    pub a_n: S,
    /// A_y, m/s².
    pub a_y: S,
    /// N_f, N_r, N.
    pub n: [S; 2],
    /// F_yf, F_yr, N.
    pub f_y: [S; 2],
    /// F_x: total at the contact patches, drive +, N.
    pub f_x: S,
}

/// Wheel loads for a state, and how far from rolling over.
#[derive(Clone, Copy, Debug)]
pub struct Wheels<S> {
    /// Front left, front right, rear left, rear right, N; never below 0 while both axles press down.
    pub n: [S; 4],
    /// (t_f N_f + t_r N_r)/2 − |t_f ΔN_f + t_r ΔN_r|, N m; negative: it rolls over.
    pub rollover: S,
}

impl<S: Scalar> Model<S> {
    /// Demands, axle loads and the force at the contact patches: §2 and §3's first half.
    #[inline(always)]
    pub fn axles(&self, road: &Road<S>, x: S, a_x: S) -> Axles<S> {
        let a_n = road.n_0 + road.n_x * x;
        let a_y = road.y_0 + road.y_x * x;
        let m_a_n = self.m * a_n;
        let m_a_y = self.m * a_y;
        let m_a_x = self.m * (a_x + road.x_0);
        let n_df = self.lift_f * x;
        let n_dr = self.lift_r * x;
        let pitch = m_a_x * self.h_per_l;
        let n_f = m_a_n * self.share_f + n_df - pitch;
        let n_r = m_a_n * self.share_r + n_dr + pitch;
        let f_yf = m_a_y * self.share_f;
        let f_yr = m_a_y * self.share_r;
        let resistance = self.c_rr * (m_a_n + n_df + n_dr);
        let mut f_x = m_a_x + self.drag * x + resistance;
        if self.has_compliance {
            // An axle at the point of lifting is refused elsewhere; 1 N keeps the quotient finite there.
            let one = S::from(1.0);
            f_x = f_x + f_yf * f_yf * self.compliance_f / n_f.max(one) + f_yr * f_yr * self.compliance_r / n_r.max(one);
        }
        Axles { a_n, a_y, n: [n_f, n_r], f_y: [f_yf, f_yr], f_x }
    }

    /// Lateral transfer with wheel lift: §3's second half.
    #[inline(always)]
    pub fn wheels(&self, axles: &Axles<S>, conditions: &mut impl Conditions) -> Wheels<S> {
        let [n_f, n_r] = axles.n;
        let m_a_n_y = self.m * axles.a_n * self.y_cg;
        let elastic = self.m * axles.a_y * self.roll_arm;
        let mut d_f = (axles.f_y[0] * self.h_rf + self.chi * elastic + m_a_n_y * self.share_f) * self.per_t_f;
        let mut d_r = (axles.f_y[1] * self.h_rr + (-self.chi + 1.0) * elastic + m_a_n_y * self.share_r) * self.per_t_r;
        let rollover = (self.t_f * n_f + self.t_r * n_r) * 0.5 - (self.t_f * d_f + self.t_r * d_r).abs();
        let beyond = |d: S, n: S| d.abs() - n * 0.5;
        let signed = |d: S, v: S| if d.value() < 0.0 { -v } else { v };
        let e_f = beyond(d_f, n_f);
        if conditions.note(e_f.value() > 0.0) {
            d_r = d_r + signed(d_f, e_f) * self.t_f * self.per_t_r;
            d_f = signed(d_f, n_f * 0.5);
        }
        let e_r = beyond(d_r, n_r);
        if conditions.note(e_r.value() > 0.0) {
            d_f = d_f + signed(d_r, e_r) * self.t_r * self.per_t_f;
            d_r = signed(d_r, n_r * 0.5);
        }
        // Rounding must not leave a lifted wheel with 1e-13 N.
        let zero = S::from(0.0);
        let n = [
            (n_f * 0.5 - d_f).max(zero),
            (n_f * 0.5 + d_f).max(zero),
            (n_r * 0.5 - d_r).max(zero),
            (n_r * 0.5 + d_r).max(zero),
        ];
        Wheels { n, rollover }
    }
}
