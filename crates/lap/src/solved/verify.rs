//! What a solved lap claims, looked up in the model once more: where the feasible set falls into parts the solver may have
//! stepped from one to another.

use unladen_vehicle::Model;
use unladen_vehicle::branches::Free;
use unladen_vehicle::road::Road;

use crate::backward::brake::{Anchor, Braking};
use crate::forward::profile::{Gears, Piece, Profile};
use crate::set::pull::{Engaged, Pull, best_mode};
use crate::solved::lap::Solved;
use crate::step::arc::slope_per_a;
use crate::step::mesh::Mesh;

/// A profile is cut off at the ceiling of a cell's end: that may ask for as much as this over the cell, m/s² (random
/// usual cars: 6 at most, but for a few), …
const CUT: f64 = 8.0;

/// … more than rounding from this on, …
const CUT_OFF: f64 = 0.1;

/// … and where it asks for more than this, speed jumps.
pub const TORN: f64 = 20.0;

/// The a_x over a whole cell that its gaps between one piece's X and the next one's come to, m/s².
pub fn gap(mesh: &Mesh, braking: &Braking, profile: &Profile, cell: usize) -> f64 {
    let mut worst = 0.0f64;
    let mut x = profile.states[cell].x;
    for piece in profile.pieces(cell) {
        let (from, to) = match *piece {
            Piece::Step(j) => (profile.steps[j].arc.x_0, profile.steps[j].arc.poly.at(profile.steps[j].tau)),
            Piece::Brake { cell, from } => (braking.at(cell, from).unwrap_or(x), braking.k[cell + 1]),
            Piece::Ceiling { cell, from, x } => {
                // Where a ceiling falls as its one a_x leads nothing is cut off.
                let leads = match braking.anchor[cell] {
                    Anchor::Ceiling(top, _) => top.a_x * slope_per_a(&mesh.cells[cell].forward[2]),
                    _ => 0.0,
                };
                let (rise, led) = (x[1] - x[0], leads * mesh.cells[cell].length * (1.0 - from));
                worst = worst.max(rise.abs().min((rise - led).abs()));
                (x[0], x[1])
            }
            Piece::Limiter { .. } => (x, x),
        };
        worst = worst.max((from - x).abs());
        x = to;
    }
    worst.max((profile.states[cell + 1].x - x).abs()) / (2.0 * mesh.cells[cell].length)
}

/// The a_x over a whole cell that following its ceiling comes to, m/s².
fn along_ceiling(mesh: &Mesh, profile: &Profile, cell: usize) -> f64 {
    let rise = |piece: &Piece| if let Piece::Ceiling { x, .. } = piece { (x[1] - x[0]).abs() } else { 0.0 };
    profile.pieces(cell).iter().map(rise).fold(0.0, f64::max) / (2.0 * mesh.cells[cell].length)
}

/// By how little a row may lie outside: forces over weight, or their squares.
const BEYOND: f64 = -1e-9;

/// What is seen of a lap at its stations.
pub struct Seen {
    /// The first station at which the profile asks for more than grip, or the engine in its gear, can do, or from which it
    /// does so on the way to the next.
    pub beyond: Option<usize>,
    /// Before that a wheel carries nothing at some station, or the profile is cut off at a ceiling, or follows one that falls.
    pub odd: bool,
}

impl Solved {
    /// Looks at all stations.
    pub fn seen(&self, mesh: &Mesh, model: &Model) -> Seen {
        let n = mesh.cells.len();
        let mut odd = false;
        let beyond = (0..=n).find(|&station| {
            if station < n {
                let gap = gap(mesh, &self.braking, &self.profile, station);
                odd |= gap.max(along_ceiling(mesh, &self.profile, station)) > CUT_OFF;
                if gap > CUT {
                    return true;
                }
            }
            let (road, x) = (mesh.road_at(station), self.profile.states[station].x);
            let a_x = self.a_x(mesh, model, station);
            if model.grip(road, x, a_x).value < BEYOND {
                return true;
            }
            let axles = model.axles(road, x, a_x);
            odd |= model.wheels(&axles, &mut Free).n.iter().any(|&n| n <= 0.0);
            axles.f_x > 0.0 && self.power(model, road, station, a_x) < BEYOND
        });
        Seen { beyond, odd }
    }

    /// Slack of the power limit in the gear, or the shift, at a station.
    fn power(&self, model: &Model, road: &Road, station: usize, a_x: f64) -> f64 {
        let x = self.profile.states[station].x;
        let gears = match self.piece(station) {
            Some(&Piece::Step(j)) => self.profile.steps[j].gears,
            // A gear may be held at its limiter where the next one, the best that reaches this speed, pulls too little.
            Some(&Piece::Limiter { mode, .. }) => Gears::engaged(mode),
            _ => Gears::Braking,
        };
        match gears {
            Gears::Shifting { .. } => Pull::None(model.gearing.m_rot_shifting).slack(model, road, x, a_x),
            Gears::In { mode, .. } => {
                let modes = &model.gearing.modes;
                let gear = modes.iter().enumerate().filter(|(_, m)| m.gear == modes[mode].gear);
                let able = gear.filter(|(_, m)| x <= m.x_end * (1.0 - BEYOND));
                able.map(|(mode, _)| Pull::new(model, Engaged::Mode { mode, x }).slack(model, road, x, a_x))
                    .fold(f64::NEG_INFINITY, f64::max)
            }
            Gears::Braking => {
                Pull::new(model, Engaged::Mode { mode: best_mode(model, road, x), x }).slack(model, road, x, a_x)
            }
        }
    }
}
