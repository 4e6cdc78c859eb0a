//! The forward pass: as hard as grip, engine and gears allow, under K(s); gears change where they change, in mid-cell.

use unladen_vehicle::road::Road;
use unladen_vehicle::{Model, Scalar};

use crate::arc::{Arc, Tracer};
use crate::brake::{Anchor, Braking, limiter};
use crate::connected;
use crate::mesh::{Cell, Mesh};
use crate::pull::{Engaged, Pull, advantage, best_mode, mode_a};
use crate::tableau::C;

/// A downshift is due below this share of the speed of the last upshift (`model.md` §6), squared.
pub const KEPT: f64 = 0.85 * 0.85;

/// Modes whose a_x differ by less pull alike, m/s².
const TIE: f64 = 1e-9;

/// What a step follows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Regime {
    /// The grip envelope.
    Grip,
    /// The power limit.
    Power,
}

impl Regime {
    /// The other one.
    pub fn other(self) -> Self {
        match self {
            Regime::Grip => Regime::Power,
            Regime::Power => Regime::Grip,
        }
    }
}

/// Gear and shift at a moment.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Gears {
    /// In a mode; `kept` is the X of the upshift that led to it.
    In {
        /// Index of the mode.
        mode: usize,
        /// X of the last upshift, if it still holds this gear.
        kept: Option<f64>,
    },
    /// Braking: whatever gear suits the speed, and no shift.
    Braking,
    /// Shifting up.
    Shifting {
        /// Index of the mode to come.
        to: usize,
        /// Time since the shift began, s.
        elapsed: f64,
        /// X at which it began.
        x_up: f64,
    },
}

/// What ends a step before its cell does, or with it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Event {
    /// The end of the cell, or of the part of it that was tried.
    End,
    /// K, where it is a braking curve.
    Braking,
    /// The ceiling at the cell's end.
    Ceiling,
    /// The limiter in top gear.
    Limiter,
    /// The piece of the grip envelope ends.
    Kink,
    /// Grip takes over from power, or power from grip.
    Turn,
    /// The torque piece ends: its upper end or its lower.
    Piece(bool),
    /// The mode's top speed.
    ModeEnd,
    /// Another mode pulls better.
    Better(usize),
    /// Slow enough for a mode that pulls better from there on down.
    Under(usize),
    /// The shift is over.
    ShiftEnd,
    /// Too slow for the gear that the last upshift led to.
    TooSlow,
}

/// One step of the forward pass, with all that a replay needs.
#[derive(Clone, Copy, Debug)]
pub struct Step {
    /// X along it.
    pub arc: Arc,
    /// What it follows.
    pub regime: Regime,
    /// The engine's state.
    pub engaged: Engaged,
    /// Gear and shift at its start.
    pub gears: Gears,
    /// Where it ended, τ = 0…1.
    pub tau: f64,
    /// Why it ended there.
    pub event: Event,
}

/// A stretch of the profile.
#[derive(Clone, Copy, Debug)]
pub enum Piece {
    /// A step of the forward pass (an index into [`Profile::steps`]).
    Step(usize),
    /// Along the braking curve from this share of the cell to its end.
    Brake {
        /// Which cell.
        cell: usize,
        /// From where in it.
        from: f64,
    },
    /// Along the ceiling to the cell's end, X linear: where grip leaves no way on and K is no braking curve.
    Ceiling {
        /// Which cell.
        cell: usize,
        /// From where in it.
        from: f64,
        /// X there, m²/s².
        x: f64,
    },
    /// Along the limiter.
    Limiter {
        /// Which cell.
        cell: usize,
        /// From where in it to where.
        share: [f64; 2],
    },
}

/// The state between cells.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct State {
    /// X, m²/s².
    pub x: f64,
    /// On K.
    pub on_k: bool,
    /// Gear and shift.
    pub gears: Gears,
}

/// The whole profile in f64, ready to be timed, drawn and differentiated.
#[derive(Clone, Debug)]
pub struct Profile {
    /// Steps of the forward pass that are part of it.
    pub steps: Vec<Step>,
    /// Pieces by cell.
    pub pieces: Vec<Vec<Piece>>,
    /// State at each station.
    pub states: Vec<State>,
    /// The cell at which the pass began.
    pub first: usize,
    /// A circuit whose lap did not repeat itself within the laps tried.
    pub unsettled: bool,
}

/// Why there is no lap.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Stop {
    /// The car comes to rest (or cannot start).
    Stalls {
        /// Cell.
        cell: usize,
        /// It never moved.
        at_start: bool,
    },
    /// The start speed is more than the road ahead lets it have, X.
    StartTooFast {
        /// The highest X it could have.
        x_max: f64,
    },
}

