//! The forward pass through one cell, move by move.

use unladen_vehicle::Model;

use crate::backward::brake::{Anchor, Braking};
use crate::forward::events::{Events, root};
use crate::forward::labels::{Label, NONE, Placed};
use crate::forward::origins::Origins;
use crate::forward::paths::{Mark, Paths};
use crate::forward::profile::{Gears, Piece, Regime, Step, Stop};
use crate::set::pull::{Engaged, Pull, best_mode};
use crate::step::arc::slope_per_a;
use crate::step::mesh::{Cell, Mesh};

/// Moves within a cell; more means that it gets nowhere.
const MOVES: usize = 400;

/// The shortest step that is tried where grip leaves no longer one, as a share of the cell.
const SHORTEST: f64 = 1e-4;

/// The forward pass under way: drives labels through cells.
pub struct Pass<'a> {
    /// Stations.
    pub mesh: &'a Mesh,
    /// Car.
    pub model: &'a Model,
    /// K.
    pub k: &'a Braking,
    /// Shifts take time.
    pub timed: bool,
    /// What ends steps.
    pub events: Events<'a>,
    /// Steps so far.
    pub steps: Vec<Step>,
    /// The ways of all labels.
    pub paths: Paths,
    /// Where they could choose their gears.
    pub origins: Origins<'a>,
    /// Labels that came into being, to be driven yet.
    pub born: Vec<Placed<'a>>,
    /// How many may still do so over this cell.
    pub may_be_born: usize,
    /// The last label that changed down for want of drive, as if it had not: what is driven where no other gets on.
    pub spare: Option<Placed<'a>>,
}

/// The cell being driven, and how far.
#[derive(Clone, Copy)]
pub(super) struct Here<'a> {
    /// Which cell.
    pub(super) i: usize,
    /// The same, counted from the beginning of the pass.
    pub(super) count: usize,
    /// Share of the cell behind the car.
    pub(super) share: f64,
    /// The next step tries to come so far.
    pub(super) end: f64,
    /// Who drives.
    pub(super) label: Label<'a>,
}

