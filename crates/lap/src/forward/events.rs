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

/// A step as tried, up to the end that was asked for.
pub struct Tried {
    /// X along it.
    pub arc: Arc,
    /// The engine's state.
    pub engaged: Engaged,
    /// What the engine can do in it.
    pub pull: Pull<f64>,
    /// What it follows.
    pub regime: Regime,
    /// The other regime's slack at its end.
    pub at_end: f64,
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

    /// What ends a step, and at which τ.
    pub fn first_event(&self, tried: &Tried, gears: Gears) -> (f64, Event) {
        let mut first = First { tau: 1.0, event: Event::End };
        self.meet_k(tried, &mut first);
        self.change_hands(tried, &mut first);
        match gears {
            Gears::Shifting { elapsed, .. } => self.end_shift(tried, elapsed, &mut first),
            Gears::Braking => {}
            Gears::In { mode, kept } => {
                self.leave_range(tried, mode, kept, &mut first);
                self.find_better(tried, mode, kept, &mut first);
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
            let tau = root(|tau| self.turn(&tried.arc, &tried.pull, tried.regime, tau));
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

    /// The speed leaves what the gear, the piece of its torque curve or the last upshift is for.
    fn leave_range(&self, tried: &Tried, mode: usize, kept: Option<f64>, first: &mut First) {
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
        if let Some(x_up) = kept
            && x_1 < x_up * KEPT
        {
            first.offer(tried.tau_at(x_up * KEPT), Event::TooSlow);
        }
    }

    /// Another gear comes to pull better, looked for up to the first event so far.
    fn find_better(&self, tried: &Tried, mode: usize, kept: Option<f64>, first: &mut First) {
        let (arc, gearing) = (&tried.arc, &self.model.gearing);
        let end = first.tau;
        let road_at = |tau: f64| self.mesh.road_in(&self.mesh.cells[arc.cell], arc.place(tau));
        let below_end = |x: f64| x.min(gearing.modes[mode].x_end * (1.0 - 2e-12));
        let (road, x) = (road_at(end), below_end(arc.poly.at(end)));
        let own = mode_a(self.model, &road, mode, x).unwrap_or(f64::INFINITY);
        for to in self.others(mode, kept, tried.rises()) {
            if !pulls_better(self.model, &road, to, x, own + TIE) {
                continue;
            }
            let x_to = gearing.modes[to].x_end;
            if arc.poly.at(0.0) >= x_to {
                let tau = tried.tau_at(x_to * (1.0 - 1e-9));
                if advantage(self.model, &road_at(tau), mode, to, arc.poly.at(tau)) >= 0.0 {
                    first.offer(tau, Event::Under(to));
                    continue;
                }
            }
            let gain = |u: f64| {
                let tau = end * u;
                advantage(self.model, &road_at(tau), mode, to, below_end(arc.poly.at(tau)))
            };
            // Just changed from that gear: only if it comes to pull better again.
            let from = if gain(0.0).abs() <= TIE { AGAIN } else { 0.0 };
            let u = from + (1.0 - from) * root(|u| gain(from + (1.0 - from) * u));
            first.offer(end * u, Event::Better(to));
        }
    }

    /// Modes that may be changed to (`docs/model.md` §6): any where shifts cost nothing; else the next one while the car
    /// gains speed and, where no upshift holds this gear, a lower one.
    fn others(&self, mode: usize, kept: Option<f64>, rises: bool) -> impl Iterator<Item = usize> + use<> {
        let gearing = &self.model.gearing;
        let range = if gearing.shift_time > 0.0 {
            let lowest = if kept.is_none() { 0 } else { mode };
            let next = if rises && mode + 1 < gearing.modes.len() { mode + 1 } else { mode };
            lowest..next + 1
        } else {
            0..gearing.modes.len()
        };
        range.filter(move |&to| to != mode)
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
