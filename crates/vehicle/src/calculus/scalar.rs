//! The one short bound that the equations are written over: a plain number, or a number with derivatives.

use std::ops::{Add, Div, Mul, Neg, Sub};

/// What the equations need of a number. `f64` gives values, [`Dual`] values and exact derivatives.
pub trait Scalar:
    Copy
    + Default
    + From<f64>
    + Add<Output = Self>
    + Sub<Output = Self>
    + Mul<Output = Self>
    + Div<Output = Self>
    + Neg<Output = Self>
    + Add<f64, Output = Self>
    + Sub<f64, Output = Self>
    + Mul<f64, Output = Self>
    + Div<f64, Output = Self>
{
    /// Carries derivatives: then terms whose value is 0 still count.
    const HAS_DERIVATIVES: bool;

    /// The value without its derivatives.
    fn value(self) -> f64;
    /// Square root; of a number that is not positive: 0, with no derivative (the callers' limit at a wheel without
    /// load).
    fn sqrt(self) -> Self;
    /// Sine, argument in rad.
    fn sin(self) -> Self;
    /// Cosine, argument in rad.
    fn cos(self) -> Self;

    /// |x|; at 0 the derivative of +x.
    #[inline(always)]
    fn abs(self) -> Self {
        if self.value() < 0.0 { -self } else { self }
    }
    /// The smaller; of equals the first.
    #[inline(always)]
    fn min(self, other: Self) -> Self {
        if other.value() < self.value() { other } else { self }
    }
    /// The larger; of equals the first.
    #[inline(always)]
    fn max(self, other: Self) -> Self {
        if other.value() > self.value() { other } else { self }
    }
}

impl Scalar for f64 {
    const HAS_DERIVATIVES: bool = false;

    #[inline(always)]
    fn value(self) -> f64 {
        self
    }
    #[inline(always)]
    fn sqrt(self) -> f64 {
        f64::sqrt(f64::max(self, 0.0))
    }
    #[inline(always)]
    fn sin(self) -> f64 {
        f64::sin(self)
    }
    #[inline(always)]
    fn cos(self) -> f64 {
        f64::cos(self)
    }
}

/// A number and its derivatives with respect to `N` chosen numbers (forward mode).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Dual<const N: usize> {
    /// The value.
    pub v: f64,
    /// The derivatives.
    pub d: [f64; N],
}

impl<const N: usize> Dual<N> {
    /// A number that is the `i`-th of the chosen ones.
    pub fn variable(v: f64, i: usize) -> Self {
        let mut d = [0.0; N];
        d[i] = 1.0;
        Self { v, d }
    }

    /// f(self) from its value and slope there.
    #[inline(always)]
    fn chain(self, v: f64, slope: f64) -> Self {
        Self { v, d: std::array::from_fn(|i| slope * self.d[i]) }
    }
}

impl<const N: usize> Default for Dual<N> {
    fn default() -> Self {
        Self::from(0.0)
    }
}

impl<const N: usize> From<f64> for Dual<N> {
    #[inline(always)]
    fn from(v: f64) -> Self {
        Self { v, d: [0.0; N] }
    }
}

impl<const N: usize> Add for Dual<N> {
    type Output = Self;
    #[inline(always)]
    fn add(self, o: Self) -> Self {
        Self { v: self.v + o.v, d: std::array::from_fn(|i| self.d[i] + o.d[i]) }
    }
}

impl<const N: usize> Sub for Dual<N> {
    type Output = Self;
    #[inline(always)]
    fn sub(self, o: Self) -> Self {
        Self { v: self.v - o.v, d: std::array::from_fn(|i| self.d[i] - o.d[i]) }
    }
}

impl<const N: usize> Mul for Dual<N> {
    type Output = Self;
    // The product rule adds.
    #[expect(clippy::suspicious_arithmetic_impl)]
    #[inline(always)]
    fn mul(self, o: Self) -> Self {
        Self { v: self.v * o.v, d: std::array::from_fn(|i| self.d[i] * o.v + self.v * o.d[i]) }
    }
}

impl<const N: usize> Div for Dual<N> {
    type Output = Self;
    #[inline(always)]
    fn div(self, o: Self) -> Self {
        let q = self.v / o.v;
        let r = 1.0 / o.v;
        Self { v: q, d: std::array::from_fn(|i| (self.d[i] - q * o.d[i]) * r) }
    }
}

impl<const N: usize> Neg for Dual<N> {
    type Output = Self;
    #[inline(always)]
    fn neg(self) -> Self {
        self.chain(-self.v, -1.0)
    }
}

impl<const N: usize> Add<f64> for Dual<N> {
    type Output = Self;
    #[inline(always)]
    fn add(self, o: f64) -> Self {
        Self { v: self.v + o, d: self.d }
    }
}

impl<const N: usize> Sub<f64> for Dual<N> {
    type Output = Self;
    #[inline(always)]
    fn sub(self, o: f64) -> Self {
        Self { v: self.v - o, d: self.d }
    }
}

impl<const N: usize> Mul<f64> for Dual<N> {
    type Output = Self;
    #[inline(always)]
    fn mul(self, o: f64) -> Self {
        self.chain(self.v * o, o)
    }
}

impl<const N: usize> Div<f64> for Dual<N> {
    type Output = Self;
    #[inline(always)]
    fn div(self, o: f64) -> Self {
        self.chain(self.v / o, 1.0 / o)
    }
}

impl<const N: usize> Scalar for Dual<N> {
    const HAS_DERIVATIVES: bool = true;

    #[inline(always)]
    fn value(self) -> f64 {
        self.v
    }
    #[inline(always)]
    fn sqrt(self) -> Self {
        if self.v > 0.0 {
            let v = self.v.sqrt();
            self.chain(v, 0.5 / v)
        } else {
            Self::from(0.0)
        }
    }
    #[inline(always)]
    fn sin(self) -> Self {
        self.chain(self.v.sin(), self.v.cos())
    }
    #[inline(always)]
    fn cos(self) -> Self {
        self.chain(self.v.cos(), -self.v.sin())
    }
}