/// Slack of what a regime follows.
pub fn stage<S: Scalar>(model: &Model<S>, pull: &Pull<S>, regime: Regime, road: &Road<S>, x: S, a_x: S) -> S {
    match regime {
        Regime::Grip => model.grip(road, x, a_x).value,
        Regime::Power => pull.slack(model, road, x, a_x),
    }
}

/// Root of f on 0…1 that has f(0) ≤ 0 < f(1) (or the reverse), by regula falsi with bisection.
fn root(f: impl Fn(f64) -> f64) -> f64 {
    let (mut a, mut b) = (0.0, 1.0);
    let (mut f_a, mut f_b) = (f(a), f(b));
    if f_a == 0.0 || (f_a > 0.0) == (f_b > 0.0) {
        return 0.0;
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

struct Pass<'a> {
    mesh: &'a Mesh,
    model: &'a Model,
    k: &'a Braking,
    x_limit: f64,
    tracer: Tracer<'a>,
    regime: Regime,
    steps: Vec<Step>,
}

/// Run the pass under K.
pub fn drive(mesh: &Mesh, model: &Model, k: &Braking) -> Result<Profile, Stop> {
    let n = mesh.cells.len();
    let mut pass = Pass {
        mesh,
        model,
        k,
        x_limit: limiter(model),
        tracer: Tracer::new(mesh, model, 1.0),
        regime: Regime::Grip,
        steps: vec![],
    };
    let first = if mesh.closed { (0..n).min_by(|&i, &j| k.k[i].total_cmp(&k.k[j])).unwrap_or(0) } else { 0 };
    let x = if mesh.closed { k.k[first] } else { mesh.x_start };
    if x > k.k[first] * (1.0 + 1e-12) {
        return Err(Stop::StartTooFast { x_max: k.k[first] });
    }
    let road = &mesh.cells[first].backward[2];
    let gears = Gears::In { mode: best_mode(model, road, x), kept: None };
    let mut state = State { x, on_k: x >= k.k[first], gears };
    let mut pieces: Vec<Vec<Piece>> = vec![vec![]; n];
    let mut states = vec![state; n + 1];
    let laps = if mesh.closed { 40 } else { 1 };
    let mut settled = !mesh.closed;
    for count in 0..laps * n {
        let i = (first + count) % n;
        states[i] = state;
        let (after, cell_pieces) = pass.cell(i, state).map_err(|s| match s {
            Stop::Stalls { cell, .. } => Stop::Stalls { cell, at_start: count == 0 && x == 0.0 },
            other => other,
        })?;
        pieces[i] = cell_pieces;
        state = after;
        let next = (i + 1) % n;
        if mesh.closed && count + 1 >= n && same(&state, &states[next]) {
            settled = true;
            break;
        }
        if !mesh.closed {
            states[i + 1] = state;
        }
    }
    if mesh.closed {
        states[n] = states[0];
    }
    Ok(Profile { steps: pass.steps, pieces, states, first, unsettled: !settled })
}

fn same(a: &State, b: &State) -> bool {
    let gears = match (a.gears, b.gears) {
        _ if a.on_k && b.on_k => true,
        (Gears::In { mode: m, kept: p }, Gears::In { mode: n, kept: q }) => {
            m == n && (p.is_none() == q.is_none()) && (p.unwrap_or(0.0) - q.unwrap_or(0.0)).abs() <= 1e-9
        }
        (Gears::Shifting { to: m, elapsed: p, .. }, Gears::Shifting { to: n, elapsed: q, .. }) => {
            m == n && (p - q).abs() < 1e-12
        }
        _ => false,
    };
    gears && a.on_k == b.on_k && (a.x - b.x).abs() <= 1e-13 * a.x
}

impl Pass<'_> {
    fn cell(&mut self, i: usize, mut state: State) -> Result<(State, Vec<Piece>), Stop> {
        let mut pieces = vec![];
        let cell = &self.mesh.cells[i];
        // K at a station is below the curve of the cell that starts there where the cell before has a lower ceiling.
        let on_curve = |x: f64| self.k.at(i, 0.0).is_some_and(|k| x >= k * (1.0 - 1e-12));
        if state.on_k && !on_curve(state.x) && state.x < self.x_limit {
            state = self.leave(&cell.backward[2], state);
            if let Anchor::Ceiling(top, _) = self.k.anchor[i] {
                // At a ceiling grip rules, and only this a_x is possible.
                self.regime = Regime::Grip;
                self.tracer.look_near(top.a_x);
            }
        }
        if cell.jump {
            self.tracer.lift();
        }
        let (mut share, mut end) = (0.0, 1.0);
        for _ in 0..400 {
            if share >= 1.0 {
                return Ok((state, pieces));
            }
            if state.on_k
                && (share > 0.0 || on_curve(state.x))
                && self.k.at(i, share).is_some_and(|k| k <= self.x_limit)
            {
                pieces.push(Piece::Brake { cell: i, from: share });
                state.x = self.k.k[i + 1];
                return Ok((state, pieces));
            }
            if state.on_k && state.x >= self.x_limit && self.holds_limiter(cell) {
                let to = match self.k.at(i, share) {
                    Some(_) if self.k.k[i + 1] < self.x_limit => {
                        let rest = 1.0 - share;
                        share + rest * root(|u| self.k.at(i, share + rest * u).map_or(0.0, |k| self.x_limit - k))
                    }
                    _ => 1.0,
                };
                pieces.push(Piece::Limiter { cell: i, share: [share, to] });
                share = to.max(share + 1e-12);
                state.x = if share >= 1.0 { self.k.k[i + 1] } else { self.x_limit };
                if share < 1.0 {
                    pieces.push(Piece::Brake { cell: i, from: share });
                    state.x = self.k.k[i + 1];
                }
                return Ok((state, pieces));
            }
            if state.on_k {
                state = self.leave(&self.mesh.road_in(cell, share), state);
            }
            match self.step(i, [share, end], state)? {
                Some((step, after)) => {
                    share = step.arc.place(step.tau);
                    if share > 1.0 - 1e-13 {
                        share = 1.0;
                    }
                    if step.tau > 0.0 {
                        pieces.push(Piece::Step(self.steps.len()));
                        self.steps.push(step);
                    }
                    state = after;
                    end = 1.0;
                }
                None if end - share > 1e-4 => end = share + 0.5 * (end - share),
                None => {
                    // Pressed against the ceiling: go on along K.
                    state.on_k = true;
                    end = 1.0;
                    match self.k.at(i, share) {
                        Some(k) => state.x = k,
                        None => {
                            pieces.push(Piece::Ceiling { cell: i, from: share, x: state.x });
                            state.x = self.k.k[i + 1];
                            return Ok((state, pieces));
                        }
                    }
                }
            }
        }
        Err(Stop::Stalls { cell: i, at_start: false })
    }

    /// The engine holds the limiter's speed to the cell's end.
    fn holds_limiter(&self, cell: &Cell) -> bool {
        let top = self.model.gearing.modes.len() - 1;
        let pull = Pull::new(self.model, Engaged::Mode { mode: top, x: self.x_limit });
        pull.slack(self.model, &cell.forward[2], self.x_limit, 0.0) >= 0.0
    }

    /// Off K: braking ended any shift; the gear is the best one for the speed.
    fn leave(&mut self, road: &Road, state: State) -> State {
        self.tracer.lift();
        let gears = Gears::In { mode: best_mode(self.model, road, state.x), kept: None };
        State { on_k: false, gears, ..state }
    }

    /// A step in one regime; `None` where the line passes the feasible set by.
    fn arc(&mut self, i: usize, share: [f64; 2], x_0: f64, pull: &Pull<f64>, regime: Regime) -> Option<Arc> {
        let model = self.model;
        match regime {
            Regime::Grip => self.tracer.grip_arc(i, share, x_0),
            Regime::Power => {
                self.tracer.lift();
                self.tracer.arc(i, share, x_0, |road, x, a| pull.slack(model, road, x, a))
            }
        }
    }

    /// Gear and shift at a step's start, after what is due at once.
    fn due(&self, road: &Road, state: State) -> Gears {
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

    /// One step from `share[0]` to the first event; `None` where grip leaves no way on over so long a step.
    fn step(&mut self, i: usize, share: [f64; 2], mut state: State) -> Result<Option<(Step, State)>, Stop> {
        let model = self.model;
        let road = self.mesh.road_in(&self.mesh.cells[i], share[0]);
        state.gears = self.due(&road, state);
        let engaged = |gears, x| match gears {
            Gears::In { mode, .. } => Engaged::Mode { mode, x },
            Gears::Braking => Engaged::Mode { mode: best_mode(model, &road, x), x },
            Gears::Shifting { .. } => Engaged::Shifting,
        };
        let mut now = engaged(state.gears, state.x);
        let mut pull = Pull::new(model, now);
        let mut regime = self.regime;
        let Some(mut arc) = self.arc(i, share, state.x, &pull, regime) else {
            return Ok(None);
        };
        // The other regime rules from the start: take it instead.
        if self.turn(&arc, &pull, regime, 0.0) < -1e-6 && self.turn(&arc, &pull, regime, C[0]) < 0.0 {
            let other = regime.other();
            let Some(better) = self.arc(i, share, state.x, &pull, other) else {
                return Ok(None);
            };
            (regime, arc) = (other, better);
        }
        // A speed on a joint of the torque curve belongs to the piece it is heading for.
        if regime == Regime::Power && arc.poly.at(1.0) < state.x {
            now = engaged(state.gears, state.x * (1.0 - 1e-9));
            pull = Pull::new(model, now);
            let Some(falling) = self.arc(i, share, state.x, &pull, regime) else {
                return Ok(None);
            };
            arc = falling;
        }
        self.regime = regime;
        if !(arc.poly.at(1.0) > 0.0) {
            return Err(Stop::Stalls { cell: i, at_start: false });
        }
        let road = self.mesh.road_in(&self.mesh.cells[i], arc.place(C[0]));
        if regime == Regime::Grip && model.axles(&road, arc.poly.at(C[0]), arc.a[0]).f_x < 0.0 {
            // Braking to the limit of grip, as into a corner that K does not press on.
            state.gears = Gears::Braking;
        } else if state.gears == Gears::Braking {
            let road = self.mesh.road_in(&self.mesh.cells[i], share[0]);
            state = self.leave(&road, state);
            return self.step(i, share, state);
        }
        let (tau, event) = self.first_event(&arc, state.gears, now, &pull, regime);
        let step = Step { arc, regime, engaged: now, gears: state.gears, tau, event };
        let after = self.after(&step);
        Ok(Some((step, after)))
    }

    /// The other regime's slack along a step.
    fn turn(&self, arc: &Arc, pull: &Pull<f64>, regime: Regime, tau: f64) -> f64 {
        let road = self.mesh.road_in(&self.mesh.cells[arc.cell], arc.place(tau));
        let (x, a_x) = (arc.poly.at(tau), arc.a_x(self.mesh, &road, tau));
        match regime {
            Regime::Grip => pull.slack(self.model, &road, x, a_x),
            Regime::Power => connected::grip(self.model, &road, x, a_x),
        }
    }

    /// What ends the step, and at which τ.
    fn first_event(&self, arc: &Arc, gears: Gears, now: Engaged, pull: &Pull<f64>, regime: Regime) -> (f64, Event) {
        let (i, poly, gearing) = (arc.cell, &arc.poly, &self.model.gearing);
        let x_1 = poly.at(1.0);
        let rising = x_1 > poly.at(0.0);
        let first = std::cell::Cell::new((1.0, Event::End));
        let offer = |tau: f64, event: Event| {
            if tau < first.get().0 || first.get().1 == Event::End {
                first.set((tau, event));
            }
        };
        if arc.end < 1.0 {
            offer(arc.end, Event::Kink);
        }
        let reach = |x: f64| root(|tau| poly.at(tau) - x);
        match self.k.at(i, arc.share[1]) {
            Some(k) if x_1 >= k => {
                offer(root(|tau| poly.at(tau) - self.k.at(i, arc.place(tau)).unwrap_or(f64::INFINITY)), Event::Braking);
            }
            None if arc.share[1] == 1.0 && x_1 > self.k.k[i + 1] && self.k.k[i + 1] < self.x_limit => {
                offer(1.0, Event::Ceiling);
            }
            _ => {}
        }
        if x_1 > self.x_limit {
            offer(reach(self.x_limit), Event::Limiter);
        }
        if self.turn(arc, pull, regime, 1.0) < 0.0 {
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
        let candidates = match (gearing.shift_time > 0.0, rising) {
            (true, true) if is_last => 0..0,
            (true, true) => mode + 1..mode + 2,
            // No upshift holds this gear: a lower one is taken as soon as it pulls better.
            (true, false) if kept.is_none() => 0..mode,
            (true, false) => 0..0,
            (false, _) => 0..gearing.modes.len(),
        };
        let own = mode_a(self.model, &road, mode, x).unwrap_or(f64::INFINITY);
        for to in candidates.filter(|&to| to != mode) {
            if mode_a(self.model, &road, to, x).is_some_and(|a| a > own + TIE) {
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
                offer(end * root(gain), Event::Better(to));
            }
        }
        first.get()
    }

    /// The state once a step has ended as it did.
    fn after(&mut self, step: &Step) -> State {
        let (arc, tau) = (&step.arc, step.tau);
        let mut after = State { x: arc.poly.at(tau), on_k: false, gears: step.gears };
        if let Gears::Shifting { to, elapsed, x_up } = step.gears {
            let dt = if tau > 0.0 { arc.time(self.mesh, 0.0, tau) } else { 0.0 };
            after.gears = Gears::Shifting { to, elapsed: elapsed + dt, x_up };
        }
        let road = self.mesh.road_in(&self.mesh.cells[arc.cell], arc.place(tau));
        match (step.event, step.gears) {
            (Event::Braking | Event::Limiter, _) => after.on_k = true,
            (Event::Ceiling, _) => {
                after.on_k = true;
                after.x = self.k.k[arc.cell + 1];
            }
            (Event::Turn, _) => self.regime = step.regime.other(),
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
