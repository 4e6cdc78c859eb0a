//! The forward pass through one cell, move by move.

use unladen_vehicle::Model;
use unladen_vehicle::road::Road;

use crate::backward::brake::{Anchor, Braking};
use crate::forward::events::{Events, root};
use crate::forward::profile::{Gears, Piece, Regime, State, Step, Stop};
use crate::set::pull::{Engaged, Pull, best_mode};
use crate::step::arc::{Tracer, slope_per_a};
use crate::step::mesh::{Cell, Mesh};

/// Moves within a cell; more means that it gets nowhere.
const MOVES: usize = 400;

/// The shortest step that is tried where grip leaves no longer one, as a share of the cell.
const SHORTEST: f64 = 1e-4;

/// The forward pass under way.
pub struct Pass<'a> {
    /// Stations.
    pub mesh: &'a Mesh,
    /// Car.
    pub model: &'a Model,
    /// K.
    pub k: &'a Braking,
    /// What ends steps.
    pub events: Events<'a>,
    /// Makes steps along the edge of grip.
    pub tracer: Tracer<'a>,
    /// What the next step is tried with.
    pub regime: Regime,
    /// The step before ended only because its cell did, in the regime that ruled there.
    pub goes_on: bool,
    /// Steps so far.
    pub steps: Vec<Step>,
    /// Pieces so far.
    pub pieces: Vec<Piece>,
}

/// The cell being driven, and how far.
pub(super) struct Here {
    /// Which cell.
    pub(super) i: usize,
    /// Share of the cell behind the car.
    pub(super) share: f64,
    /// The next step tries to come so far.
    pub(super) end: f64,
    /// The car's state.
    pub(super) state: State,
}

