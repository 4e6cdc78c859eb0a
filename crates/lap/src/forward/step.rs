//! One step of the forward pass: what rules it, and how far it goes.

use unladen_vehicle::road::Road;

use crate::backward::brake::STANDSTILL;
use crate::forward::cell::{Here, Pass};
use crate::forward::events::Tried;
use crate::forward::gears::{due, engaged};
use crate::forward::profile::{Event, Gears, Piece, Regime, Step, Stop};
use crate::set::connected;
use crate::set::pull::{Engaged, Pull};
use crate::step::arc::Arc;
use crate::step::tableau::C;

/// A joint of the torque curve is left downwards where the speed is this much below it, relative.
const BELOW: f64 = 1.0 - 1e-9;

/// Parts of the set are looked for this close, m/s².
const PART: f64 = 0.25;

/// Where a part comes within reach is placed to this share of a step.
const PLACED: f64 = 1e-3;

/// … and a little beyond.
const LEAST: f64 = 0.02;

/// The other regime rules from the start where its slack is less than this there.
const RULES: f64 = -1e-6;

/// Slack beyond which it is clear that grip holds, or does not.
const CLEARLY: f64 = 1e-4;

/// … and where, at the end of a step along power that began within grip, it is far from holding.
const FAR: f64 = -0.3;

/// A step along grip in which power takes over is taken again up to the next of so many parts of it: that end stands still
/// where the place moves a little.
const PARTS: f64 = 32.0;

impl<'a> Pass<'a> {
    /// One step, to the first event; whether grip leaves a way on over so long a one.
    pub(super) fn step(&mut self, here: &mut Here<'a>) -> Result<bool, Stop> {
        let (cell, mut state) = (&self.mesh.cells[here.i], here.label.state);
        let road = self.mesh.road_in(cell, here.share);
        state.gears = due(&self.model.gearing, state);
        let kept = here.label.memory;
        let Some(tried) = self.try_step(here, &road, state.gears) else { return Ok(false) };
        if tried.leads_out && self.change_down(here, &road, state.gears) {
            return self.step(here);
        }
        here.label.memory.regime = tried.regime;
        let x_1 = tried.arc.poly.at(1.0);
        if x_1.is_nan() || x_1 < STANDSTILL && x_1 <= state.x {
            return Err(Stop::Stalls { cell: here.i, at_start: false });
        }
        if self.brakes(&tried) {
            state.gears = Gears::Braking;
        } else if state.gears == Gears::Braking {
            self.leave(here);
            return self.step(here);
        }
        let (tau, event) = self.events.first_event(&tried, state.gears);
        // Along grip X is of lower order between the stages: power takes over where a step that ends there says so.
        let to = (PARTS * tau).ceil() / PARTS;
        if event == Event::Turn && tried.regime == Regime::Grip && here.end == 1.0 && to < 1.0 {
            (here.end, here.label.memory) = (tried.arc.place(to), kept);
            return self.step(here);
        }
        let Tried { arc, regime, .. } = tried;
        // Where power takes over from grip it does so on the torque piece that holds there.
        let engaged = match (event, regime) {
            (Event::Turn, Regime::Grip) => tried.engaged.at(arc.poly.at(tau)),
            _ => tried.engaged,
        };
        let step = Step { arc, regime, engaged, gears: state.gears, tau, event };
        if event == Event::Turn {
            here.label.memory.regime = tried.regime.other();
        }
        here.label.memory.goes_on = event == Event::End && tried.at_end >= 0.0;
        self.take(here, step);
        Ok(true)
    }

    /// A step goes into the label's way; what its end means for the gears that it may choose between.
    fn take(&mut self, here: &mut Here<'a>, step: Step) {
        here.label.state = self.events.after(&step);
        if step.tau > 0.0 {
            self.steps.push(step);
            self.push(here, Piece::Step(self.steps.len() - 1));
        }
        here.share = step.arc.place(step.tau);
        if here.share > 1.0 - 1e-12 {
            here.share = 1.0;
        }
        here.end = 1.0;
        if self.timed {
            self.choose(here, &step);
        }
    }

    /// A step to the end that is asked for, in the regime and on the piece of the torque curve that rule it.
    fn try_step(&mut self, here: &mut Here, road: &Road, gears: Gears) -> Option<Tried> {
        let (model, x) = (self.model, here.label.state.x);
        let engaged = |x| engaged(model, road, gears, x);
        let goes_on = here.label.memory.goes_on;
        // Which rules at the start needs no step. At the limiter the engine does not give all.
        let rules = if goes_on || x >= self.k.x_limit { None } else { self.rules_at_start(here, road, engaged(x)) };
        let kept = here.label.memory;
        let mut is_power = rules == Some(Regime::Power);
        let mut tried = self.follow(here, engaged(x), rules.unwrap_or(kept.regime))?;
        if is_power && kept.regime == Regime::Grip && tried.at_end < FAR {
            // Grip does not end so far below: it was a gap.
            (is_power, here.label.memory) = (false, kept);
            tried = self.follow(here, engaged(x), Regime::Grip)?;
        }
        if !is_power && (!goes_on || tried.at_end < 0.0) && self.other_rules(&tried) {
            tried = self.follow(here, tried.engaged, tried.regime.other())?;
            tried.leads_out = self.leads_out(&tried);
        }
        // A speed on a joint of the torque curve belongs to the piece it is heading for.
        if tried.regime == Regime::Power && tried.arc.poly.at(1.0) < x {
            tried = self.follow(here, engaged(x * BELOW), tried.regime)?;
        }
        Some(tried)
    }

