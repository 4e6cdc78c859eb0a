//! Sharing brake force (`docs/model.md` §5, brakes with and without anti-lock).

use crate::branches::Conditions;
use crate::car::Brakes;
use crate::scalar::Scalar;

/// Brake forces of the four wheels without anti-lock, and what the pedal can reach at most.
pub(crate) struct Pedal<S> {
    /// Front left, front right, rear left, rear right, N ≥ 0.
    pub f: [S; 4],
    /// The total when both wheels of one axle have locked: the pedal goes no further.
    pub most: S,
}

/// Each wheel's force grows with pedal force P as (offset + rate P)/2 until its capacity, where it locks.
struct Line<S> {
    rate: S,
    offset: S,
}

impl<S: Scalar> Brakes<S> {
    /// Rear axle force per pedal force at the current piece of the limiter.
    #[inline(always)]
    fn rear(&self, above_knee: bool) -> Line<S> {
        let rate = -self.beta_f + 1.0;
        match self.rear_limiter {
            Some(l) if above_knee => Line { rate: rate * l.slope, offset: l.knee * (-l.slope + 1.0) },
            _ => Line { rate, offset: S::from(0.0) },
        }
    }

    /// P at which the rear axle's force reaches `force`.
    #[inline(always)]
    fn rear_pedal(&self, force: S) -> S {
        let above = self.rear_limiter.is_some_and(|l| force.value() > l.knee.value());
        let line = self.rear(above);
        if line.rate.value() <= 0.0 { S::from(f64::INFINITY) } else { (force - line.offset) / line.rate }
    }

    /// Wheel forces at P, each wheel locked or not.
    #[inline(always)]
    fn forces(&self, p: S, c: &[S; 4], above_knee: bool, locked: [bool; 4]) -> [S; 4] {
        let line = self.rear(above_knee);
        let front = p * self.beta_f * 0.5;
        let rear = (p * line.rate + line.offset) * 0.5;
        [
            if locked[0] { c[0] } else { front },
            if locked[1] { c[1] } else { front },
            if locked[2] { c[2] } else { rear },
            if locked[3] { c[3] } else { rear },
        ]
    }

    #[inline(always)]
    fn above_knee(&self, p: S) -> bool {
        self.rear_limiter.is_some_and(|l| (p * (-self.beta_f + 1.0)).value() > l.knee.value())
    }

    #[inline(always)]
    fn locked(&self, p: S, c: &[S; 4], above_knee: bool) -> [bool; 4] {
        let free = self.forces(p, c, above_knee, [false; 4]);
        let beyond = |i: usize| c[i].value() < free[i].value();
        [beyond(0), beyond(1), beyond(2), beyond(3)]
    }

    /// Wheel forces that sum to `force` (or the most the pedal reaches), for wheel capacities `c`.
    ///
    /// The sum is concave and piecewise linear in P, so taking the pieces that the last P has passed and solving again
    /// climbs to the root in at most one step a piece.
    #[inline(always)]
    pub(crate) fn pedal<W: Conditions>(&self, force: S, c: &[S; 4], conditions: &mut W) -> Pedal<S> {
        let beta_f = self.beta_f;
        let front_end = if beta_f.value() > 0.0 { c[0].max(c[1]) * 2.0 / beta_f } else { S::from(f64::INFINITY) };
        let p_end = front_end.min(self.rear_pedal(c[2].max(c[3]) * 2.0));
        let above_knee = self.above_knee(p_end);
        let at_end = self.forces(p_end, c, above_knee, self.locked(p_end, c, above_knee));
        let most = at_end[0] + at_end[1] + at_end[2] + at_end[3];
        if conditions.note(force.value() >= most.value()) {
            return Pedal { f: at_end, most };
        }
        let (mut above_knee, mut locked) = (false, [false; 4]);
        if !W::HELD {
            let mut p = force;
            for _ in 0..6 {
                above_knee = self.above_knee(p);
                locked = self.locked(p, c, above_knee);
                let next = self.solve(force, c, above_knee, locked);
                let climbs = next.value() > p.value();
                if !climbs {
                    break;
                }
                p = next;
            }
        }
        above_knee = conditions.note(above_knee);
        for wheel in &mut locked {
            *wheel = conditions.note(*wheel);
        }
        let p = self.solve(force, c, above_knee, locked);
        Pedal { f: self.forces(p, c, above_knee, locked), most }
    }

    /// P at which the wheels' forces sum to `force`, each wheel locked or not.
    #[inline(always)]
    fn solve(&self, force: S, c: &[S; 4], above_knee: bool, locked: [bool; 4]) -> S {
        let rear = self.rear(above_knee);
        let zero = S::from(0.0);
        let lines = [(self.beta_f, zero), (self.beta_f, zero), (rear.rate, rear.offset), (rear.rate, rear.offset)];
        let (mut rate, mut rest) = (zero, force);
        for i in 0..4 {
            if locked[i] {
                rest = rest - c[i];
            } else {
                rate = rate + lines[i].0 * 0.5;
                rest = rest - lines[i].1 * 0.5;
            }
        }
        rest / rate
    }
}
