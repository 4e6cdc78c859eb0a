//! The envelope of grip: may the car be at (X, a_x) here, as far as tyres, brakes and balance go (`docs/model.md`
//! §§3–5)?

use crate::branches::{Branches, Conditions, Free, Held};
use crate::car::{AntiLock, Layout};
use crate::loads::{Axles, Wheels};
use crate::model::Model;
use crate::road::Road;
use crate::scalar::Scalar;
use crate::tyre::{Patch, axle_hold, square_of_sum};

/// Which condition a slack belongs to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Bound {
    /// Front tyres' envelope.
    Front,
    /// Rear tyres' envelope.
    Rear,
    /// What both axles together can brake.
    Brakes,
    /// An axle would leave the ground.
    AxleLift,
    /// Rolling over.
    Rollover,
}

/// The tightest condition, and by how much it is met.
#[derive(Clone, Copy, Debug)]
pub struct Slack<S> {
    /// ≥ 0: feasible. Without unit (forces over weight, or their squares); it keeps falling beyond the limit.
    pub value: S,
    /// Whose it is.
    pub bound: Bound,
}

impl<S: Scalar> Slack<S> {
    #[inline(always)]
    fn tighten(&mut self, bound: Bound, conditions: &mut impl Conditions, value: impl FnOnce() -> S) {
        if !conditions.wants() {
            return;
        }
        let value = value();
        if conditions.tightest(value.value() < self.value.value()) {
            *self = Slack { value, bound };
        }
    }
}

impl<S: Scalar> Model<S> {
    /// Slack of the grip envelope at X = v² (m²/s²) and a_x (m/s²).
    #[cfg_attr(not(target_arch = "wasm32"), inline)]
    #[cfg_attr(target_arch = "wasm32", inline(never))]
    pub fn grip(&self, road: &Road<S>, x: S, a_x: S) -> Slack<S> {
        self.grip_by(road, x, a_x, &mut Free)
    }

    /// [`Model::grip`], and which way its conditions went.
    #[cfg_attr(not(target_arch = "wasm32"), inline)]
    #[cfg_attr(target_arch = "wasm32", inline(never))]
    pub fn grip_branches(&self, road: &Road<S>, x: S, a_x: S) -> (Slack<S>, Branches) {
        let mut branches = Branches::default();
        let slack = self.grip_by(road, x, a_x, &mut branches);
        (slack, branches)
    }

    /// [`Model::grip`] with its conditions held: the smooth continuation of one piece of the envelope.
    #[cfg_attr(not(target_arch = "wasm32"), inline)]
    #[cfg_attr(target_arch = "wasm32", inline(never))]
    pub fn grip_held(&self, road: &Road<S>, x: S, a_x: S, branches: Branches) -> Slack<S> {
        self.grip_by(road, x, a_x, &mut Held::from(branches))
    }

    #[inline(always)]
    fn grip_by(&self, road: &Road<S>, x: S, a_x: S, conditions: &mut impl Conditions) -> Slack<S> {
        let axles = self.axles(road, x, a_x);
        let wheels = self.wheels(&axles, conditions);
        self.grip_of(road, &axles, &wheels, conditions)
    }

    #[inline(always)]
    fn grip_of(
        &self,
        road: &Road<S>,
        axles: &Axles<S>,
        wheels: &Wheels<S>,
        conditions: &mut impl Conditions,
    ) -> Slack<S> {
        let per_weight = self.per_weight;
        let mut slack = Slack { value: S::from(f64::INFINITY), bound: Bound::AxleLift };
        slack.tighten(Bound::AxleLift, conditions, || axles.n[0] * per_weight);
        slack.tighten(Bound::AxleLift, conditions, || axles.n[1] * per_weight);
        slack.tighten(Bound::Rollover, conditions, || wheels.rollover * per_weight);

        let drive = conditions.note(axles.f_x.value() >= 0.0);
        let u_x = if drive { self.use_drive } else { self.use_braking } * road.gamma;
        let u_y = self.use_lateral * road.gamma;
        // Written out: array::map is not inlined here, and this is the innermost loop.
        let patch = [
            self.front.patch(wheels.n[0], self.per_n_0[0], u_x, u_y),
            self.front.patch(wheels.n[1], self.per_n_0[0], u_x, u_y),
            self.rear.patch(wheels.n[2], self.per_n_0[1], u_x, u_y),
            self.rear.patch(wheels.n[3], self.per_n_0[1], u_x, u_y),
        ];
        if drive {
            self.drive(axles, &patch, &mut slack, conditions);
        } else {
            let force = -axles.f_x;
            match self.brakes.anti_lock {
                AntiLock::None => self.brake_by_pedal(axles, force, &patch, &mut slack, conditions),
                AntiLock::FourChannel => self.brake_four_channel(axles, force, &patch, &mut slack, conditions),
                AntiLock::ThreeChannel => self.brake_three_channel(axles, force, &patch, &mut slack, conditions),
            }
        }
        slack
    }

