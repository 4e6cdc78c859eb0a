//! The forward pass: as hard as grip, engine and gears allow, under K(s); gears change where they change, in mid-cell.

use unladen_vehicle::Model;
use unladen_vehicle::road::Road;

use crate::backward::brake::{Anchor, Braking, STANDSTILL};
use crate::forward::events::{Events, root};
use crate::forward::profile::{Event, Gears, Piece, Profile, Regime, State, Step, Stop};
use crate::set::pull::{Engaged, Pull, best_mode};
use crate::step::arc::{Arc, Tracer, slope_per_a};
use crate::step::mesh::{Cell, Mesh};
use crate::step::tableau::C;

struct Pass<'a> {
    mesh: &'a Mesh,
    model: &'a Model,
    k: &'a Braking,
    events: Events<'a>,
    tracer: Tracer<'a>,
    regime: Regime,
    /// The step before ended only because its cell did, in the regime that ruled there.
    goes_on: bool,
    steps: Vec<Step>,
    pieces: Vec<Piece>,
}

/// Room for steps, more than most laps need: an allocator that has seen one large block freed keeps what the next lap
/// needs instead of handing it back to the system and fetching it again, which took a tenth of a lap.
const ROOM: usize = 4096;

/// Run the pass under K.
pub fn drive(mesh: &Mesh, model: &Model, k: &Braking) -> Result<Profile, Stop> {
    let n = mesh.cells.len();
    let mut pass = Pass {
        mesh,
        model,
        k,
        events: Events { mesh, model, k },
        tracer: Tracer::new(mesh, model, 1.0),
        regime: Regime::Grip,
        goes_on: false,
        steps: Vec::with_capacity((n + n / 4).max(ROOM)),
        pieces: Vec::with_capacity(n + n / 2),
    };
    let first = if mesh.closed { (0..n).min_by(|&i, &j| k.k[i].total_cmp(&k.k[j])).unwrap_or(0) } else { 0 };
    let x = if mesh.closed { k.k[first] } else { mesh.x_start };
    if x > k.k[first] * (1.0 + 1e-12) {
        return Err(Stop::StartTooFast { x_max: k.k[first] });
    }
    let road = &mesh.cells[first].backward[2];
    let gears = Gears::In { mode: best_mode(model, road, x), kept: None };
    let mut state = State { x, on_k: x >= k.k[first], gears };
    let mut within = vec![0..0; n];
    let mut states = vec![state; n + 1];
    let laps = if mesh.closed { 40 } else { 1 };
    let mut settled = !mesh.closed;
    for count in 0..laps * n {
        let i = (first + count) % n;
        states[i] = state;
        let begin = pass.pieces.len();
        state = pass.cell(i, state).map_err(|s| match s {
            Stop::Stalls { cell, .. } => Stop::Stalls { cell, at_start: count == 0 && x == 0.0 },
            other => other,
        })?;
        within[i] = begin..pass.pieces.len();
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
    Ok(Profile { steps: pass.steps, pieces: pass.pieces, within, states, first, unsettled: !settled })
}

fn same(a: &State, b: &State) -> bool {
    let gears = match (a.gears, b.gears) {
        _ if a.on_k && b.on_k => true,
        (Gears::Braking, Gears::Braking) => true,
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
    fn cell(&mut self, i: usize, mut state: State) -> Result<State, Stop> {
        let cell = &self.mesh.cells[i];
        // K at a station is below the curve of the cell that starts there where the cell before has a lower ceiling.
        let on_curve = |x: f64| self.k.at(i, 0.0).is_some_and(|k| x >= k * (1.0 - 1e-12));
        if state.on_k && !on_curve(state.x) && state.x < self.k.x_limit {
            state = self.leave(&cell.backward[2], state);
            if let Anchor::Ceiling(top, _) = self.k.anchor[i] {
                // At a ceiling grip rules, and only this a_x is possible.
                self.regime = Regime::Grip;
                self.tracer.look_near(top.a_x);
            }
        }
        if cell.jump {
            self.tracer.lift();
            self.goes_on = false;
        }
        let (mut share, mut end) = (0.0, 1.0);
        for _ in 0..400 {
            if share >= 1.0 {
                return Ok(state);
            }
            if state.on_k
                && (share > 0.0 || on_curve(state.x))
                && self.k.at(i, share).is_some_and(|k| k <= self.k.x_limit)
            {
                self.pieces.push(Piece::Brake { cell: i, from: share });
                state.x = self.k.k[i + 1];
                return Ok(state);
            }
            let at_limiter = state.on_k && state.x >= self.k.x_limit;
            if at_limiter && self.limiter_slack(cell, share).0 >= 0.0 {
                let rest = 1.0 - share;
                let below_k = match self.k.at(i, share) {
                    Some(_) if self.k.k[i + 1] < self.k.x_limit => {
                        share + rest * root(|u| self.k.at(i, share + rest * u).map_or(0.0, |k| self.k.x_limit - k))
                    }
                    _ => 1.0,
                };
                // The engine may hold the limiter's speed at first only.
                let held = if self.limiter_slack(cell, 1.0).0 >= 0.0 {
                    1.0
                } else {
                    share + rest * root(|u| self.limiter_slack(cell, share + rest * u).0)
                };
                let to = below_k.min(held);
                self.pieces.push(Piece::Limiter {
                    cell: i,
                    share: [share, to],
                    mode: self.model.gearing.modes.len() - 1,
                });
                share = to.max(share + 1e-12);
                if share >= 1.0 {
                    state.x = self.k.k[i + 1];
                    return Ok(state);
                }
                state.x = self.k.x_limit;
                if below_k <= held {
                    self.pieces.push(Piece::Brake { cell: i, from: share });
                    state.x = self.k.k[i + 1];
                    return Ok(state);
                }
            }
            if at_limiter {
                self.regime = self.limiter_slack(cell, share).1;
            }
            if state.on_k {
                state = self.leave(&self.mesh.road_in(cell, share), state);
            }
            if let Some((mode, to, meets_k)) = self.bounce(i, share, state) {
                self.pieces.push(Piece::Limiter { cell: i, share: [share, to], mode });
                share = to;
                if meets_k {
                    state.on_k = true;
                }
                continue;
            }
            match self.step(i, [share, end], state)? {
                Some((step, after)) => {
                    share = step.arc.place(step.tau);
                    if share > 1.0 - 1e-12 {
                        share = 1.0;
                    }
                    if step.tau > 0.0 {
                        self.pieces.push(Piece::Step(self.steps.len()));
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
                            // The one a_x of the ceiling leads on, but never above K.
                            let a_x = match self.k.anchor[i] {
                                Anchor::Ceiling(top, _) => top.a_x,
                                _ => self.tracer.last_a(),
                            };
                            let rise = a_x * slope_per_a(&cell.forward[2]) * cell.length * (1.0 - share);
                            let x = [state.x, (state.x + rise).min(self.k.k[i + 1])];
                            self.pieces.push(Piece::Ceiling { cell: i, from: share, x });
                            state.x = x[1];
                            state.on_k = x[1] == self.k.k[i + 1];
                            if state.x <= 0.0 {
                                return Err(Stop::Stalls { cell: i, at_start: false });
                            }
                            return Ok(state);
                        }
                    }
                }
            }
        }
        Err(Stop::Stalls { cell: i, at_start: false })
    }

    /// Slack of engine or grip at the limiter's speed, held, and which of them has less.
    fn limiter_slack(&self, cell: &Cell, share: f64) -> (f64, Regime) {
        let (model, x, road) = (self.model, self.k.x_limit, self.mesh.road_in(cell, share));
        let pull = Pull::new(model, Engaged::Mode { mode: model.gearing.modes.len() - 1, x });
        let (power, grip) = (pull.slack(model, &road, x, 0.0), model.grip(&road, x, 0.0).value);
        // Where grip asks for more speed, not less, there is nowhere to go.
        let slower = model.grip(&road, x, -0.1).value > grip;
        if grip < power && slower { (grip, Regime::Grip) } else { (power, Regime::Power) }
    }

    /// A gear at its limiter, none above it able to go on: the car runs along the limiter. Which mode, up to where in the
    /// cell, and whether K is met there.
    fn bounce(&self, i: usize, share: f64, state: State) -> Option<(usize, f64, bool)> {
        let (model, cell, x) = (self.model, &self.mesh.cells[i], state.x);
        let gearing = &model.gearing;
        let mode = gearing.modes.iter().position(|m| m.x_end == x)?;
        if gearing.shift_time > 0.0 || state.on_k || mode + 1 >= gearing.modes.len() {
            return None;
        }
        let slack = |mode: usize, x_piece: f64, share: f64| {
            let road = self.mesh.road_in(cell, share);
            Pull::new(model, Engaged::Mode { mode, x: x_piece }).slack(model, &road, x, 0.0)
        };
        // Each holds as long as it is not negative.
        let own = |share: f64| slack(mode, x * (1.0 - 1e-9), share);
        let above = |share: f64| {
            let able = (mode + 1..gearing.modes.len()).filter(|&m| gearing.modes[m].x_end > x);
            -able.map(|m| slack(m, x, share)).fold(f64::NEG_INFINITY, f64::max)
        };
        let grip = |share: f64| model.grip(&self.mesh.road_in(cell, share), x, 0.0).value;
        let k = |share: f64| self.k.at(i, share).map_or(f64::INFINITY, |k| k - x);
        let mut to = 1.0f64;
        for holds in [&own as &dyn Fn(f64) -> f64, &above, &grip] {
            if holds(share) < 0.0 {
                return None;
            }
            if holds(1.0) < 0.0 {
                to = share.max(to.min(share + (1.0 - share) * root(|u| holds(share + (1.0 - share) * u))));
            }
        }
        let meets_k = k(to) < 0.0;
        if meets_k {
            to = share + (to - share) * root(|u| k(share + (to - share) * u));
        }
        (to > share).then_some((mode, to, meets_k))
    }

    /// Off K: braking ended any shift; the gear is the best one for the speed.
    fn leave(&mut self, road: &Road, state: State) -> State {
        self.tracer.lift();
        self.goes_on = false;
        let gears = Gears::In { mode: best_mode(self.model, road, state.x), kept: None };
        State { on_k: false, gears, ..state }
    }

    /// A step in one regime; `None` where the line passes the feasible set by.
    fn arc(&mut self, i: usize, share: [f64; 2], x_0: f64, pull: &Pull<f64>, regime: Regime) -> Option<Arc> {
        let model = self.model;
        match regime {
            Regime::Grip => self.tracer.grip_arc(i, share, x_0, true),
            Regime::Power => {
                self.tracer.lift();
                self.tracer.arc(i, share, x_0, |road, x, a| pull.slack(model, road, x, a))
            }
        }
    }

    /// One step from `share[0]` to the first event; `None` where grip leaves no way on over so long a step.
    fn step(&mut self, i: usize, share: [f64; 2], mut state: State) -> Result<Option<(Step, State)>, Stop> {
        let model = self.model;
        let road = self.mesh.road_in(&self.mesh.cells[i], share[0]);
        state.gears = self.events.due(&road, state);
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
        let mut at_end = self.events.turn(&arc, &pull, regime, 1.0);
        // The other regime rules from the start: take it instead.
        if (!self.goes_on || at_end < 0.0)
            && self.events.turn(&arc, &pull, regime, 0.0) < -1e-6
            && self.events.turn(&arc, &pull, regime, C[0]) < 0.0
        {
            regime = regime.other();
            let Some(better) = self.arc(i, share, state.x, &pull, regime) else {
                return Ok(None);
            };
            arc = better;
            at_end = self.events.turn(&arc, &pull, regime, 1.0);
        }
        // A speed on a joint of the torque curve belongs to the piece it is heading for.
        if regime == Regime::Power && arc.poly.at(1.0) < state.x {
            now = engaged(state.gears, state.x * (1.0 - 1e-9));
            pull = Pull::new(model, now);
            let Some(falling) = self.arc(i, share, state.x, &pull, regime) else {
                return Ok(None);
            };
            arc = falling;
            at_end = self.events.turn(&arc, &pull, regime, 1.0);
        }
        self.regime = regime;
        let x_1 = arc.poly.at(1.0);
        if x_1.is_nan() || x_1 < STANDSTILL && x_1 <= state.x {
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
        let (tau, event) = self.events.first_event(&arc, state.gears, now, &pull, regime, at_end);
        let step = Step { arc, regime, engaged: now, gears: state.gears, tau, event };
        if event == Event::Turn {
            self.regime = regime.other();
        }
        self.goes_on = event == Event::End && at_end >= 0.0;
        let after = self.events.after(&step);
        Ok(Some((step, after)))
    }
}
