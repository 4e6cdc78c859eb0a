//! The state that a step leaves.

use unladen_vehicle::powertrain::Gearing;

use crate::forward::events::{Events, TIE};
use crate::forward::gears::{ended, next_gear};
use crate::forward::profile::{Event, Gears, State, Step, Upshift};
use crate::set::pull::{Engaged, advantage};

impl Events<'_> {
    /// The state once a step has ended as it did.
    pub fn after(&self, step: &Step) -> State {
        let (arc, tau, gearing) = (&step.arc, step.tau, &self.model.gearing);
        let mut after = State { x: arc.poly.at(tau), on_k: false, gears: step.gears };
        if let Gears::Shifting { elapsed, .. } = &mut after.gears
            && tau > 0.0
        {
            *elapsed += arc.time(self.mesh, 0.0, tau);
        }
        match step.event {
            Event::Braking | Event::Limiter => after.on_k = true,
            Event::Ceiling => (after.on_k, after.x) = (true, self.k.k[arc.cell + 1]),
            // Exactly on the joint, so that the next piece is the one beyond it.
            Event::Piece(upper) => after.x = joint(gearing, step, upper).unwrap_or(after.x),
            _ => {}
        }
        after.gears = match (step.event, after.gears) {
            (Event::ModeEnd, Gears::In { mode, up }) => {
                after.x = gearing.modes[mode].x_end;
                ended(gearing, mode, up)
            }
            (Event::Better(to) | Event::Under(to), Gears::In { mode, up }) => {
                let same_gear = gearing.modes[to].gear == gearing.modes[mode].gear;
                Gears::In { mode: to, up: if same_gear { up } else { Upshift::Ahead } }
            }
            (Event::UpshiftSpeed(_), Gears::In { mode, .. }) => Gears::In { mode, up: Upshift::Due { elapsed: 0.0 } },
            (Event::RollsNoMore, Gears::Shifting { to, elapsed }) => {
                Gears::In { mode: to - 1, up: Upshift::Due { elapsed } }
            }
            (Event::ShiftEnd, Gears::Shifting { to, .. }) => Gears::engaged(to),
            (Event::End, Gears::In { mode, up: Upshift::Held }) if self.may_pass_again(step, mode, after.x) => {
                Gears::engaged(mode)
            }
            (_, gears) => gears,
        };
        after
    }

    /// A gear that is held is back below v_g, which may be passed again.
    fn may_pass_again(&self, step: &Step, mode: usize, x: f64) -> bool {
        let (arc, gearing) = (&step.arc, &self.model.gearing);
        let x_end = gearing.modes[mode].x_end;
        let road = self.mesh.road_in(&self.mesh.cells[arc.cell], arc.place(step.tau));
        let gain = |to| advantage(self.model, &road, mode, to, x.min(x_end * (1.0 - 2e-12)));
        x < x_end && next_gear(gearing, mode).is_none_or(|to| gain(to) < -TIE)
    }
}

/// X at the joint of the torque curve where a step ended.
fn joint(gearing: &Gearing, step: &Step, upper: bool) -> Option<f64> {
    let (Gears::In { mode, .. }, Engaged::Mode { x, .. }) = (step.gears, step.engaged) else { return None };
    let (_, [lo, hi]) = gearing.piece_at(mode, x);
    Some(if upper { hi } else { lo })
}
