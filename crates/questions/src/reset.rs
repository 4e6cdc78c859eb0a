//! What must be set again.

use std::path::PathBuf;

use unladen_garage::{Files, Warning, written};
use unladen_study::ledger::reset::{Springs, Stage, stage};
use unladen_study::ledger::summary::{Budget, stand};
use unladen_vehicle::car::{AntiLock, Brakes};

use crate::error::{AskError, Failure};
use crate::read::Reader;
use crate::read::project::Project;
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

/// A limit that the owner has entered, and the load against it, kg; most and least where it is a band.
#[derive(Clone, Debug, PartialEq)]
pub struct Checked {
    /// What: "front tyres, each".
    pub what: String,
    /// At which stage.
    pub stage: &'static str,
    /// kg.
    pub load: f64,
    /// kg.
    pub least: Option<f64>,
    /// kg.
    pub most: f64,
    /// Which paper says so.
    pub document: Option<String>,
}

/// What must be set again.
#[derive(Clone, Debug)]
#[must_use = "an answer may come with warnings"]
pub struct Answer {
    /// The car.
    pub car: String,
    /// What is aboard.
    pub aboard: Aboard,
    /// As weighed, now, planned.
    pub stages: Vec<Stage>,
    /// Anti-lock brakes are fitted.
    pub anti_lock: bool,
    /// The brakes as fitted.
    pub brakes: Brakes,
    /// m.
    pub wheelbase_m: f64,
    /// Limits and loads.
    pub limits: Vec<Checked>,
    /// What is unlikely in the files.
    pub warnings: Vec<Warning>,
}

const NAMES: [&str; 3] = ["as weighed", "now", "planned"];

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
    /// Says what must be set again.
    ///
    /// # Errors
    /// [`AskError`] where masses leave no car.
    pub fn answer(&self) -> Result<Answer, AskError> {
        let project = &self.project;
        let car = &project.car;
        let aboard = Aboard::on_track(car);
        let budget = budget(project, aboard)?;
        let springs = car.shop.springs.map(|s| Springs {
            wheel_rate: s.wheel_rate,
            tyre_rate: s.tyre_rate,
            unsprung: s.unsprung,
        });
        let standings = [&budget.weighed, &budget.now, &budget.planned];
        let stages: Vec<Stage> = NAMES
            .into_iter()
            .zip(standings)
            .map(|(name, s)| stage(name, &car.car, &budget.weighed, s, springs.as_ref()))
            .collect();
        let limits = limits(project, &stages)?;
        Ok(Answer {
            car: car.name.clone(),
            aboard,
            stages,
            anti_lock: car.car.brakes.anti_lock != AntiLock::None,
            brakes: car.car.brakes,
            wheelbase_m: car.car.chassis.l,
            limits,
            warnings: self.warnings.clone(),
        })
    }
}

fn budget(project: &Project, aboard: Aboard) -> Result<Budget, AskError> {
    let base = carrying(&project.car, aboard)?;
    let shop = &project.car.shop;
    Ok(stand(&base, &project.ledger.entries, &shop.scales, shop.weighed_on)?)
}

/// Loads against the limits that the owner has entered. A tyre carries half its axle, or the heavier corner where those
/// are known.
fn limits(project: &Project, stages: &[Stage]) -> Result<Vec<Checked>, AskError> {
    let limits = &project.car.shop.limits;
    let mut all = Vec::new();
    for (i, axle) in ["front", "rear"].into_iter().enumerate() {
        for s in stages {
            if let Some(most) = limits.tyre_load[i] {
                let load = s.corners.map_or(0.5 * s.axles[i], |c| c[2 * i].max(c[2 * i + 1]));
                let what = format!("{axle} tyres, the heavier");
                all.push(Checked { what, stage: s.name, load, least: None, most, document: None });
            }
            if let Some(most) = limits.axle_load[i] {
                let what = format!("{axle} axle");
                all.push(Checked { what, stage: s.name, load: s.axles[i], least: None, most, document: None });
            }
        }
    }
    if let Some(r) = &limits.registered {
        let weighed = Aboard::as_weighed(&project.car);
        let papers = Aboard { fuel: r.fuel.unwrap_or(weighed.fuel), driver: r.driver.unwrap_or(weighed.driver) };
        let budget = budget(project, papers)?;
        let document = format!("{} ({})", r.document, written(r.day));
        for (name, s) in NAMES.into_iter().zip([&budget.weighed, &budget.now, &budget.planned]) {
            all.push(Checked {
                what: "mass by the papers".into(),
                stage: name,
                load: s.part.m,
                least: Some(r.mass - r.tolerance),
                most: r.mass + r.tolerance,
                document: Some(document.clone()),
            });
        }
    }
    Ok(all)
}
