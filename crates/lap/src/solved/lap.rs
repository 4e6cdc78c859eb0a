//! A lap on one mesh: both passes and the time.

use unladen_vehicle::road::Road;
use unladen_vehicle::{Dual, Model};

use crate::backward::brake::{Anchor, Braking, NoSpeed, braking};
use crate::forward::drive::drive;
use crate::forward::profile::{Driven, Gears, Piece, Profile, Regime, Rival, Step, Stop};
use crate::set::connected;
use crate::set::edge::outer_edge;
use crate::set::pull::{Engaged, Pull, best_mode};
use crate::solved::trace::Limit;
use crate::solved::verify::{TORN, gap};
use crate::step::arc::slope_per_a;
use crate::step::mesh::Mesh;

/// A solved lap on one mesh.
pub struct Solved {
    /// K.
    pub braking: Braking,
    /// The profile.
    pub profile: Profile,
    /// Time at each station from the start of the track, s.
    pub t: Vec<f64>,
    /// Another sequence of gears that is nearly as quick.
    pub rival: Option<Rival>,
}

/// Where braking begins between two stations.
pub struct Peak {
    /// Share of the cell.
    pub share: f64,
    /// X.
    pub x: f64,
    /// a_x of braking.
    pub a_x: f64,
    /// Time since the cell's start, s.
    pub after_s: f64,
    /// In which gear.
    pub gear: u8,
    /// What rules from there on.
    pub limit: Limit,
}

/// Why there is no lap on a mesh.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Failure {
    /// No speed is feasible.
    NoSpeed(NoSpeed),
    /// The car stops, or starts too fast.
    Stop(Stop),
    /// The profile found jumps.
    Torn {
        /// In this cell.
        cell: usize,
    },
}

/// Both passes and the time.
pub fn solve(mesh: &Mesh, model: &Model, model_2: &Model<Dual<2>>) -> Result<Solved, Failure> {
    let braking = braking(mesh, model, model_2).map_err(Failure::NoSpeed)?;
    let Driven { profile, rival } = drive(mesh, model, &braking).map_err(Failure::Stop)?;
    let mut t = vec![0.0];
    for i in 0..mesh.cells.len() {
        let dt = profile.times[i];
        // Along a ceiling at rest there is no time to be had.
        if !dt.is_finite() {
            return Err(Failure::Stop(Stop::Stalls {
                cell: i,
                at_start: i == 0 && mesh.x_start == 0.0 && !mesh.closed,
            }));
        }
        if gap(mesh, &braking, &profile, i) > TORN {
            return Err(Failure::Torn { cell: i });
        }
        t.push(t[i] + dt);
    }
    Ok(Solved { braking, profile, t, rival })
}

impl Solved {
    /// Lap time, s.
    pub fn time(&self) -> f64 {
        self.t.last().copied().unwrap_or(0.0)
    }

    /// The piece that leaves a station; at the end of an open course the one that arrives.
    pub fn piece(&self, station: usize) -> Option<&Piece> {
        let n = self.profile.within.len();
        if station < n { self.profile.pieces(station).first() } else { self.profile.pieces(n - 1).last() }
    }

    /// What rules at a station, and in which gear.
    pub fn limit(&self, mesh: &Mesh, model: &Model, station: usize) -> (Limit, u8) {
        let modes = &model.gearing.modes;
        let x = self.profile.states[station].x;
        let road = mesh.road_at(station);
        let best = || modes[best_mode(model, road, x)].gear;
        match self.piece(station) {
            Some(&Piece::Step(j)) => {
                let step = &self.profile.steps[j];
                let gear = match (step.gears, step.engaged) {
                    (Gears::In { mode, .. }, _) | (Gears::Shifting { to: mode, .. }, _) => modes[mode].gear,
                    (Gears::Braking, _) => best(),
                };
                let limit = match (step.regime, step.gears) {
                    (Regime::Grip, _) => step.arc.bound(mesh, model).into(),
                    (Regime::Power, Gears::Shifting { .. }) => Limit::Shift,
                    (Regime::Power, _) => Limit::Power,
                };
                (limit, gear)
            }
            Some(&Piece::Brake { cell, .. }) => {
                let limit = self.braking.curve(cell).last().map_or(Limit::Braking, |arc| arc.bound(mesh, model).into());
                (limit, best())
            }
            Some(Piece::Ceiling { .. }) => (model.grip(road, x, self.a_x(mesh, model, station)).bound.into(), best()),
            Some(&Piece::Limiter { mode, .. }) if mode + 1 < modes.len() => (Limit::Power, modes[mode].gear),
            Some(Piece::Limiter { .. }) | None => (Limit::TopSpeed, best()),
        }
    }

    /// Where braking begins within a cell, if it does.
    pub fn peak(&self, mesh: &Mesh, model: &Model, cell: usize) -> Option<Peak> {
        let pieces = self.profile.pieces(cell);
        let begins = |piece: &Piece| match *piece {
            Piece::Brake { from, .. } if from > 0.0 => Some(from),
            _ => None,
        };
        let (before, share) = pieces.iter().enumerate().find_map(|(k, piece)| Some((k, begins(piece)?)))?;
        let arc = self.braking.curve(cell).iter().find(|arc| share >= arc.share[1])?;
        let (road, x) = (mesh.road_in(&mesh.cells[cell], share), arc.poly.at(arc.tau(share)));
        let own = arc.a_x(mesh, &road, arc.tau(share));
        let grip = |a: f64| model.grip(&road, x, a).value;
        let edge = -outer_edge(|z| grip(-z), -own, &mut -0.1).unwrap_or(-own);
        let time = |piece: &Piece| piece.time(mesh, &model.gearing, &self.braking, &self.profile.steps);
        // Close to a ceiling even the least a_x may be a rise.
        let a_x = nearest(grip, edge).filter(|a| *a < 0.0)?;
        Some(Peak {
            share,
            x,
            a_x,
            after_s: pieces[..before].iter().map(time).sum(),
            gear: model.gearing.modes[best_mode(model, &road, x)].gear,
            limit: arc.bound(mesh, model).into(),
        })
    }

