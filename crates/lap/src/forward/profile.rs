//! What the forward pass leaves behind: the profile in steps and pieces, with all that timing, drawing and replaying need.

use std::ops::Range;
use std::sync::Arc as Shared;

use unladen_vehicle::powertrain::Gearing;
use unladen_vehicle::road::Road;
use unladen_vehicle::{Model, Scalar};

use crate::backward::brake::Braking;
use crate::set::pull::{Engaged, Pull};
use crate::step::arc::Arc;
use crate::step::mesh::Mesh;

/// What a step follows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Regime {
    /// The grip envelope.
    Grip,
    /// The power limit.
    Power,
}

impl Regime {
    /// The other one.
    pub fn other(self) -> Self {
        match self {
            Regime::Grip => Regime::Power,
            Regime::Power => Regime::Grip,
        }
    }
}

/// Gear and shift at a moment.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Gears {
    /// In a mode.
    In {
        /// Index of the mode.
        mode: usize,
        /// How it stands with the next upshift, where shifts take time.
        up: Upshift,
    },
    /// Braking: whatever gear suits the speed, and no shift.
    Braking,
    /// Shifting up.
    Shifting {
        /// Index of the mode to come.
        to: usize,
        /// Time since the shift began, s.
        elapsed: f64,
    },
}

impl Gears {
    /// In a mode whose upshift is still to come.
    pub fn engaged(mode: usize) -> Self {
        Gears::In { mode, up: Upshift::Ahead }
    }
}

/// The upshift out of a gear (`docs/model.md` §6).
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Upshift {
    /// v_g lies ahead.
    Ahead,
    /// It may start, or go on, as soon as the car can roll.
    Due {
        /// The time it has taken already, s: a shift, too, waits where rolling is not feasible.
        elapsed: f64,
    },
    /// Not made at v_g: the gear is held to its limiter.
    Held,
}

/// What ends a step before its cell does, or with it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Event {
    /// The end of the cell, or of the part of it that was tried.
    End,
    /// K, where it is a braking curve.
    Braking,
    /// The ceiling at the cell's end.
    Ceiling,
    /// The limiter in top gear.
    Limiter,
    /// Grip takes over from power, or power from grip.
    Turn,
    /// The torque piece ends: its upper end or its lower.
    Piece(bool),
    /// The mode's top speed.
    ModeEnd,
    /// Another mode pulls better, and takes over at no cost.
    Better(usize),
    /// Slow enough for a mode that pulls better from there on down.
    Under(usize),
    /// v_g: the mode of the next gear pulls better.
    UpshiftSpeed(usize),
    /// An upshift that is due can start: the car can roll.
    Rolls,
    /// The car can roll no longer: a shift waits.
    RollsNoMore,
    /// The shift is over.
    ShiftEnd,
}

/// One step of the forward pass, with all that a replay needs.
#[derive(Clone, Copy, Debug)]
pub struct Step {
    /// X along it.
    pub arc: Arc,
    /// What it follows.
    pub regime: Regime,
    /// The engine's state.
    pub engaged: Engaged,
    /// Gear and shift at its start.
    pub gears: Gears,
    /// Where it ended, τ = 0…1.
    pub tau: f64,
    /// Why it ended there.
    pub event: Event,
}

/// A stretch of the profile.
#[derive(Clone, Copy, Debug)]
pub enum Piece {
    /// A step of the forward pass (an index into `Profile::steps`).
    Step(usize),
    /// Along the braking curve from this share of the cell to its end.
    Brake {
        /// Which cell.
        cell: usize,
        /// From where in it.
        from: f64,
    },
    /// Close below the ceiling to the cell's end, X linear: where grip leaves no step and K is no braking curve.
    Ceiling {
        /// Which cell.
        cell: usize,
        /// From where in it.
        from: f64,
        /// X there and at the cell's end, m²/s².
        x: [f64; 2],
    },
    /// Along a limiter: at the top speed of a mode.
    Limiter {
        /// Which cell.
        cell: usize,
        /// From where in it to where.
        share: [f64; 2],
        /// Whose.
        mode: usize,
        /// It ends where the car can roll again, and a shift that waited for that starts.
        rolls: bool,
    },
}

impl Piece {
    /// The time it takes, s.
    pub fn time(&self, mesh: &Mesh, gearing: &Gearing, braking: &Braking, steps: &[Step]) -> f64 {
        match *self {
            Piece::Step(j) => steps[j].arc.time(mesh, 0.0, steps[j].tau),
            Piece::Brake { cell, from } => braking
                .curve(cell)
                .iter()
                .filter(|arc| arc.share[0] > from)
                .map(|arc| arc.time(mesh, arc.tau(from).min(1.0), 0.0))
                .sum(),
            Piece::Ceiling { cell, from, x } => {
                let c = &mesh.cells[cell];
                let v = x[0].sqrt() + x[1].sqrt();
                2.0 * c.length * (1.0 - from) * mesh.sec_in(c, 0.5 * (1.0 + from)) / v
            }
            Piece::Limiter { cell, share, mode, .. } => {
                let cell = &mesh.cells[cell];
                cell.length * (share[1] - share[0]) * mesh.sec_in(cell, 0.5 * (share[0] + share[1]))
                    / gearing.modes[mode].x_end.sqrt()
            }
        }
    }
}

/// The state between cells.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct State {
    /// X, m²/s².
    pub x: f64,
    /// On K.
    pub on_k: bool,
    /// Gear and shift.
    pub gears: Gears,
}

/// The whole profile in f64, ready to be timed, drawn and differentiated.
#[derive(Clone, Debug)]
pub struct Profile {
    /// Steps of the forward pass.
    pub steps: Shared<Vec<Step>>,
    /// Pieces, and which of them run through each cell.
    pub pieces: Vec<Piece>,
    /// See `pieces`.
    pub within: Vec<Range<usize>>,
    /// Time that each cell takes, s.
    pub times: Vec<f64>,
    /// State at each station.
    pub states: Vec<State>,
    /// The cell at which the pass began.
    pub first: usize,
    /// A circuit whose lap did not repeat itself within the laps tried.
    pub unsettled: bool,
}

/// Another sequence of gears that is nearly as quick.
#[derive(Clone, Debug)]
pub struct Rival {
    /// How much slower it is, s.
    pub behind: f64,
    /// Its profile.
    pub profile: Profile,
}

/// The quickest profile, and the one that comes closest to it where one does.
#[derive(Clone, Debug)]
pub struct Driven {
    /// The quickest.
    pub profile: Profile,
    /// What nearly was.
    pub rival: Option<Rival>,
}

impl Profile {
    /// The pieces through a cell, in driving order; none beyond the last.
    pub fn pieces(&self, cell: usize) -> &[Piece] {
        self.within.get(cell).map_or(&[], |within| &self.pieces[within.clone()])
    }
}

/// Why there is no lap.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Stop {
    /// The car comes to rest (or cannot start).
    Stalls {
        /// Cell.
        cell: usize,
        /// It never moved.
        at_start: bool,
    },
    /// The start speed is more than the road ahead lets it have, X.
    StartTooFast {
        /// The highest X it could have.
        x_max: f64,
    },
}

/// Slack of what a regime follows.
pub fn stage<S: Scalar>(model: &Model<S>, pull: &Pull<S>, regime: Regime, road: &Road<S>, x: S, a_x: S) -> S {
    match regime {
        Regime::Grip => model.grip(road, x, a_x).value,
        Regime::Power => pull.slack(model, road, x, a_x),
    }
}
