//! What ends a step of the forward pass: gears change, limits change hands, K is met.

use unladen_vehicle::Model;

use crate::backward::brake::Braking;
use crate::forward::gears::{ROLLING, next_gear, rolling};
use crate::forward::profile::{Event, Gears, Regime, Upshift};
use crate::set::connected;
use crate::set::pull::{Demand, Engaged, Pull, advantage, mode_a};
use crate::step::arc::Arc;
use crate::step::mesh::Mesh;

/// Modes whose a_x differ by less pull alike, m/s².
pub const TIE: f64 = 1e-9;

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

/// A step as tried, up to the end that was asked for.
pub struct Tried {
    /// X along it.
    pub arc: Arc,
    /// The engine's state.
    pub engaged: Engaged,
    /// What it follows.
    pub regime: Regime,
    /// The other regime's slack at its end.
    pub at_end: f64,
    /// Neither regime holds over it.
    pub leads_out: bool,
}

impl Tried {
    /// Where X is met, τ.
    fn tau_at(&self, x: f64) -> f64 {
        root(|tau| self.arc.poly.at(tau) - x)
    }

    fn rises(&self) -> bool {
        self.arc.poly.at(1.0) > self.arc.poly.at(0.0)
    }
}

/// The first event so far: whatever happens comes before the end.
struct First {
    tau: f64,
    event: Event,
}

impl First {
    fn offer(&mut self, tau: f64, event: Event) {
        if tau < self.tau || self.event == Event::End {
            (self.tau, self.event) = (tau, event);
        }
    }
}