    /// a_x at a station, on the edge that the profile follows from it, within what is feasible there.
    pub fn a_x(&self, mesh: &Mesh, model: &Model, station: usize) -> f64 {
        let road = mesh.road_at(station);
        let x = self.profile.states[station].x;
        let arrives = station >= mesh.cells.len();
        let grip = |a: f64| model.grip(road, x, a).value;
        let (a, edge, able) = match self.piece(station) {
            Some(&Piece::Step(j)) => {
                let step = &self.profile.steps[j];
                let own = step.arc.a_x(mesh, road, if arrives { step.tau } else { 0.0 });
                step_a(model, road, x, step, own)
            }
            Some(&Piece::Brake { cell, .. }) => {
                let a = match self.braking.curve(cell) {
                    // A braking curve runs backwards: here is where it starts, and it has no stage there.
                    [first, ..] if arrives => {
                        let brake = |z: f64| model.grip(road, x, -z).value;
                        -outer_edge(brake, -first.a[0], &mut -0.1).unwrap_or(-first.a[0])
                    }
                    [.., last] => last.a[2],
                    [] => 0.0,
                };
                (a, a, f64::INFINITY)
            }
            Some(&Piece::Ceiling { cell, from, x }) => {
                let a = (x[1] - x[0]) / (mesh.cells[cell].length * (1.0 - from)) / slope_per_a(road);
                (a, a, f64::INFINITY)
            }
            Some(Piece::Limiter { .. }) | None => (0.0, 0.0, f64::INFINITY),
        };
        let top = match self.braking.anchor[station] {
            Anchor::Ceiling(top, _) => top.a_x,
            _ => a,
        };
        let feasible = |a: f64| grip(a).min(able - a);
        let within = [a, edge, top].into_iter().find_map(|a| nearest(feasible, a));
        // No gear may reach what grip asks for at a ceiling.
        within.or_else(|| [edge, top].into_iter().find_map(|a| nearest(grip, a))).unwrap_or_else(|| {
            // At a ceiling the set is one point, found but for rounding.
            let loosest = loosest_a(grip, a);
            if grip(top) > grip(loosest) { top } else { loosest }
        })
    }
}

/// a_x where a step starts (or ends), the edge of grip there, and the most that the engine can do; `own` is its own
/// slope there.
fn step_a(model: &Model, road: &Road, x: f64, step: &Step, own: f64) -> (f64, f64, f64) {
    let braking = step.gears == Gears::Braking;
    let engaged = match step.regime {
        _ if braking => Engaged::Mode { mode: best_mode(model, road, x), x },
        // It may have ended on another piece of the torque curve.
        Regime::Grip => step.engaged.at(x),
        Regime::Power => step.engaged,
    };
    let power = Pull::new(model, engaged).a_x(model, road, x);
    let grip = |a: f64| connected::grip(model, road, x, a);
    if !braking && grip(power) >= -ROUNDING {
        return (power, power, power);
    }
    // Braking asks nothing of the engine.
    let able = if model.axles(road, x, power).f_x < 0.0 { f64::INFINITY } else { power };
    let edge = outer_edge(grip, own, &mut -0.1).unwrap_or(own);
    // Where it only bounds speed (rolling over) or the set is narrow, the edge is far from where the profile leads.
    (if (edge - own).abs() > APART { own } else { edge }, edge, able)
}

/// How far a step's own slope may be from the edge found at its start, m/s².
const APART: f64 = 0.25;

/// Slacks that are 0 but for rounding.
const ROUNDING: f64 = 1e-12;

/// The a_x next to `a` that holds, if one does: a root may be off by what a kink beside it bends.
fn nearest(slack: impl Fn(f64) -> f64, a: f64) -> Option<f64> {
    if slack(a) >= -ROUNDING {
        return Some(a);
    }
    let mut distance = 1e-10;
    while distance < 1.0 {
        for side in [-1.0, 1.0] {
            let (mut out, mut within) = (a + side * 0.25 * distance, a + side * distance);
            if slack(within) < 0.0 {
                continue;
            }
            for _ in 0..50 {
                let middle = 0.5 * (out + within);
                if slack(middle) >= 0.0 { within = middle } else { out = middle }
            }
            return Some(within);
        }
        distance *= 2.0;
    }
    None
}

/// Where the slack is largest within 2 m/s² of z.
fn loosest_a(slack: impl Fn(f64) -> f64, z: f64) -> f64 {
    let better = |p: (f64, f64), q: (f64, f64)| if q.0 > p.0 { q } else { p };
    let at = |z: f64| (slack(z), z);
    let mut loosest = (-40..=40).map(|i| at(z + 0.05 * f64::from(i))).fold(at(z), better);
    let mut spread = 0.05;
    while spread > 1e-10 {
        spread *= 0.5;
        loosest = [-spread, spread].into_iter().map(|by| at(loosest.1 + by)).fold(loosest, better);
    }
    loosest.1
}
