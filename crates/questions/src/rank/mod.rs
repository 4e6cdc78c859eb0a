//! Planned changes by the lap time that they gain, and the best set within a budget.

mod choice;
mod yardsticks;

use unladen_garage::{Caution, Files, Slip, TrackFile, Warning, unlikely};
use unladen_study::ledger::selection::LeftOut;
use unladen_study::rank::best_set::Budget;
use unladen_study::rank::candidates::{Plan, Rows, plan_of};
use unladen_study::rank::ranked::Ranking;
use unladen_study::rank::{Ask, rank};
use unladen_study::retune::Reach;
use unladen_study::uncertainty::paired::Sampling;
use unladen_study::uncertainty::stopwatch::Stopwatch;
use unladen_vehicle::entry::Entry;

use crate::error::{AskError, Asked, Failure};
use crate::rank::choice::{chosen, find};
use crate::rank::yardsticks::yardsticks;
use crate::read::Reader;
use crate::read::project::{Project, size};
use crate::read::scene::{Inputs, Scene, uncertain};
use crate::roads::{Roads, course};
use crate::stands::load::{Aboard, carrying};
use crate::stands::now::adds;

/// Taken where nobody says otherwise, s.
const LAP_SPREAD_S: f64 = 0.3;

/// What the ledger of a car plans.
#[derive(Clone, Debug, PartialEq)]
pub struct Question {
    /// Which car, tracks and day.
    pub scene: Scene,
    /// Only these items or groups, and what they need; none: all.
    pub items: Vec<String>,
    /// Money that the best set may cost.
    pub budget: Option<f64>,
    /// Hours that it may take.
    pub hours: Option<f64>,
    /// The mass that it must reach, with what the target of car.toml has aboard, with its unit: `1150kg`.
    pub target: Option<String>,
    /// Items or groups that must be in it.
    pub keep: Vec<String>,
    /// Each change is shown re-tuned too.
    pub retune: bool,
    /// How to sample.
    pub sampling: Sampling,
    /// Scatter of laps, one standard deviation, s; none: assumed.
    pub lap_spread_s: Option<f64>,
}

impl Question {
    /// All that is planned, everything as set, no budget.
    pub fn new(scene: Scene) -> Self {
        Self {
            scene,
            items: Vec::new(),
            budget: None,
            hours: None,
            target: None,
            keep: Vec::new(),
            retune: false,
            sampling: Sampling { seed: 1, samples: 500, all: false },
            lap_spread_s: None,
        }
    }

    /// Reads the files and answers.
    ///
    /// # Errors
    /// [`Failure`], with what was unlikely in the files until then.
    pub fn ask(&self, files: &dyn Files) -> Result<Answer, Failure> {
        let ready = self.read(files)?;
        ready.answer().map_err(|why| Failure::of(why, ready.warnings))
    }

    /// Reads the files.
    ///
    /// # Errors
    /// [`Failure`] with every fault of car and tracks, or of the ledger; or where it has no such row.
    pub fn read(&self, files: &dyn Files) -> Result<Ready, Failure> {
        Reader::run(files, |r| {
            let mut scene = self.scene.clone();
            scene.set.extend(self.target.iter().map(|mass| format!("target.mass={mass}")));
            let Inputs { car, tracks } = r.inputs(&scene)?;
            let ledger = r.ledger(&scene.car, &car)?;
            let project = Project { car, ledger };
            outside(&project)?;
            Ok(Ready { question: self.clone(), warnings: r.warnings(), project, tracks })
        })
    }
}

/// The question with its files read.
#[derive(Clone, Debug)]
pub struct Ready {
    /// What is unlikely in them.
    pub warnings: Vec<Warning>,
    question: Question,
    project: Project,
    tracks: Vec<(TrackFile, f64)>,
}

