//! The rules for gears (`docs/model.md` §6): which comes next, when the car can roll, when a shift starts.

use unladen_vehicle::Model;
use unladen_vehicle::powertrain::Gearing;
use unladen_vehicle::road::Road;

use crate::forward::cell::{Here, Pass};
use crate::forward::events::root;
use crate::forward::labels::Placed;
use crate::forward::profile::{Gears, Piece, State, Upshift};
use crate::set::connected::coasting;
use crate::set::pull::{Engaged, Pull, best_mode, mode_a};

/// Slacks of rolling that are 0 but for rounding.
pub const ROLLING: f64 = -1e-9;

/// How far beside an a_x its slack is held against, m/s².
const BESIDE: f64 = 1e-4;

/// The mode of the next higher gear.
pub fn next_gear(gearing: &Gearing, mode: usize) -> Option<usize> {
    let gear = gearing.modes[mode].gear;
    (mode + 1..gearing.modes.len()).find(|&to| gearing.modes[to].gear > gear)
}

/// Grip's slack while rolling, F_x = 0: what a shift needs.
pub fn rolling(model: &Model, road: &Road, x: f64) -> f64 {
    model.grip(road, x, coasting(model, road, x)).value
}

/// The engine's state at X.
pub fn engaged(model: &Model, road: &Road, gears: Gears, x: f64) -> Engaged {
    match gears {
        Gears::In { mode, .. } => Engaged::Mode { mode, x },
        Gears::Braking => Engaged::Mode { mode: best_mode(model, road, x), x },
        Gears::Shifting { .. } => Engaged::Shifting,
    }
}

/// A mode that has come to its end: on in the next one where that costs nothing, else an upshift is due.
pub fn ended(gearing: &Gearing, mode: usize, up: Upshift) -> Gears {
    match up {
        _ if gearing.shift_time <= 0.0 || gearing.modes[mode].slipping => Gears::In { mode: mode + 1, up },
        Upshift::Due { .. } => Gears::In { mode, up },
        _ => Gears::In { mode, up: Upshift::Due { elapsed: 0.0 } },
    }
}

/// Gears at a step's start, after what is due at once.
pub fn due(gearing: &Gearing, state: State) -> Gears {
    let modes = &gearing.modes;
    let at_end = |mode: usize| mode + 1 < modes.len() && state.x >= modes[mode].x_end * (1.0 - 1e-12);
    match state.gears {
        Gears::In { mode, up } if at_end(mode) => match ended(gearing, mode, up) {
            // Held at its limiter.
            Gears::In { mode: same, .. } if same == mode => state.gears,
            next => next,
        },
        gears => gears,
    }
}

impl<'a> Pass<'a> {
    /// An upshift that is due starts where the car can roll; where it need not start, another label goes on in its gear.
    pub(super) fn shift_if_due(&mut self, here: &mut Here<'a>) {
        let (gearing, state) = (&self.model.gearing, here.label.state);
        let Gears::In { mode, up } = state.gears else { return };
        let Some(to) = next_gear(gearing, mode).filter(|_| self.timed) else { return };
        let beyond = state.x > gearing.modes[mode].x_end;
        let elapsed = match up {
            Upshift::Due { elapsed } => elapsed,
            _ if beyond => 0.0,
            _ => return,
        };
        let road = self.mesh.road_in(&self.mesh.cells[here.i], here.share);
        if rolling(self.model, &road, state.x) < ROLLING {
            return;
        }
        if !beyond && elapsed == 0.0 && self.may_be_born > 0 {
            self.may_be_born -= 1;
            let mut held = here.label;
            held.state.gears = Gears::In { mode, up: Upshift::Held };
            self.born.push(Placed { count: here.count, share: here.share, entered: true, label: held });
        }
        here.label.state.gears = Gears::Shifting { to, elapsed };
        here.label.as_well = 0;
        here.label.memory.goes_on = false;
    }