impl Pass<'_> {
    /// From a cell's start to its end.
    pub fn cell(&mut self, i: usize, state: State) -> Result<State, Stop> {
        let mut here = Here { i, share: 0.0, end: 1.0, state };
        self.enter(&mut here);
        for _ in 0..MOVES {
            if here.share >= 1.0 || self.ride_braking_curve(&mut here) || self.hold_top_speed(&mut here) {
                return Ok(here.state);
            }
            self.leave_k(&mut here);
            if self.hold_gear_limiter(&mut here) || self.step(&mut here)? || self.shorten(&mut here) {
                continue;
            }
            // Pressed against the ceiling.
            if !self.return_to_k(&mut here) {
                return self.follow_ceiling(&here);
            }
        }
        Err(Stop::Stalls { cell: i, at_start: false })
    }

    /// Off K where it does not lead on from the station before; what jumps here is forgotten.
    fn enter(&mut self, here: &mut Here) {
        let cell = &self.mesh.cells[here.i];
        if here.state.on_k && !self.on_curve(here) && here.state.x < self.k.x_limit {
            here.state = self.leave(&cell.backward[2], here.state);
            if let Anchor::Ceiling(top, _) = self.k.anchor[here.i] {
                // At a ceiling grip rules, and only this a_x is possible.
                self.regime = Regime::Grip;
                self.tracer.look_near(top.a_x);
            }
        }
        if cell.jump {
            self.tracer.lift();
            self.goes_on = false;
        }
    }

    /// K at a station is below the curve of the cell that starts there where the cell before has a lower ceiling.
    fn on_curve(&self, here: &Here) -> bool {
        self.k.at(here.i, 0.0).is_some_and(|k| here.state.x >= k * (1.0 - 1e-12))
    }

    /// Along K to the cell's end, where the car is on it and it is a braking curve; whether it is.
    fn ride_braking_curve(&mut self, here: &mut Here) -> bool {
        let rides = here.state.on_k
            && (here.share > 0.0 || self.on_curve(here))
            && self.k.at(here.i, here.share).is_some_and(|k| k <= self.k.x_limit);
        if rides {
            self.brake(here);
        }
        rides
    }

    fn brake(&mut self, here: &mut Here) {
        self.pieces.push(Piece::Brake { cell: here.i, from: here.share });
        here.state.x = self.k.k[here.i + 1];
    }

    /// Along the limiter in top gear, as long as engine and grip hold it, and down K where that falls away from it;
    /// whether that leads to the cell's end.
    fn hold_top_speed(&mut self, here: &mut Here) -> bool {
        if !here.state.on_k || here.state.x < self.k.x_limit {
            return false;
        }
        let (i, share, cell) = (here.i, here.share, &self.mesh.cells[here.i]);
        let (slack, least) = self.limiter_slack(cell, share);
        if slack < 0.0 {
            self.regime = least;
            return false;
        }
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
        self.pieces.push(Piece::Limiter { cell: i, share: [share, to], mode: self.model.gearing.modes.len() - 1 });
        here.share = to.max(share + 1e-12);
        if here.share >= 1.0 {
            here.state.x = self.k.k[i + 1];
            return true;
        }
        here.state.x = self.k.x_limit;
        if below_k <= held {
            self.brake(here);
            return true;
        }
        self.regime = self.limiter_slack(cell, here.share).1;
        false
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

    /// Off K, if on it.
    fn leave_k(&mut self, here: &mut Here) {
        if here.state.on_k {
            here.state = self.leave(&self.mesh.road_in(&self.mesh.cells[here.i], here.share), here.state);
        }
    }

    /// Off K: braking ended any shift; the gear is the best one for the speed.
    pub(super) fn leave(&mut self, road: &Road, state: State) -> State {
        self.tracer.lift();
        self.goes_on = false;
        let gears = Gears::In { mode: best_mode(self.model, road, state.x), kept: None };
        State { on_k: false, gears, ..state }
    }

    /// A gear at its limiter, none above it able to go on: along that limiter, and on K where that is met; whether so.
    fn hold_gear_limiter(&mut self, here: &mut Here) -> bool {
        let Some((mode, to, meets_k)) = self.limiter_to(here.i, here.share, here.state) else { return false };
        self.pieces.push(Piece::Limiter { cell: here.i, share: [here.share, to], mode });
        here.share = to;
        here.state.on_k |= meets_k;
        true
    }

    /// A gear at its limiter, none above it able to go on: which mode, up to where in the
    /// cell, and whether K is met there.
    fn limiter_to(&self, i: usize, share: f64, state: State) -> Option<(usize, f64, bool)> {
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

    /// One step; whether there is one.
    fn step(&mut self, here: &mut Here) -> Result<bool, Stop> {
        let Some((step, after)) = self.next_step(here)? else { return Ok(false) };
        here.share = step.arc.place(step.tau);
        if here.share > 1.0 - 1e-12 {
            here.share = 1.0;
        }
        if step.tau > 0.0 {
            self.pieces.push(Piece::Step(self.steps.len()));
            self.steps.push(step);
        }
        (here.state, here.end) = (after, 1.0);
        Ok(true)
    }

    /// Half as long a step next, unless it is short already; whether so.
    fn shorten(&self, here: &mut Here) -> bool {
        let rest = here.end - here.share;
        let is_long = rest > SHORTEST;
        here.end = if is_long { here.share + 0.5 * rest } else { 1.0 };
        is_long
    }

    /// Onto K where it is a braking curve here; whether it is.
    fn return_to_k(&self, here: &mut Here) -> bool {
        let k = self.k.at(here.i, here.share);
        if let Some(k) = k {
            (here.state.x, here.state.on_k) = (k, true);
        }
        k.is_some()
    }

    /// To the cell's end as the one a_x of the ceiling leads, but never above K.
    fn follow_ceiling(&mut self, here: &Here) -> Result<State, Stop> {
        let (i, cell) = (here.i, &self.mesh.cells[here.i]);
        let a_x = match self.k.anchor[i] {
            Anchor::Ceiling(top, _) => top.a_x,
            _ => self.tracer.last_a(),
        };
        let rise = a_x * slope_per_a(&cell.forward[2]) * cell.length * (1.0 - here.share);
        let x = [here.state.x, (here.state.x + rise).min(self.k.k[i + 1])];
        self.pieces.push(Piece::Ceiling { cell: i, from: here.share, x });
        if x[1] <= 0.0 {
            return Err(Stop::Stalls { cell: i, at_start: false });
        }
        Ok(State { x: x[1], on_k: x[1] == self.k.k[i + 1], ..here.state })
    }
}
