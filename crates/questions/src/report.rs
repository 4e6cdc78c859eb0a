//! What one page says: what kilograms are worth, where the budget stands, what is planned, and decisions asked besides.

use unladen_garage::{Files, Warning};

use crate::error::{AskError, Asked, Failure};
pub use crate::read::hashed::FileRead;
use crate::read::hashed::all_read;
use crate::read::project::ledger_file;
use crate::read::scene::Inputs;
use crate::trial::diary;
use crate::{compare, lap, ledger, planned, rank, relocate, worth};

/// A car on some tracks, and what is asked of it besides.
#[derive(Clone, Debug, PartialEq)]
pub struct Question {
    /// Which car, tracks and day, and which rows of its ledger count as coming.
    pub worth: worth::Question,
    /// Is moving this worth it?
    pub relocate: Option<relocate::Question>,
    /// Is this other car quicker?
    pub compare: Option<compare::Question>,
    /// Which planned change gains most?
    pub rank: Option<rank::Question>,
    /// A sealed trial, with its result where there is one.
    pub trial: Option<diary::Question>,
}

/// The question with its files read.
#[derive(Clone, Debug)]
pub struct Ready {
    /// What is unlikely in them.
    pub warnings: Vec<Warning>,
    worth: worth::Ready,
    relocate: Option<relocate::Ready>,
    compare: Option<compare::Ready>,
    rank: Option<rank::Ready>,
    trial: Option<diary::Line>,
    files: Vec<FileRead>,
}

/// All that the page says.
#[derive(Clone, Debug)]
#[must_use = "an answer may come with warnings"]
pub struct Answer {
    /// What kilograms and millimetres are worth to the car as it stands.
    pub worth: worth::Answer,
    /// The files of car and tracks.
    pub inputs: Inputs,
    /// The laps behind it, track by track.
    pub laps: Vec<lap::Answer>,
    /// What is coming, done together.
    pub planned: Option<planned::Answer>,
    /// Where the budget stands, where there is a ledger.
    pub budget: Option<ledger::Answer>,
    /// Is moving it worth it?
    pub relocate: Option<relocate::Answer>,
    /// Is the other car quicker?
    pub compare: Option<compare::Answer>,
    /// What is planned, change by change.
    pub rank: Option<rank::Answer>,
    /// A sealed trial, with its result where there is one.
    pub trial: Option<diary::Line>,
    /// The files that were read, in the order in which they are named.
    pub files: Vec<FileRead>,
    /// What is unlikely in the files.
    pub warnings: Vec<Warning>,
}

impl Question {
    /// Reads the files.
    ///
    /// # Errors
    /// [`Failure`] of the first part that can't be read, or where a ranking is asked for without a ledger.
    pub fn read(&self, files: &dyn Files) -> Result<Ready, Failure> {
        let worth = self.worth.read(files)?;
        let mut warnings = worth.warnings.clone();
        let scene = &self.worth.scene;
        if self.rank.is_some() && worth.on.is_none() {
            return Err(Failure::of(Asked::NoPlan { path: ledger_file(files, &scene.car) }, warnings));
        }
        let relocate = self.relocate.as_ref().map(|q| q.read(files)).transpose();
        let relocate = relocate.map_err(|e| e.after(&warnings))?;
        warnings.extend(relocate.iter().flat_map(|ready| ready.warnings.iter().cloned()));
        let compare = self.compare.as_ref().map(|q| q.read(files)).transpose();
        let compare = compare.map_err(|e| e.after(&warnings))?;
        warnings.extend(compare.iter().flat_map(|ready| ready.warnings.iter().cloned()));
        let rank = self.rank.as_ref().map(|q| q.read(files)).transpose();
        let rank = rank.map_err(|e| e.after(&warnings))?;
        warnings.extend(rank.iter().flat_map(|ready| ready.warnings.iter().cloned()));
        let trial = self.trial.as_ref().map(|q| q.only(files)).transpose().map_err(|e| e.after(&warnings))?;
        let other = self.compare.as_ref().map(|q| q.second.as_path());
        match all_read(files, scene, other, &worth.inputs) {
            Ok(files) => Ok(Ready { warnings, worth, relocate, compare, rank, trial, files }),
            Err(why) => Err(Failure::of(why, warnings)),
        }
    }
}

impl Ready {
    /// Answers all of it.
    ///
    /// # Errors
    /// [`AskError`] of the first part that has no answer.
    pub fn answer(&self) -> Result<Answer, AskError> {
        let worth = self.worth.answer()?;
        let budget = worth.on.as_ref().map(|on| ledger::budget(&worth.file, &on.ledger)).transpose()?;
        Ok(Answer {
            inputs: self.worth.inputs.clone(),
            laps: self.worth.laps()?,
            planned: self.worth.planned()?,
            budget,
            relocate: self.relocate.as_ref().map(relocate::Ready::answer).transpose()?,
            compare: self.compare.as_ref().map(compare::Ready::answer).transpose()?,
            rank: self.rank.as_ref().map(rank::Ready::answer).transpose()?,
            trial: self.trial.clone(),
            files: self.files.clone(),
            warnings: self.warnings.clone(),
            worth,
        })
    }
}