    /// Down to the gear that pulls hardest, where the least a_x that grip allows is more than the present one pulls; whether
    /// there is one.
    pub(super) fn change_down(&mut self, here: &mut Here<'a>, road: &Road, gears: Gears) -> bool {
        let (Gears::In { mode, .. }, model, x) = (gears, self.model, here.label.state.x) else { return false };
        let (best, modes) = (best_mode(model, road, x), &model.gearing.modes);
        if !self.timed || here.label.keeps || modes[best].gear >= modes[mode].gear {
            return false;
        }
        let [own, hardest] = [mode, best].map(|mode| mode_a(model, road, mode, x).unwrap_or(f64::INFINITY));
        let more = |a: f64| model.grip(road, x, a).value > model.grip(road, x, own).value;
        let lacks = more(hardest) || more(own + BESIDE);
        if lacks {
            let mut as_it_was = here.label;
            as_it_was.keeps = true;
            self.spare = Some(Placed { count: here.count, share: here.share, entered: true, label: as_it_was });
            here.label.state.gears = Gears::engaged(best);
            here.label.memory.goes_on = false;
            self.choice(here, best, mode - 1, here.label.origin);
        }
        lacks
    }

    /// Along the limiter of a gear that is held, or that no other can take over from, and on K where that is met; whether
    /// so.
    pub(super) fn hold_gear_limiter(&mut self, here: &mut Here) -> bool {
        let Some(Held { mode, to, rolls, meets_k }) = self.limiter_to(here) else { return false };
        self.push(here, Piece::Limiter { cell: here.i, share: [here.share, to], mode, rolls });
        here.share = to;
        here.label.state.on_k |= meets_k;
        true
    }

    /// The mode whose limiter may be held, and whether an upshift waits there.
    fn at_limiter(&self, state: State) -> Option<(usize, bool)> {
        let modes = &self.model.gearing.modes;
        let (mode, waits) = match state.gears {
            Gears::In { mode, up } if self.timed => (mode, matches!(up, Upshift::Due { .. })),
            _ if self.timed => return None,
            _ => (modes.iter().position(|m| m.x_end == state.x)?, false),
        };
        let holds = modes[mode].x_end == state.x && !(self.timed && modes[mode].slipping);
        (holds && !state.on_k && mode + 1 < modes.len()).then_some((mode, waits))
    }

    fn limiter_to(&self, here: &Here) -> Option<Held> {
        let (mode, waits) = self.at_limiter(here.label.state)?;
        let (model, cell, x, share) = (self.model, &self.mesh.cells[here.i], here.label.state.x, here.share);
        let modes = &model.gearing.modes;
        let slack = |mode: usize, x_piece: f64, share: f64| {
            let road = self.mesh.road_in(cell, share);
            Pull::new(model, Engaged::Mode { mode, x: x_piece }).slack(model, &road, x, 0.0)
        };
        // Each holds as long as it is not negative.
        let own = |share: f64| slack(mode, x * (1.0 - 1e-9), share);
        let above = |share: f64| {
            let able = (mode + 1..modes.len()).filter(|&m| modes[m].x_end > x);
            -able.map(|m| slack(m, x, share)).fold(f64::NEG_INFINITY, f64::max)
        };
        let waiting = |share: f64| -rolling(model, &self.mesh.road_in(cell, share), x);
        let always = |_: f64| 0.0;
        let others: &dyn Fn(f64) -> f64 = match (self.timed, waits) {
            (false, _) => &above,
            (true, true) => &waiting,
            (true, false) => &always,
        };
        let grip = |share: f64| model.grip(&self.mesh.road_in(cell, share), x, 0.0).value;
        let k = |share: f64| self.k.at(here.i, share).map_or(f64::INFINITY, |k| k - x);
        let (mut to, mut rolls) = (1.0f64, false);
        for (holds, starts) in [(&own as &dyn Fn(f64) -> f64, false), (others, waits), (&grip, false)] {
            if holds(share) < 0.0 {
                return None;
            }
            if holds(1.0) < 0.0 {
                let ends = share + (1.0 - share) * root(|u| holds(share + (1.0 - share) * u));
                if ends < to {
                    (to, rolls) = (share.max(ends), starts);
                }
            }
        }
        let meets_k = k(to) < 0.0;
        if meets_k {
            to = share + (to - share) * root(|u| k(share + (to - share) * u));
            rolls = false;
        }
        (to > share).then_some(Held { mode, to, rolls, meets_k })
    }
}

/// A limiter held: whose, up to where in the cell, and whether it ends where a shift that waited starts, or on K.
struct Held {
    mode: usize,
    to: f64,
    rolls: bool,
    meets_k: bool,
}