    /// What rules where a step starts, by grip's room where the engine gives all; `None` where that is close, or lies beyond a
    /// gap of what is feasible.
    fn rules_at_start(&self, here: &Here, road: &Road, engaged: Engaged) -> Option<Regime> {
        let (model, x, tracer) = (self.model, here.label.state.x, &here.label.memory.tracer);
        let all = Pull::new(model, engaged).a_x(model, road, x);
        let room = connected::grip(model, road, x, all);
        let last = tracer.last_a();
        let holds = |share: f64| model.grip(road, x, last + share * (all - last)).value >= 0.0;
        let reaches = || last >= all || [0.25, 0.5, 0.75].into_iter().all(holds);
        match () {
            _ if room < -CLEARLY => Some(Regime::Grip),
            _ if room > CLEARLY && reaches() => Some(Regime::Power),
            _ => None,
        }
    }

    /// A step in one regime; `None` where the line passes the feasible set by.
    fn follow(&self, here: &mut Here, engaged: Engaged, regime: Regime) -> Option<Tried> {
        let (model, share, x_0) = (self.model, [here.share, here.end], here.label.state.x);
        let arc = match regime {
            Regime::Grip => self.follow_grip(here)?,
            Regime::Power => {
                let pull = Pull::new(model, engaged);
                let tracer = &mut here.label.memory.tracer;
                tracer.lift();
                let near = tracer.last_a();
                let arc = tracer.arc(here.i, share, x_0, |road, x, a| pull.slack(model, road, x, a))?;
                let [start, end] = share.map(|share| self.mesh.road_in(&self.mesh.cells[here.i], share));
                arc.leaving_at(self.mesh, [&start, &end], pull.a_x_near(model, &start, x_0, near))
            }
        };
        let at_end = self.events.turn(&arc, engaged, regime, 1.0);
        Some(Tried { arc, engaged, regime, at_end, leads_out: false })
    }

    /// A step along the part of the set that lies nearest to coasting, cut where another one is nearer: below the ceiling of
    /// one of two tops the car is free to go on under the other.
    fn follow_grip(&self, here: &mut Here) -> Option<Arc> {
        let (i, from, x_0) = (here.i, here.share, here.label.state.x);
        let tracer = &mut here.label.memory.tracer;
        if let Some(a) = self.nearer_coasting(i, from, x_0, tracer.last_a()) {
            tracer.lift();
            tracer.look_near(a);
            return tracer.grip_arc(i, [from, here.end], x_0, true);
        }
        let kept = *tracer;
        let arc = tracer.grip_arc(i, [from, here.end], x_0, true)?;
        let nearer = |tau: f64| self.nearer_coasting(i, arc.place(tau), arc.poly.at(tau), arc.a[2]).is_some();
        if !nearer(1.0) {
            return Some(arc);
        }
        let (mut lo, mut hi) = (0.0, 1.0);
        while hi - lo > PLACED {
            let mid = 0.5 * (lo + hi);
            if nearer(mid) { hi = mid } else { lo = mid }
        }
        // A little beyond: the same step up to there is not quite the same.
        let to = hi + LEAST;
        if to >= 1.0 {
            return Some(arc);
        }
        *tracer = kept;
        tracer.grip_arc(i, [from, arc.place(to)], x_0, true)
    }

    /// An a_x between one that is followed and coasting that grip allows as well, beyond a gap.
    fn nearer_coasting(&self, cell: usize, share: f64, x: f64, followed: f64) -> Option<f64> {
        let road = self.mesh.road_in(&self.mesh.cells[cell], share);
        // Resistances only raise what there is to look through.
        let steps = ((-road.x_0 - followed) / PART).clamp(0.0, 40.0) as i32;
        let mut parts = (1..=steps).map(|i| followed + PART * f64::from(i));
        parts.find(|&a| self.model.grip(&road, x, a).value >= 0.0)
    }

    /// The other regime allows less, from the start of the step on.
    fn other_rules(&self, tried: &Tried) -> bool {
        let turn = |tau| self.events.turn(&tried.arc, tried.engaged, tried.regime, tau);
        turn(0.0) < RULES && turn(C[0]) < 0.0
    }

    /// Nor does the regime that is left hold, or it leads out at once.
    fn leads_out(&self, tried: &Tried) -> bool {
        let turn = |tau| self.events.turn(&tried.arc, tried.engaged, tried.regime, tau);
        let at_start = turn(0.0);
        at_start < RULES || at_start < -RULES && tried.at_end < 0.0 && turn(C[0]) < 0.0
    }

    /// Braking to the limit of grip, as into a corner that K does not press on.
    fn brakes(&self, tried: &Tried) -> bool {
        let Tried { arc, regime, .. } = tried;
        *regime == Regime::Grip && {
            let road = self.mesh.road_in(&self.mesh.cells[arc.cell], arc.place(C[0]));
            self.model.axles(&road, arc.poly.at(C[0]), arc.a[0]).f_x < 0.0
        }
    }
}
