//! Sharing drive force between wheels and axles (`docs/model.md` §5, the sharing rule).

use crate::branches::Conditions;
use crate::scalar::Scalar;
use crate::tyre::Patch;

/// Bounds on carrier 1's share f_1/F that a device with nominal ratio r_0 and bias ratio B allows.
#[derive(Clone, Copy, Debug)]
pub struct Bounds<S> {
    lo: S,
    hi: S,
    /// B = ∞: no bounds, sharing by capacity.
    pub(crate) locked: bool,
}

impl<S: Scalar> Bounds<S> {
    /// From the nominal ratio r_0 = f_1/f_2 and the bias ratio B ≥ 1 (∞: shares by capacity).
    pub fn new(r_0: S, bias: S) -> Self {
        if bias.value().is_infinite() {
            return Self { lo: S::from(0.0), hi: S::from(1.0), locked: true };
        }
        let (low, high) = (r_0 / bias, r_0 * bias);
        Self { lo: low / (low + 1.0), hi: high / (high + 1.0), locked: false }
    }

    /// Carrier 1's share r/(1 + r) with r = clamp(c_1/c_2, r_0/B, r_0 B), written without the quotient so that a
    /// carrier that can carry nothing needs no special case.
    #[inline(always)]
    pub fn share(&self, c_1: S, c_2: S, conditions: &mut impl Conditions) -> S {
        let sum = c_1 + c_2;
        if sum.value() <= 0.0 {
            return (self.lo + self.hi) * 0.5;
        }
        if conditions.note(c_1.value() < self.lo.value() * sum.value()) {
            self.lo
        } else if conditions.note(c_1.value() > self.hi.value() * sum.value()) {
            self.hi
        } else {
            c_1 / sum
        }
    }
}

/// An axle's differential: bounds about equal shares, and its bias ratio.
#[derive(Clone, Copy, Debug)]
pub struct Differential<S> {
    pub(crate) bounds: Bounds<S>,
    pub(crate) bias: S,
}

impl<S: Scalar> Differential<S> {
    /// From the torque bias ratio (1 open, ∞ locked).
    pub fn new(bias: S) -> Self {
        Self { bounds: Bounds::new(S::from(1.0), bias), bias }
    }

    /// What the axle can pass: min(c_L + c_R, (1 + B) min(c_L, c_R)); c_L + c_R when locked.
    #[inline(always)]
    pub fn capacity(&self, c_l: S, c_r: S, conditions: &mut impl Conditions) -> S {
        let sum = c_l + c_r;
        if self.bounds.locked {
            return sum;
        }
        let least = if conditions.note(c_r.value() < c_l.value()) { c_r } else { c_l };
        let passed = (self.bias + 1.0) * least;
        if conditions.note(passed.value() < sum.value()) { passed } else { sum }
    }

    /// The two wheels' forces for the axle's `force`.
    #[inline(always)]
    pub fn split(&self, force: S, patch: &[Patch<S>], conditions: &mut impl Conditions) -> [S; 2] {
        let left = force * self.bounds.share(patch[0].c, patch[1].c, conditions);
        [left, force - left]
    }
}
