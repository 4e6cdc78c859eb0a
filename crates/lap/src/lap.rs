//! A lap on one mesh: both passes and the time.

use unladen_vehicle::{Dual, Model};

use crate::arc::slope_per_a;
use crate::brake::{Braking, NoSpeed, braking};
use crate::drive::{Gears, Piece, Profile, Regime, Stop, drive};
use crate::mesh::Mesh;
use crate::pull::{Engaged, best_mode};
use crate::trace::Limit;

/// A solved lap on one mesh.
pub struct Solved {
    /// K.
    pub braking: Braking,
    /// The profile.
    pub profile: Profile,
    /// Time at each station from the start of the track, s.
    pub t: Vec<f64>,
}

/// Why there is no lap on a mesh.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Failure {
    /// No speed is feasible.
    NoSpeed(NoSpeed),
    /// The car stops, or starts too fast.
    Stop(Stop),
}

/// Both passes and the time.
pub fn solve(mesh: &Mesh, model: &Model, model_2: &Model<Dual<2>>) -> Result<Solved, Failure> {
    let braking = braking(mesh, model, model_2).map_err(Failure::NoSpeed)?;
    let profile = drive(mesh, model, &braking).map_err(Failure::Stop)?;
    let mut t = vec![0.0];
    for i in 0..mesh.cells.len() {
        let dt: f64 = profile.pieces[i].iter().map(|p| piece_time(mesh, &braking, &profile, p)).sum();
        t.push(t[i] + dt);
    }
    Ok(Solved { braking, profile, t })
}

impl Solved {
    /// Lap time, s.
    pub fn time(&self) -> f64 {
        self.t.last().copied().unwrap_or(0.0)
    }

    /// What rules at the start of a cell, and in which gear.
    pub fn limit(&self, mesh: &Mesh, model: &Model, cell: usize) -> (Limit, u8) {
        let modes = &model.gearing.modes;
        let x = self.profile.states[cell].x;
        let top = modes.last().map_or(1, |m| m.gear);
        match self.profile.pieces[cell].first() {
            Some(&Piece::Step(j)) => {
                let step = &self.profile.steps[j];
                let (mode, shifting) = match step.gears {
                    Gears::In { mode, .. } => (mode, false),
                    Gears::Braking => match step.engaged {
                        Engaged::Mode { mode, .. } => (mode, false),
                        Engaged::Shifting => (0, false),
                    },
                    Gears::Shifting { to, .. } => (to, true),
                };
                let limit = match (step.regime, shifting) {
                    (Regime::Grip, _) => step.arc.bound(mesh, model).into(),
                    (Regime::Power, true) => Limit::Shift,
                    (Regime::Power, false) => Limit::Power,
                };
                (limit, modes[mode].gear)
            }
            Some(Piece::Brake { .. }) => {
                let arcs = self.braking.curve(cell);
                let limit = arcs.last().map_or(Limit::Braking, |arc| arc.bound(mesh, model).into());
                (limit, modes[best_mode(model, &mesh.cells[cell].backward[2], x)].gear)
            }
            Some(Piece::Ceiling { .. }) => {
                let road = &mesh.cells[cell].backward[2];
                let limit = model.grip(road, x, self.a_x(mesh, cell)).bound.into();
                (limit, modes[best_mode(model, road, x)].gear)
            }
            Some(Piece::Limiter { .. }) | None => (Limit::TopSpeed, top),
        }
    }

    /// a_x at a station, on the edge that the profile follows from it.
    pub fn a_x(&self, mesh: &Mesh, station: usize) -> f64 {
        let cell = station.min(mesh.cells.len() - 1);
        let last = station > cell;
        let road = if last { &mesh.cells[cell].forward[2] } else { &mesh.cells[cell].backward[2] };
        let pieces = &self.profile.pieces[cell];
        match if last { pieces.last() } else { pieces.first() } {
            Some(&Piece::Step(j)) => {
                let step = &self.profile.steps[j];
                step.arc.a_x(mesh, road, if last { step.tau } else { 0.0 })
            }
            Some(Piece::Brake { .. }) => {
                let arcs = self.braking.curve(cell);
                match if last { arcs.first() } else { arcs.last() } {
                    Some(arc) => arc.a_x(mesh, road, if last { 0.0 } else { arc.end }),
                    None => 0.0,
                }
            }
            Some(&Piece::Ceiling { from, x, .. }) => {
                let length = mesh.cells[cell].length * (1.0 - from);
                (self.braking.k[cell + 1] - x) / length / slope_per_a(road)
            }
            Some(Piece::Limiter { .. }) | None => 0.0,
        }
    }
}

fn piece_time(mesh: &Mesh, braking: &Braking, profile: &Profile, piece: &Piece) -> f64 {
    match *piece {
        Piece::Step(j) => {
            let step = &profile.steps[j];
            step.arc.time(mesh, 0.0, step.tau)
        }
        Piece::Brake { cell, from } => braking
            .curve(cell)
            .iter()
            .filter(|arc| arc.share[0] > from)
            .map(|arc| arc.time(mesh, arc.tau(from).min(arc.end), 0.0))
            .sum(),
        Piece::Ceiling { cell, from, x } => {
            let c = &mesh.cells[cell];
            let v = x.sqrt() + braking.k[cell + 1].sqrt();
            2.0 * c.length * (1.0 - from) * mesh.sec_in(c, 0.5 * (1.0 + from)) / v
        }
        Piece::Limiter { cell, share } => {
            let cell = &mesh.cells[cell];
            cell.length * (share[1] - share[0]) * mesh.sec_in(cell, 0.5 * (share[0] + share[1]))
                / braking.x_limit.sqrt()
        }
    }
}
