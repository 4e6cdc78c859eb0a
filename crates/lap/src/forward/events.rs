//! What ends a step of the forward pass, and the state it leaves: gears change, limits change hands, K is met.

use unladen_vehicle::Model;
use unladen_vehicle::road::Road;

use crate::backward::brake::Braking;
use crate::forward::profile::{Event, Gears, Regime, State, Step};
use crate::set::connected;
use crate::set::pull::{Engaged, Pull, advantage, best_mode, mode_a, pulls_better};
use crate::step::arc::Arc;
use crate::step::mesh::Mesh;

/// A downshift is due below this share of the speed of the last upshift (`docs/model.md` §6), squared.
pub const KEPT: f64 = 0.85 * 0.85;

/// Modes whose a_x differ by less pull alike, m/s².
const TIE: f64 = 1e-9;

/// A gear that pulls just as well as the one in use is not gone back to over this share of a step.
const AGAIN: f64 = 0.05;

/// Root of f on 0…1 that has f(0) ≤ 0 < f(1) (or the reverse), by regula falsi with bisection.
pub fn root(f: impl Fn(f64) -> f64) -> f64 {
    let (mut a, mut b) = (0.0, 1.0);
    let (mut f_a, mut f_b) = (f(a), f(b));
    if f_a == 0.0 || (f_a > 0.0) == (f_b > 0.0) {
        // A root that stands on the end may look missed to the last bit.
        return if f_b.abs() < 1e-12 * f_a.abs() { 1.0 } else { 0.0 };
    }
    let mut side = 0;
    for _ in 0..100 {
        let mut c = a + (b - a) * f_a / (f_a - f_b);
        if !(c > a && c < b) {
            c = 0.5 * (a + b);
        }
        let f_c = f(c);
        if f_c == 0.0 || b - a < 1e-15 {
            return c;
        }
        if (f_c > 0.0) == (f_b > 0.0) {
            if b - c < 1e-15 {
                return c;
            }
            (b, f_b) = (c, f_c);
            if side == 1 {
                f_a *= 0.5;
            }
            side = 1;
        } else {
            if c - a < 1e-15 {
                return c;
            }
            (a, f_a) = (c, f_c);
            if side == -1 {
                f_b *= 0.5;
            }
            side = -1;
        }
    }
    b
}

/// Finds the events of steps, for one car under one K.
pub struct Events<'a> {
    /// Stations.
    pub mesh: &'a Mesh,
    /// Car.
    pub model: &'a Model,
    /// K.
    pub k: &'a Braking,
}