    /// One axle of §4: its lateral demand held, and no wheel asked for more than μ_x N.
    #[inline(always)]
    fn axle(
        &self,
        patch: [Patch<S>; 2],
        f: [S; 2],
        f_y: S,
        bound: Bound,
        slack: &mut Slack<S>,
        conditions: &mut impl Conditions,
    ) {
        let per = self.per_weight * self.per_weight;
        slack.tighten(bound, conditions, || axle_hold(patch, f, f_y) * per);
        for i in 0..2 {
            // A lifted wheel that is asked for nothing is no limit.
            if conditions.note(f[i].value() != 0.0) {
                slack.tighten(bound, conditions, || (patch[i].c * patch[i].c - f[i] * f[i]) * per);
            }
        }
    }

    #[inline(always)]
    fn drive(&self, axles: &Axles<S>, patch: &[Patch<S>; 4], slack: &mut Slack<S>, conditions: &mut impl Conditions) {
        let zero = S::from(0.0);
        let force = axles.f_x;
        let (force_f, force_r) = match self.layout {
            Layout::Front => (force, zero),
            Layout::Rear => (zero, force),
            Layout::All => {
                let c_f = self.diff_f.capacity(patch[0].c, patch[1].c, conditions);
                let c_r = self.diff_r.capacity(patch[2].c, patch[3].c, conditions);
                let f = force * self.centre.share(c_f, c_r, conditions);
                (f, force - f)
            }
        };
        let front =
            if self.layout == Layout::Rear { [zero; 2] } else { self.diff_f.split(force_f, &patch[..2], conditions) };
        let rear =
            if self.layout == Layout::Front { [zero; 2] } else { self.diff_r.split(force_r, &patch[2..], conditions) };
        self.axle([patch[0], patch[1]], front, axles.f_y[0], Bound::Front, slack, conditions);
        self.axle([patch[2], patch[3]], rear, axles.f_y[1], Bound::Rear, slack, conditions);
    }

    #[inline(always)]
    fn brake_by_pedal(
        &self,
        axles: &Axles<S>,
        force: S,
        patch: &[Patch<S>; 4],
        slack: &mut Slack<S>,
        conditions: &mut impl Conditions,
    ) {
        let pedal = self.brakes.pedal(force, &[patch[0].c, patch[1].c, patch[2].c, patch[3].c], conditions);
        let spare = pedal.most * pedal.most - force * force;
        // Past the pedal's end the wheels' forces stand still: the shortfall keeps the slack falling.
        let shortfall = if conditions.note(spare.value() < 0.0) { spare } else { S::from(0.0) };
        let per = self.per_weight * self.per_weight;
        slack.tighten(Bound::Brakes, conditions, || spare * per);
        let f = pedal.f;
        let hold = |i: usize, j: usize, f_y| axle_hold([patch[i], patch[j]], [f[i], f[j]], f_y);
        slack.tighten(Bound::Front, conditions, || (hold(0, 1, axles.f_y[0]) + shortfall) * per);
        slack.tighten(Bound::Rear, conditions, || (hold(2, 3, axles.f_y[1]) + shortfall) * per);
    }

    /// (C_x² − (F_y C_x/C_y)², C_y² − F_y²) of an axle braked by anti-lock: what it can still brake, squared, and
    /// whether it holds at all.
    #[inline(always)]
    fn anti_lock_axle(patch: &[Patch<S>], f_y: S) -> (S, S) {
        let c_x = patch[0].c + patch[1].c;
        let c_y = patch[0].c_y + patch[1].c_y;
        let hold = c_y * c_y - f_y * f_y;
        if c_y.value() <= 0.0 {
            return (hold, hold);
        }
        let ratio = c_x / c_y;
        (hold * ratio * ratio, hold)
    }

    #[inline(always)]
    fn brake_four_channel(
        &self,
        axles: &Axles<S>,
        force: S,
        patch: &[Patch<S>; 4],
        slack: &mut Slack<S>,
        conditions: &mut impl Conditions,
    ) {
        let (spare_f, hold_f) = Self::anti_lock_axle(&patch[..2], axles.f_y[0]);
        let (spare_r, hold_r) = Self::anti_lock_axle(&patch[2..], axles.f_y[1]);
        let per = self.per_weight * self.per_weight;
        slack.tighten(Bound::Front, conditions, || hold_f * per);
        slack.tighten(Bound::Rear, conditions, || hold_r * per);
        slack.tighten(Bound::Brakes, conditions, || (square_of_sum(spare_f, spare_r) - force * force) * per);
    }

    #[inline(always)]
    fn brake_three_channel(
        &self,
        axles: &Axles<S>,
        force: S,
        patch: &[Patch<S>; 4],
        slack: &mut Slack<S>,
        conditions: &mut impl Conditions,
    ) {
        let (spare_f, hold_f) = Self::anti_lock_axle(&patch[..2], axles.f_y[0]);
        slack.tighten(Bound::Front, conditions, || hold_f * (self.per_weight * self.per_weight));
        let left = force - spare_f.sqrt();
        let each = if conditions.note(left.value() > 0.0) { left * 0.5 } else { S::from(0.0) };
        self.axle([patch[2], patch[3]], [each, each], axles.f_y[1], Bound::Rear, slack, conditions);
    }
}