impl<'a> Pass<'a> {
    /// A label from its place in cell `i` to the cell's end.
    pub fn cell(&mut self, i: usize, placed: &Placed<'a>) -> Result<Label<'a>, Stop> {
        let mut here = Here { i, count: placed.count, share: placed.share, end: 1.0, label: placed.label };
        if !placed.entered {
            self.enter(&mut here);
        }
        for _ in 0..MOVES {
            if here.share >= 1.0 || self.ride_braking_curve(&mut here) || self.hold_top_speed(&mut here) {
                return Ok(here.label);
            }
            self.leave_k(&mut here);
            self.shift_if_due(&mut here);
            if self.hold_gear_limiter(&mut here) || self.step(&mut here)? || self.shorten(&mut here) {
                continue;
            }
            // Pressed against the ceiling.
            if !self.return_to_k(&mut here) {
                self.follow_ceiling(&mut here)?;
            }
        }
        Err(Stop::Stalls { cell: i, at_start: false })
    }

    /// A stretch of the label's way.
    pub(super) fn push(&mut self, here: &mut Here, piece: Piece) {
        let time = piece.time(self.mesh, &self.model.gearing, self.k, &self.steps);
        here.label.mark = self.paths.push(here.label.mark, Mark::Piece(piece, time));
        here.label.t += time;
    }

    /// Off K where it does not lead on from the station before; what jumps here is forgotten.
    fn enter(&mut self, here: &mut Here<'a>) {
        here.label.mark = self.paths.push(here.label.mark, Mark::Station(here.label.state));
        let state = here.label.state;
        if state.on_k && !self.on_curve(here) && state.x < self.k.x_limit {
            self.free(here);
            if let Anchor::Ceiling(top, _) = self.k.anchor[here.i] {
                // At a ceiling grip rules, and only this a_x is possible.
                here.label.memory.regime = Regime::Grip;
                here.label.memory.tracer.look_near(top.a_x);
            }
            self.may_choose(here);
        }
        if self.mesh.cells[here.i].jump {
            here.label.memory.forget();
        }
    }

    /// K at a station is below the curve of the cell that starts there where the cell before has a lower ceiling.
    fn on_curve(&self, here: &Here) -> bool {
        self.k.at(here.i, 0.0).is_some_and(|k| here.label.state.x >= k * (1.0 - 1e-12))
    }

    /// Along K to the cell's end, where the car is on it and it is a braking curve; whether it is.
    fn ride_braking_curve(&mut self, here: &mut Here) -> bool {
        let rides = here.label.state.on_k
            && (here.share > 0.0 || self.on_curve(here))
            && self.k.at(here.i, here.share).is_some_and(|k| k <= self.k.x_limit);
        if rides {
            self.brake(here);
        }
        rides
    }

    fn brake(&mut self, here: &mut Here) {
        self.push(here, Piece::Brake { cell: here.i, from: here.share });
        here.label.state.x = self.k.k[here.i + 1];
    }

    /// Along the limiter in top gear, as long as engine and grip hold it, and down K where that falls away from it;
    /// whether that leads to the cell's end.
    fn hold_top_speed(&mut self, here: &mut Here) -> bool {
        if !here.label.state.on_k || here.label.state.x < self.k.x_limit {
            return false;
        }
        let (i, share, cell) = (here.i, here.share, &self.mesh.cells[here.i]);
        let (slack, least) = self.limiter_slack(cell, share);
        if slack < 0.0 {
            here.label.memory.regime = least;
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
        let mode = self.model.gearing.modes.len() - 1;
        self.push(here, Piece::Limiter { cell: i, share: [share, to], mode, rolls: false });
        here.share = to.max(share + 1e-12);
        if here.share >= 1.0 {
            here.label.state.x = self.k.k[i + 1];
            return true;
        }
        here.label.state.x = self.k.x_limit;
        if below_k <= held {
            self.brake(here);
            return true;
        }
        here.label.memory.regime = self.limiter_slack(cell, here.share).1;
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
    fn leave_k(&mut self, here: &mut Here<'a>) {
        if here.label.state.on_k {
            self.leave(here);
        }
    }

    /// Off K, or off the brakes: any gear may be taken.
    pub(super) fn leave(&mut self, here: &mut Here<'a>) {
        self.free(here);
        self.may_choose(here);
    }

    /// Off K, or off the brakes, in the gear that pulls hardest.
    fn free(&self, here: &mut Here) {
        here.label.memory.forget();
        let road = self.mesh.road_in(&self.mesh.cells[here.i], here.share);
        let mode = best_mode(self.model, &road, here.label.state.x);
        (here.label.state.on_k, here.label.state.gears) = (false, Gears::engaged(mode));
    }

    /// The label has taken the gear that pulls hardest, and could have taken any higher one.
    fn may_choose(&mut self, here: &mut Here<'a>) {
        if let Gears::In { mode, .. } = here.label.state.gears {
            self.choice(here, mode, self.model.gearing.modes.len() - 1, NONE);
        }
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
            (here.label.state.x, here.label.state.on_k) = (k, true);
        }
        k.is_some()
    }

    /// To the cell's end as the one a_x of the ceiling leads, but never above K.
    fn follow_ceiling(&mut self, here: &mut Here) -> Result<(), Stop> {
        let (i, cell, from) = (here.i, &self.mesh.cells[here.i], here.share);
        let a_x = match self.k.anchor[i] {
            Anchor::Ceiling(top, _) => top.a_x,
            _ => here.label.memory.tracer.last_a(),
        };
        let rise = a_x * slope_per_a(&cell.forward[2]) * cell.length * (1.0 - from);
        let x = [here.label.state.x, (here.label.state.x + rise).min(self.k.k[i + 1])];
        self.push(here, Piece::Ceiling { cell: i, from, x });
        if x[1] <= 0.0 {
            return Err(Stop::Stalls { cell: i, at_start: false });
        }
        here.share = 1.0;
        (here.label.state.x, here.label.state.on_k) = (x[1], x[1] == self.k.k[i + 1]);
        Ok(())
    }
}