impl Events<'_> {
    /// The other regime's slack along a step: a step along grip may pass joints of the torque curve.
    pub fn turn(&self, arc: &Arc, engaged: Engaged, regime: Regime, tau: f64) -> f64 {
        let road = self.mesh.road_in(&self.mesh.cells[arc.cell], arc.place(tau));
        let (x, a_x) = (arc.poly.at(tau), arc.a_x(self.mesh, &road, tau));
        match regime {
            Regime::Grip => Pull::new(self.model, engaged.at(x)).slack(self.model, &road, x, a_x),
            Regime::Power => connected::grip(self.model, &road, x, a_x),
        }
    }

    /// What ends a step, and at which τ.
    pub fn first_event(&self, tried: &Tried, gears: Gears) -> (f64, Event) {
        let mut first = First { tau: 1.0, event: Event::End };
        self.meet_k(tried, &mut first);
        self.change_hands(tried, &mut first);
        match gears {
            Gears::Shifting { elapsed, .. } => {
                self.end_shift(tried, elapsed, &mut first);
                self.cannot_roll(&tried.arc, &mut first);
            }
            Gears::Braking => {}
            Gears::In { mode, up } => {
                self.leave_range(tried, mode, &mut first);
                if let Upshift::Due { .. } = up {
                    self.can_roll(&tried.arc, &mut first);
                }
                self.find_better(tried, mode, up, &mut first);
            }
        }
        (first.tau, first.event)
    }

    /// K is met: a braking curve, a ceiling at the cell's end, the limiter in top gear.
    fn meet_k(&self, tried: &Tried, first: &mut First) {
        let (arc, x_1, k_1) = (&tried.arc, tried.arc.poly.at(1.0), self.k.k[tried.arc.cell + 1]);
        match self.k.at(arc.cell, arc.share[1]) {
            Some(k) if x_1 >= k => {
                let k = |tau| self.k.at(arc.cell, arc.place(tau)).unwrap_or(f64::INFINITY);
                first.offer(root(|tau| arc.poly.at(tau) - k(tau)), Event::Braking);
            }
            None if arc.share[1] == 1.0 && x_1 > k_1 && k_1 < self.k.x_limit => first.offer(1.0, Event::Ceiling),
            _ => {}
        }
        if x_1 > self.k.x_limit {
            first.offer(tried.tau_at(self.k.x_limit), Event::Limiter);
        }
    }

    /// Grip takes over from power, or power from grip.
    fn change_hands(&self, tried: &Tried, first: &mut First) {
        if tried.at_end < 0.0 {
            let tau = root(|tau| self.turn(&tried.arc, tried.engaged, tried.regime, tau));
            if tau > 1e-9 {
                first.offer(tau, Event::Turn);
            }
        }
    }

    /// The shift is over.
    fn end_shift(&self, tried: &Tried, elapsed: f64, first: &mut First) {
        let left = |tau: f64| {
            let dt = if tau > 0.0 { tried.arc.time(self.mesh, 0.0, tau) } else { 0.0 };
            elapsed + dt - self.model.gearing.shift_time
        };
        if left(1.0) > 0.0 {
            first.offer(root(left), Event::ShiftEnd);
        }
    }

    /// The speed leaves what the gear, or the piece of its torque curve, is for.
    fn leave_range(&self, tried: &Tried, mode: usize, first: &mut First) {
        let (gearing, x_1) = (&self.model.gearing, tried.arc.poly.at(1.0));
        let x_end = gearing.modes[mode].x_end;
        if tried.rises() && mode + 1 < gearing.modes.len() && x_1 > x_end {
            first.offer(tried.tau_at(x_end), Event::ModeEnd);
        }
        if let (Engaged::Mode { x, .. }, Regime::Power) = (tried.engaged, tried.regime) {
            let (_, [lo, hi]) = gearing.piece_at(mode, x);
            if x_1 > hi {
                first.offer(tried.tau_at(hi), Event::Piece(true));
            } else if x_1 < lo {
                first.offer(tried.tau_at(lo), Event::Piece(false));
            }
        }
    }

    /// Slack of rolling along a step.
    fn rolling(&self, arc: &Arc, tau: f64) -> f64 {
        let road = self.mesh.road_in(&self.mesh.cells[arc.cell], arc.place(tau));
        rolling(self.model, &road, arc.poly.at(tau))
    }

    /// A shift that waits can start.
    fn can_roll(&self, arc: &Arc, first: &mut First) {
        if self.rolling(arc, 1.0) >= 0.0 {
            first.offer(root(|tau| self.rolling(arc, tau)), Event::Rolls);
        }
    }

    /// A shift has to wait.
    fn cannot_roll(&self, arc: &Arc, first: &mut First) {
        let end = first.tau;
        if self.rolling(arc, end) < ROLLING {
            first.offer(end * root(|u| self.rolling(arc, end * u)), Event::RollsNoMore);
        }
    }

    /// Another gear comes to pull better, looked for up to the first event so far. Without shift time it takes over; with
    /// it a higher one takes over by a shift only, and a lower one that has pulled better all along was left on purpose.
    fn find_better(&self, tried: &Tried, mode: usize, up: Upshift, first: &mut First) {
        let (arc, model, gearing) = (&tried.arc, self.model, &self.model.gearing);
        let (end, modes, timed) = (first.tau, &gearing.modes, gearing.shift_time > 0.0);
        let road_at = |tau: f64| self.mesh.road_in(&self.mesh.cells[arc.cell], arc.place(tau));
        let below_end = |x: f64| x.min(modes[mode].x_end * (1.0 - 2e-12));
        let x = below_end(arc.poly.at(end));
        let is_higher = |to: usize| timed && modes[to].gear > modes[mode].gear;
        let is_lower = |to: usize| timed && modes[to].gear < modes[mode].gear;
        let next = if timed && up == Upshift::Ahead { next_gear(gearing, mode) } else { None };
        let may = |&to: &usize| to != mode && x < modes[to].x_end && (!is_higher(to) || next == Some(to));
        if !(0..modes.len()).any(|to| may(&to)) {
            return;
        }
        let at_end = match tried.regime {
            // The step's last stage is what this gear can do.
            Regime::Power if timed && end == 1.0 && x == arc.poly.at(end) => {
                Demand::of_all(model, mode, x, arc.a[2], TIE)
            }
            _ => {
                let road = road_at(end);
                let own = mode_a(model, &road, mode, x).unwrap_or(f64::INFINITY);
                Demand::new(model, &road, x, own + TIE)
            }
        };
        let mut at_start = None;
        for to in (0..modes.len()).filter(may).filter(|&to| at_end.below(model, to)) {
            if is_lower(to) {
                let at_start = at_start.get_or_insert_with(|| {
                    let (road, x) = (road_at(0.0), below_end(arc.poly.at(0.0)));
                    let own = mode_a(model, &road, mode, x).unwrap_or(f64::INFINITY);
                    Demand::new(model, &road, x, own + TIE)
                });
                if at_start.below(model, to) {
                    continue;
                }
            }
            let x_to = modes[to].x_end;
            if arc.poly.at(0.0) >= x_to {
                let tau = tried.tau_at(x_to * (1.0 - 1e-9));
                if advantage(model, &road_at(tau), mode, to, arc.poly.at(tau)) >= 0.0 {
                    first.offer(tau, Event::Under(to));
                    continue;
                }
            }
            let gain = |u: f64| {
                let tau = end * u;
                advantage(model, &road_at(tau), mode, to, below_end(arc.poly.at(tau)))
            };
            // Just changed from that gear: only if it comes to pull better again.
            let from = if gain(0.0).abs() <= TIE { AGAIN } else { 0.0 };
            // Beyond where an axle lifts a gear's a_x means nothing, and it may not be better at the end after all.
            if gain(from) < -TIE && gain(1.0) < -TIE {
                continue;
            }
            let u = from + (1.0 - from) * root(|u| gain(from + (1.0 - from) * u));
            first.offer(end * u, if is_higher(to) { Event::UpshiftSpeed(to) } else { Event::Better(to) });
        }
    }
}
