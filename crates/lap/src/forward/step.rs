//! One step of the forward pass: what rules it, and how far it goes.

use unladen_vehicle::road::Road;

use crate::backward::brake::STANDSTILL;
use crate::forward::cell::{Here, Pass};
use crate::forward::events::Tried;
use crate::forward::gears::{due, engaged};
use crate::forward::profile::{Event, Gears, Piece, Regime, Step, Stop};
use crate::set::pull::{Engaged, Pull};
use crate::step::tableau::C;

/// A joint of the torque curve is left downwards where the speed is this much below it, relative.
const BELOW: f64 = 1.0 - 1e-9;

/// The other regime rules from the start where its slack is less than this there.
const RULES: f64 = -1e-6;

impl<'a> Pass<'a> {
    /// One step, to the first event; whether grip leaves a way on over so long a one.
    pub(super) fn step(&mut self, here: &mut Here<'a>) -> Result<bool, Stop> {
        let (cell, mut state) = (&self.mesh.cells[here.i], here.label.state);
        let road = self.mesh.road_in(cell, here.share);
        state.gears = due(&self.model.gearing, state);
        let Some(tried) = self.try_step(here, &road, state.gears) else { return Ok(false) };
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
        let step =
            Step { arc: tried.arc, regime: tried.regime, engaged: tried.engaged, gears: state.gears, tau, event };
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
        let (regime, goes_on) = (here.label.memory.regime, here.label.memory.goes_on);
        let mut tried = self.follow(here, engaged(x), regime)?;
        if (!goes_on || tried.at_end < 0.0) && self.other_rules(&tried) {
            tried = self.follow(here, tried.engaged, tried.regime.other())?;
        }
        // A speed on a joint of the torque curve belongs to the piece it is heading for.
        if tried.regime == Regime::Power && tried.arc.poly.at(1.0) < x {
            tried = self.follow(here, engaged(x * BELOW), tried.regime)?;
        }
        Some(tried)
    }

    /// A step in one regime; `None` where the line passes the feasible set by.
    fn follow(&self, here: &mut Here, engaged: Engaged, regime: Regime) -> Option<Tried> {
        let (model, share, x_0) = (self.model, [here.share, here.end], here.label.state.x);
        let tracer = &mut here.label.memory.tracer;
        let pull = Pull::new(model, engaged);
        let arc = match regime {
            Regime::Grip => tracer.grip_arc(here.i, share, x_0, true),
            Regime::Power => {
                tracer.lift();
                tracer.arc(here.i, share, x_0, |road, x, a| pull.slack(model, road, x, a))
            }
        }?;
        let at_end = self.events.turn(&arc, &pull, regime, 1.0);
        Some(Tried { arc, engaged, pull, regime, at_end })
    }

    /// The other regime allows less, from the start of the step on.
    fn other_rules(&self, tried: &Tried) -> bool {
        let turn = |tau| self.events.turn(&tried.arc, &tried.pull, tried.regime, tau);
        turn(0.0) < RULES && turn(C[0]) < 0.0
    }

    /// Braking to the limit of grip, as into a corner that K does not press on.
    fn brakes(&self, tried: &Tried) -> bool {
        let Tried { arc, regime, .. } = tried;
        let road = self.mesh.road_in(&self.mesh.cells[arc.cell], arc.place(C[0]));
        *regime == Regime::Grip && self.model.axles(&road, arc.poly.at(C[0]), arc.a[0]).f_x < 0.0
    }
}