impl Events<'_> {
    /// Gear and shift at a step's start, after what is due at once.
    pub fn due(&self, road: &Road, state: State) -> Gears {
        let modes = &self.model.gearing.modes;
        match state.gears {
            Gears::In { kept: Some(x_up), .. } if state.x < x_up * KEPT * (1.0 - 1e-12) => {
                Gears::In { mode: best_mode(self.model, road, state.x), kept: None }
            }
            Gears::In { mode, .. } if mode + 1 < modes.len() && state.x >= modes[mode].x_end * (1.0 - 1e-12) => {
                self.up(mode, mode + 1, state.x)
            }
            gears => gears,
        }
    }

    /// The other regime's slack along a step.
    pub fn turn(&self, arc: &Arc, pull: &Pull<f64>, regime: Regime, tau: f64) -> f64 {
        let road = self.mesh.road_in(&self.mesh.cells[arc.cell], arc.place(tau));
        let (x, a_x) = (arc.poly.at(tau), arc.a_x(self.mesh, &road, tau));
        match regime {
            Regime::Grip => pull.slack(self.model, &road, x, a_x),
            Regime::Power => connected::grip(self.model, &road, x, a_x),
        }
    }

    /// What ends the step, and at which τ; `at_end` is the other regime's slack at τ = 1.
    pub fn first_event(
        &self,
        arc: &Arc,
        gears: Gears,
        now: Engaged,
        pull: &Pull<f64>,
        regime: Regime,
        at_end: f64,
    ) -> (f64, Event) {
        let (i, poly, gearing) = (arc.cell, &arc.poly, &self.model.gearing);
        let x_1 = poly.at(1.0);
        let rising = x_1 > poly.at(0.0);
        let first = std::cell::Cell::new((1.0, Event::End));
        let offer = |tau: f64, event: Event| {
            if tau < first.get().0 || first.get().1 == Event::End {
                first.set((tau, event));
            }
        };
        let reach = |x: f64| root(|tau| poly.at(tau) - x);
        match self.k.at(i, arc.share[1]) {
            Some(k) if x_1 >= k => {
                offer(root(|tau| poly.at(tau) - self.k.at(i, arc.place(tau)).unwrap_or(f64::INFINITY)), Event::Braking);
            }
            None if arc.share[1] == 1.0 && x_1 > self.k.k[i + 1] && self.k.k[i + 1] < self.k.x_limit => {
                offer(1.0, Event::Ceiling);
            }
            _ => {}
        }
        if x_1 > self.k.x_limit {
            offer(reach(self.k.x_limit), Event::Limiter);
        }
        if at_end < 0.0 {
            let tau = root(|tau| self.turn(arc, pull, regime, tau));
            if tau > 1e-9 {
                offer(tau, Event::Turn);
            }
        }
        let (mode, kept) = match gears {
            Gears::Shifting { elapsed, .. } => {
                let left = |tau: f64| {
                    let dt = if tau > 0.0 { arc.time(self.mesh, 0.0, tau) } else { 0.0 };
                    elapsed + dt - gearing.shift_time
                };
                if left(1.0) > 0.0 {
                    offer(root(left), Event::ShiftEnd);
                }
                return first.get();
            }
            Gears::Braking => return first.get(),
            Gears::In { mode, kept } => (mode, kept),
        };
        let is_last = mode + 1 == gearing.modes.len();
        let x_end = gearing.modes[mode].x_end;
        if rising && !is_last && x_1 > x_end {
            offer(reach(x_end), Event::ModeEnd);
        }
        if let (Engaged::Mode { x, .. }, Regime::Power) = (now, regime) {
            let (_, [lo, hi]) = gearing.piece_at(mode, x);
            if x_1 > hi {
                offer(reach(hi), Event::Piece(true));
            } else if x_1 < lo {
                offer(reach(lo), Event::Piece(false));
            }
        }
        if let Some(x_up) = kept
            && x_1 < x_up * KEPT
        {
            offer(reach(x_up * KEPT), Event::TooSlow);
        }
        // A better gear, looked for up to the first event so far.
        let end = first.get().0;
        let cell = &self.mesh.cells[i];
        let road = self.mesh.road_in(cell, arc.place(end));
        let below_end = |x: f64| x.min(x_end * (1.0 - 2e-12));
        let x = below_end(poly.at(end));
        let candidates = if gearing.shift_time > 0.0 {
            // Where no upshift holds this gear a lower one is taken as soon as it pulls better.
            let lowest = if kept.is_none() { 0 } else { mode };
            let next = if rising && !is_last { mode + 1 } else { mode };
            lowest..next + 1
        } else {
            0..gearing.modes.len()
        };
        let own = mode_a(self.model, &road, mode, x).unwrap_or(f64::INFINITY);
        for to in candidates.filter(|&to| to != mode) {
            if pulls_better(self.model, &road, to, x, own + TIE) {
                let x_to = gearing.modes[to].x_end;
                if poly.at(0.0) >= x_to {
                    let tau = reach(x_to * (1.0 - 1e-9));
                    let road = self.mesh.road_in(cell, arc.place(tau));
                    if advantage(self.model, &road, mode, to, poly.at(tau)) >= 0.0 {
                        offer(tau, Event::Under(to));
                        continue;
                    }
                }
                let gain = |u: f64| {
                    let tau = end * u;
                    let road = self.mesh.road_in(cell, arc.place(tau));
                    advantage(self.model, &road, mode, to, below_end(poly.at(tau)))
                };
                // Just changed from that gear: only if it comes to pull better again.
                let from = if gain(0.0).abs() <= TIE { AGAIN } else { 0.0 };
                let u = from + (1.0 - from) * root(|u| gain(from + (1.0 - from) * u));
                offer(end * u, Event::Better(to));
            }
        }
        first.get()
    }

    /// The state once a step has ended as it did.
    pub fn after(&self, step: &Step) -> State {
        let (arc, tau) = (&step.arc, step.tau);
        let mut after = State { x: arc.poly.at(tau), on_k: false, gears: step.gears };
        if let Gears::Shifting { to, elapsed, x_up } = step.gears {
            let dt = if tau > 0.0 { arc.time(self.mesh, 0.0, tau) } else { 0.0 };
            after.gears = Gears::Shifting { to, elapsed: elapsed + dt, x_up };
        }
        match (step.event, step.gears) {
            (Event::Braking | Event::Limiter, _) => after.on_k = true,
            (Event::Ceiling, _) => {
                after.on_k = true;
                after.x = self.k.k[arc.cell + 1];
            }
            (Event::Piece(upper), Gears::In { mode, .. }) => {
                // Exactly on the joint, so that the next piece is the one beyond it.
                if let Engaged::Mode { x, .. } = step.engaged {
                    let (_, [lo, hi]) = self.model.gearing.piece_at(mode, x);
                    after.x = if upper { hi } else { lo };
                }
            }
            (Event::ModeEnd, Gears::In { mode, .. }) => {
                after.x = self.model.gearing.modes[mode].x_end;
                after.gears = self.up(mode, mode + 1, after.x);
            }
            (Event::Better(to), Gears::In { mode, .. }) => {
                after.gears = if to > mode { self.up(mode, to, after.x) } else { Gears::In { mode: to, kept: None } };
            }
            (Event::Under(to), _) => after.gears = Gears::In { mode: to, kept: None },
            (Event::ShiftEnd, Gears::Shifting { to, x_up, .. }) => {
                after.gears = Gears::In { mode: to, kept: Some(x_up) };
            }
            (Event::TooSlow, _) => {
                let road = self.mesh.road_in(&self.mesh.cells[arc.cell], arc.place(tau));
                after.gears = Gears::In { mode: best_mode(self.model, &road, after.x), kept: None };
            }
            _ => {}
        }
        after
    }

    /// Up a gear: at once where the clutch only stops slipping or shifts cost nothing.
    fn up(&self, from: usize, to: usize, x_up: f64) -> Gears {
        if self.model.gearing.shift_time > 0.0 && !self.model.gearing.modes[from].slipping {
            Gears::Shifting { to, elapsed: 0.0, x_up }
        } else {
            Gears::In { mode: to, kept: None }
        }
    }
}
