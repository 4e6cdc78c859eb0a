//! Reverse mode: numbers that write down on a tape how they were made, so that one run back over it gives the
//! derivatives of a result with respect to all that went into it, however many. [`crate::Dual`] is for few.

use std::cell::RefCell;
use std::ops::{Add, Div, Mul, Neg, Sub};

use crate::scalar::Scalar;

/// What has been worked out so far: each entry's derivatives with respect to earlier ones.
#[derive(Debug, Default)]
pub struct Tape(RefCell<Vec<Entry>>);

/// Two earlier entries and the derivatives with respect to them; where there is only one, the other's is 0.
#[derive(Clone, Copy, Debug)]
struct Entry {
    of: [u32; 2],
    d: [f64; 2],
}

/// The second of an entry's earlier ones, where it marks that the first is a root: of the entry right before the mark,
/// whose slope over the root is the first derivative.
const ROOT: u32 = u32::MAX;

/// A number on a tape; a plain one until it meets another that is.
#[derive(Clone, Copy, Debug)]
pub struct Var<'t> {
    v: f64,
    at: u32,
    tape: Option<&'t Tape>,
    /// Slopes over the unknown of the root that is being worked out, and over that of a root around it.
    d: [f64; 2],
}

impl Tape {
    /// How many entries it has.
    pub fn len(&self) -> usize {
        self.0.borrow().len()
    }

    /// Nothing on it.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// Wipes it; its room stays.
    pub fn clear(&mut self) {
        self.0.get_mut().clear();
    }

    /// A number that others are made of.
    pub fn variable(&self, v: f64) -> Var<'_> {
        Var { v, at: self.push(Entry { of: [0; 2], d: [0.0; 2] }), tape: Some(self), d: [0.0; 2] }
    }

    #[inline(always)]
    fn push(&self, entry: Entry) -> u32 {
        let mut all = self.0.borrow_mut();
        all.push(entry);
        all.len() as u32 - 1
    }

    /// The z at which f(z) = 0, known: its derivatives follow from f's by the implicit function theorem.
    pub fn root<'t>(&'t self, z: f64, f: impl FnOnce(Var<'t>) -> Var<'t>) -> Var<'t> {
        let mut unknown = self.variable(z);
        unknown.d = [1.0, 0.0];
        let r = f(unknown);
        unknown.d = [0.0, if r.d[0] == 0.0 { 0.0 } else { -r.d[1] / r.d[0] }];
        self.mark(unknown, r, r.d[0]);
        unknown
    }

    /// [`Tape::root`] of an f that has roots of its own.
    pub fn outer_root<'t>(&'t self, z: f64, f: impl FnOnce(Var<'t>) -> Var<'t>) -> Var<'t> {
        let mut unknown = self.variable(z);
        unknown.d = [0.0, 1.0];
        let r = f(unknown);
        unknown.d = [0.0; 2];
        self.mark(unknown, r, r.d[1]);
        unknown
    }

    fn mark<'t>(&'t self, unknown: Var<'t>, r: Var<'t>, slope: f64) {
        if r.tape.is_some() && slope != 0.0 {
            // The mark looks at the entry before it.
            self.push(Entry { of: [r.at; 2], d: [1.0, 0.0] });
            self.push(Entry { of: [unknown.at, ROOT], d: [slope, 0.0] });
        }
    }

    /// Derivatives of `result` with respect to the first `n` entries, apart for each part of the tape: part i begins
    /// with entry `begins[i]`, and the first `n` entries come before them all. A derivative is put down to the part in
    /// which those entries, or what was made of them alone before the first part, are used.
    pub fn derivatives(&self, result: Var<'_>, n: usize, begins: &[usize]) -> Vec<Vec<f64>> {
        let all = self.0.borrow();
        let mut by = vec![0.0; all.len()];
        if result.tape.is_some() {
            by[result.at as usize] = 1.0;
        }
        // Hands the derivatives with respect to each entry on to those it is made of, from the last to the first.
        let back = |by: &mut [f64], from: usize, to: usize| {
            for i in (from..to).rev() {
                let Entry { of, d } = all[i];
                if of[1] == ROOT {
                    by[i - 1] = -std::mem::take(&mut by[of[0] as usize]) / d[0];
                    continue;
                }
                let by_i = by[i];
                if by_i != 0.0 {
                    by[of[0] as usize] += by_i * d[0];
                    by[of[1] as usize] += by_i * d[1];
                }
            }
        };
        let before = begins.first().copied().unwrap_or(all.len());
        let mut end = all.len();
        let mut parts = vec![];
        for &begin in begins.iter().rev() {
            back(&mut by, begin, end);
            // What this part asked of the entries before all parts, and no longer theirs.
            let mut shared = by[..before].to_vec();
            by[..before].fill(0.0);
            back(&mut shared, n, before);
            shared.truncate(n);
            parts.push(shared);
            end = begin;
        }
        parts.reverse();
        parts
    }
}

// By a call in a browser's module, which is much smaller for it.
impl Var<'_> {
    #[cfg_attr(not(target_arch = "wasm32"), inline(always))]
    #[cfg_attr(target_arch = "wasm32", inline(never))]
    fn one(self, v: f64, d: f64) -> Self {
        match self.tape {
            Some(tape) => {
                let at = tape.push(Entry { of: [self.at; 2], d: [d, 0.0] });
                Self { v, at, d: [d * self.d[0], d * self.d[1]], ..self }
            }
            None => v.into(),
        }
    }

    #[cfg_attr(not(target_arch = "wasm32"), inline(always))]
    #[cfg_attr(target_arch = "wasm32", inline(never))]
    fn two(self, o: Self, v: f64, d: [f64; 2]) -> Self {
        match (self.tape, o.tape) {
            (Some(tape), Some(_)) => {
                let at = tape.push(Entry { of: [self.at, o.at], d });
                let slope = |lane: usize| d[0] * self.d[lane] + d[1] * o.d[lane];
                Self { v, at, d: [slope(0), slope(1)], ..self }
            }
            (Some(_), None) => self.one(v, d[0]),
            (None, _) => o.one(v, d[1]),
        }
    }
}

