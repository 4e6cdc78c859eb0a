//! A row of a mass budget, in SI: what it changes, how far it has come, and how well its mass is known.

use crate::change::Change;

/// How far a row has come.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum State {
    /// It is in the car.
    Done,
    /// It will be.
    Planned,
    /// It might be.
    Idea,
}

/// Where a row's mass comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Origin {
    /// From a scale.
    Weighed,
    /// From somebody who sells it or has written of it.
    Quoted,
    /// From experience.
    Guessed,
}

impl State {
    /// All, nearest to the car first.
    pub const ALL: [State; 3] = [State::Done, State::Planned, State::Idea];

    /// As it is written in a ledger.
    pub fn word(self) -> &'static str {
        match self {
            State::Done => "done",
            State::Planned => "planned",
            State::Idea => "idea",
        }
    }
}

impl Origin {
    /// All, best known first.
    pub const ALL: [Origin; 3] = [Origin::Weighed, Origin::Quoted, Origin::Guessed];

    /// As it is written in a ledger.
    pub fn word(self) -> &'static str {
        match self {
            Origin::Weighed => "weighed",
            Origin::Quoted => "quoted",
            Origin::Guessed => "guessed",
        }
    }
}

/// A scale that parts were weighed on.
#[derive(Clone, Debug, PartialEq)]
pub struct Scale {
    /// What the rows call it.
    pub name: String,
    /// Smallest step that it shows, kg.
    pub resolution: f64,
    /// By how much all its readings may be off alike, kg, one standard deviation.
    pub bias: f64,
    /// By what share of the reading, one standard deviation.
    pub gain: f64,
}

/// A row of a mass budget.
#[derive(Clone, Debug, PartialEq)]
pub struct Entry {
    /// What it is.
    pub item: String,
    /// Where in the car, in a word.
    pub area: Option<String>,
    /// How far it has come.
    pub state: State,
    /// What comes off and what goes on.
    pub change: Change,
    /// Where its mass comes from.
    pub origin: Origin,
    /// One standard deviation of its mass, kg, where the row gives it.
    pub sd: Option<f64>,
    /// The scale it was weighed on.
    pub scale: Option<String>,
    /// Change of inertia that turns with wheels or engine, kg m².
    pub rotating_inertia: f64,
    /// What it costs, in the owner's money.
    pub cost: Option<f64>,
    /// Hours of work.
    pub hours: Option<f64>,
    /// Rows that happen together share this word.
    pub group: Option<String>,
    /// Rows that can't be in the car with it.
    pub excludes: Vec<usize>,
    /// Rows that it can't be without: of each list one.
    pub needs: Vec<Vec<usize>>,
    /// When it was done, days since 1970-01-01.
    pub day: Option<i64>,
    /// Anything else.
    pub note: String,
}
