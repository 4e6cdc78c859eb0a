//! What the forward pass leaves behind: the profile in steps and pieces, with all that timing, drawing and replaying need.

use std::ops::Range;

use unladen_vehicle::road::Road;
use unladen_vehicle::{Model, Scalar};

use crate::set::pull::{Engaged, Pull};
use crate::step::arc::Arc;

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
    /// In a mode; `kept` is the X of the upshift that led to it.
    In {
        /// Index of the mode.
        mode: usize,
        /// X of the last upshift, if it still holds this gear.
        kept: Option<f64>,
    },
    /// Braking: whatever gear suits the speed, and no shift.
    Braking,
    /// Shifting up.
    Shifting {
        /// Index of the mode to come.
        to: usize,
        /// Time since the shift began, s.
        elapsed: f64,
        /// X at which it began.
        x_up: f64,
    },
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
    /// Another mode pulls better.
    Better(usize),
    /// Slow enough for a mode that pulls better from there on down.
    Under(usize),
    /// The shift is over.
    ShiftEnd,
    /// Too slow for the gear that the last upshift led to.
    TooSlow,
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
    },
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
    /// Steps of the forward pass that are part of it.
    pub steps: Vec<Step>,
    /// Pieces, and which of them run through each cell.
    pub pieces: Vec<Piece>,
    /// See `pieces`.
    pub within: Vec<Range<usize>>,
    /// State at each station.
    pub states: Vec<State>,
    /// The cell at which the pass began.
    pub first: usize,
    /// A circuit whose lap did not repeat itself within the laps tried.
    pub unsettled: bool,
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