impl Default for Var<'_> {
    fn default() -> Self {
        Self::from(0.0)
    }
}

impl From<f64> for Var<'_> {
    #[inline(always)]
    fn from(v: f64) -> Self {
        Self { v, at: 0, tape: None, d: [0.0; 2] }
    }
}

impl Add for Var<'_> {
    type Output = Self;
    #[inline(always)]
    fn add(self, o: Self) -> Self {
        self.two(o, self.v + o.v, [1.0, 1.0])
    }
}

impl Sub for Var<'_> {
    type Output = Self;
    #[inline(always)]
    fn sub(self, o: Self) -> Self {
        self.two(o, self.v - o.v, [1.0, -1.0])
    }
}

impl Mul for Var<'_> {
    type Output = Self;
    #[inline(always)]
    fn mul(self, o: Self) -> Self {
        self.two(o, self.v * o.v, [o.v, self.v])
    }
}

impl Div for Var<'_> {
    type Output = Self;
    #[inline(always)]
    fn div(self, o: Self) -> Self {
        let (q, r) = (self.v / o.v, 1.0 / o.v);
        self.two(o, q, [r, -q * r])
    }
}

impl Neg for Var<'_> {
    type Output = Self;
    #[inline(always)]
    fn neg(self) -> Self {
        self.one(-self.v, -1.0)
    }
}

impl Add<f64> for Var<'_> {
    type Output = Self;
    #[inline(always)]
    fn add(self, o: f64) -> Self {
        Self { v: self.v + o, ..self }
    }
}

impl Sub<f64> for Var<'_> {
    type Output = Self;
    #[inline(always)]
    fn sub(self, o: f64) -> Self {
        Self { v: self.v - o, ..self }
    }
}

impl Mul<f64> for Var<'_> {
    type Output = Self;
    #[inline(always)]
    fn mul(self, o: f64) -> Self {
        self.one(self.v * o, o)
    }
}

impl Div<f64> for Var<'_> {
    type Output = Self;
    #[inline(always)]
    fn div(self, o: f64) -> Self {
        self.one(self.v / o, 1.0 / o)
    }
}

impl Scalar for Var<'_> {
    const HAS_DERIVATIVES: bool = true;

    #[inline(always)]
    fn value(self) -> f64 {
        self.v
    }
    #[inline(always)]
    fn sqrt(self) -> Self {
        if self.v > 0.0 {
            let v = self.v.sqrt();
            self.one(v, 0.5 / v)
        } else {
            0.0.into()
        }
    }
    #[inline(always)]
    fn sin(self) -> Self {
        self.one(self.v.sin(), self.v.cos())
    }
    #[inline(always)]
    fn cos(self) -> Self {
        self.one(self.v.cos(), -self.v.sin())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn same(a: f64, b: f64) {
        assert!((a - b).abs() < 1e-14 * b.abs(), "{a} {b}");
    }

    fn gradient<'t>(tape: &'t Tape, n: usize, result: Var<'t>, begin: usize) -> Vec<f64> {
        tape.derivatives(result, n, &[begin]).remove(0)
    }

    #[test]
    fn closed_form_of_every_operation() {
        let tape = Tape::default();
        let (x, y) = (tape.variable(1.3), tape.variable(0.4));
        let begin = tape.len();
        let r = (x * y + x / y - -y).sqrt() * 2.0 + (x - 1.0).sin() * (y + 1.0).cos() / 3.0;
        let got = gradient(&tape, 2, r, begin);
        let root = (1.3f64 * 0.4 + 1.3 / 0.4 + 0.4).sqrt();
        let by_x = (0.4 + 1.0 / 0.4) / root + 0.3f64.cos() * 1.4f64.cos() / 3.0;
        let by_y = (1.3 - 1.3 / 0.16 + 1.0) / root - 0.3f64.sin() * 1.4f64.sin() / 3.0;
        same(got[0], by_x);
        same(got[1], by_y);
    }

    /// z = √p from z² = p, and w = p^¼ from w² = z: dz/dp = 1/2z, dw/dp = 1/4w³; used twice, and one within the other.
    #[test]
    fn closed_form_of_roots_within_roots() {
        let tape = Tape::default();
        let p = tape.variable(16.0);
        let begin = tape.len();
        let z = tape.root(4.0, |z| z * z - p);
        same(gradient(&tape, 1, z * z * z, begin)[0], 1.5 * 4.0);
        let w = tape.outer_root(2.0, |w| {
            let z = tape.root(4.0, |z| z * z - p * w / w);
            w * w - z
        });
        same(gradient(&tape, 1, w, begin)[0], 1.0 / 32.0);
    }

    #[test]
    fn parts_add_up() {
        let tape = Tape::default();
        let p = tape.variable(3.0);
        let twice = p * 2.0;
        let begins = [tape.len(), tape.len() + 1];
        let square = twice * twice;
        let parts = tape.derivatives(square * twice, 1, &begins);
        assert_eq!(parts, [[2.0 * 2.0 * 6.0 * 6.0], [2.0 * 36.0]]);
    }
}
