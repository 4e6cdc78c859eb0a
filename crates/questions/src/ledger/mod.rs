//! Where the mass budget stands; its edits.

pub mod edit;

use std::path::PathBuf;

use unladen_garage::{CarFile, Files, Ledger, Warning};
use unladen_study::ledger::summary::{Budget, stand};
use unladen_vehicle::entry::Entry;

use crate::error::{AskError, Failure};
use crate::read::Reader;
use crate::read::project::{Project, filled_in};
use crate::stands::load::{Aboard, carrying};

/// A car and its ledger.
#[derive(Clone, Debug, PartialEq)]
pub struct Question {
    /// A car: its car.toml, or the folder that holds one; its ledger.csv is beside it.
    pub car: PathBuf,
    /// Values of the car's file to be changed, as `KEY=VALUE` with a unit.
    pub set: Vec<String>,
}

/// The question with its files read.
#[derive(Clone, Debug)]
pub struct Ready {
    /// What is unlikely in them.
    pub warnings: Vec<Warning>,
    /// The files.
    pub project: Project,
}

/// A budget and what it is stated for.
#[derive(Clone, Debug)]
#[must_use = "an answer may come with warnings"]
pub struct Answer {
    /// The car's name.
    pub car: String,
    /// What is aboard.
    pub aboard: Aboard,
    /// When it was weighed, where the file says so, days since 1970-01-01.
    pub weighed_on: Option<i64>,
    /// The rows.
    pub entries: Vec<Entry>,
    /// The budget.
    pub budget: Budget,
    /// The mass to be reached with the same aboard, kg.
    pub target_kg: Option<f64>,
    /// What stands before sums of money.
    pub money: Option<String>,
    /// The same car as it stands with something else aboard.
    pub otherwise: Vec<Otherwise>,
    /// Rows whose position is their area's, and swaps whose new part is taken to be where the old one was.
    pub filled_in: (usize, usize),
    /// What is unlikely in the files.
    pub warnings: Vec<Warning>,
}

/// The car as it stands with something else aboard.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Otherwise {
    /// How it is loaded.
    pub load: Load,
    /// With what.
    pub aboard: Aboard,
    /// Its mass, kg.
    pub mass_kg: f64,
}

/// Ways to load a car.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Load {
    /// No driver, no fuel.
    Dry,
    /// Fuel only.
    Wet,
    /// As it laps.
    Lapping,
}

impl Question {
    /// Reads the files.
    ///
    /// # Errors
    /// [`Failure`] with every fault of both.
    pub fn read(&self, files: &dyn Files) -> Result<Ready, Failure> {
        let (project, warnings) = Reader::only_project(files, &self.car, &self.set)?;
        Ok(Ready { warnings, project })
    }
}

impl Ready {
    /// Works it out.
    ///
    /// # Errors
    /// [`AskError`] where masses leave no car.
    pub fn answer(&self) -> Result<Answer, AskError> {
        let answer = budget(&self.project.car, &self.project.ledger)?;
        Ok(Answer { warnings: self.warnings.clone(), ..answer })
    }
}

/// The budget of a car and a ledger that are read already, with what the target has aboard.
///
/// # Errors
/// [`AskError`] where masses leave no car.
pub fn budget(car: &CarFile, ledger: &Ledger) -> Result<Answer, AskError> {
    let aboard = Aboard::of_target(car);
    let base = carrying(car, aboard)?;
    let shop = &car.shop;
    let budget = stand(&base, &ledger.entries, &shop.scales, shop.weighed_on)?;
    Ok(Answer {
        car: car.name.clone(),
        aboard,
        weighed_on: shop.weighed_on,
        otherwise: otherwise(car, budget.now.part.m - base.car.m)?,
        entries: ledger.entries.clone(),
        budget,
        target_kg: shop.target.map(|t| t.mass),
        money: shop.money.clone(),
        filled_in: filled_in(ledger),
        warnings: Vec::new(),
    })
}

/// The same car now with something else aboard; `change`: what has been done since it was weighed, kg.
fn otherwise(car: &CarFile, change: f64) -> Result<Vec<Otherwise>, AskError> {
    let lapping = Aboard::on_track(car);
    let mut all = vec![(Load::Dry, Aboard::default())];
    if lapping.fuel > 0.0 {
        all.push((Load::Wet, Aboard { driver: 0.0, ..lapping }));
    }
    all.push((Load::Lapping, lapping));
    let of = |(load, aboard)| Ok(Otherwise { load, aboard, mass_kg: carrying(car, aboard)?.car.m + change });
    all.into_iter().map(of).collect()
}