/// A ranking and what it is of.
#[derive(Clone, Debug)]
#[must_use = "a ranking may come with warnings"]
pub struct Answer {
    /// The car's name.
    pub car: String,
    /// The ledger's rows.
    pub entries: Vec<Entry>,
    /// Names of the candidates, in the plan's order.
    pub candidates: Vec<String>,
    /// The ranking: tracks, mass as it laps, changes.
    pub found: Ranking,
    /// Rows that can't be, and why.
    pub left_out: Vec<(usize, LeftOut)>,
    /// The driver's spread from lap to lap.
    pub stopwatch: Stopwatch,
    /// The spread was assumed.
    pub spread_assumed: bool,
    /// What stands before sums of money.
    pub money: Option<String>,
    /// Change of mass that meets the target, kg, where one was asked for.
    pub target_kg: Option<f64>,
    /// What is unlikely in the files.
    pub warnings: Vec<Warning>,
}

impl Ready {
    /// Ranks.
    ///
    /// # Errors
    /// [`AskError`] where nothing is planned, or a change leaves no car that laps.
    pub fn answer(&self) -> Result<Answer, AskError> {
        let (q, project) = (&self.question, &self.project);
        let entries = &project.ledger.entries;
        let adds = adds(&project.car.car, &project.ledger);
        let shop = &project.car.shop;
        let rows = Rows { entries, adds: &adds, scales: &shop.scales, weighed_on: shop.weighed_on };
        let plan = chosen(plan_of(&rows), entries, &q.items)?;
        let keep = q.keep.iter().map(|name| find(&plan, entries, name)).collect::<Result<Vec<_>, _>>()?;
        let target_kg = q.target.as_ref().map(|_| to_target(project, &plan)).transpose()?;
        let asked = q.budget.is_some() || q.hours.is_some() || target_kg.is_some() || !keep.is_empty();
        let wanted = Budget { cost: q.budget, hours: q.hours, kg: target_kg, keep };
        let step_m = q.scene.step_m;
        let roads = Roads::new(&self.tracks, step_m)?;
        let coarse = self.tracks.iter().map(|(file, _)| course(&file.track, 2.0 * step_m));
        let limits = &shop.limits;
        let reach = Reach { chi: limits.roll_stiffness_front_share, beta_f: limits.brake_front_share };
        let found = rank(&Ask {
            car: &project.car.car,
            inputs: &uncertain(&project.car.uncertainties),
            legs: &roads.legs(),
            coarse: &coarse.collect::<Result<Vec<_>, _>>()?,
            entries,
            plan: &plan,
            yardsticks: &yardsticks(project),
            reach: q.retune.then_some(reach),
            sampling: q.sampling,
            wanted: asked.then_some(&wanted),
        })?;
        Ok(Answer {
            car: project.car.name.clone(),
            entries: entries.clone(),
            candidates: plan.candidates.iter().map(|c| c.name.clone()).collect(),
            found,
            left_out: plan.left_out,
            stopwatch: Stopwatch::new(q.lap_spread_s.unwrap_or(LAP_SPREAD_S)),
            spread_assumed: q.lap_spread_s.is_none(),
            target_kg,
            money: project.car.shop.money.clone(),
            warnings: self.warnings.clone(),
        })
    }
}

/// A part that would be outside the car is a slip that no ranking should be built on.
fn outside(project: &Project) -> Result<(), Asked> {
    let all = unlikely(&project.ledger, size(&project.car));
    match all.into_iter().find(|slip| matches!(slip.what, Caution::Slip(Slip::Outside { .. }))) {
        Some(slip) => Err(Asked::Outside { what: slip.what.to_string() }),
        None => Ok(()),
    }
}

/// Change of mass from the car as it stands to its target, kg.
fn to_target(project: &Project, plan: &Plan) -> Result<f64, AskError> {
    let Some(target) = project.car.shop.target else { return Ok(0.0) };
    let base = carrying(&project.car, Aboard { fuel: target.fuel, driver: target.driver })?;
    let done: f64 = plan.done.iter().map(|&row| project.ledger.entries[row].change.mass()).sum();
    Ok(target.mass - base.car.m - done)
}
