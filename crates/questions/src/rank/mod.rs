//! Planned changes by the lap time that they gain, and the best set within a budget.

mod choice;
mod yardsticks;

use unladen_garage::{CarFile, Caution, Files, Ledger, Slip, TrackFile, Uncertainty, Warning, unlikely};
use unladen_study::Input;
use unladen_study::ledger::selection::LeftOut;
use unladen_study::measure::{Next, Open};
use unladen_study::rank::best_set::Budget;
use unladen_study::rank::candidates::{Plan, Rows, plan_of};
use unladen_study::rank::ranked::{Ranked, Ranking};
use unladen_study::rank::{Ask, rank};
use unladen_study::uncertainty::alternative::Other;
use unladen_study::uncertainty::paired::Sampling;
use unladen_study::uncertainty::stopwatch::{LAP_SPREAD_S, Stopwatch};
use unladen_vehicle::Car;
use unladen_vehicle::entry::{Entry, State as Of};

use crate::error::{AskError, Asked, Failure};
use crate::rank::choice::{chosen, find};
use crate::rank::yardsticks::yardsticks;
use crate::read::Reader;
use crate::read::project::{ledger_file, size};
use crate::read::scene::{Inputs, Scene, uncertain};
use crate::roads::Roads;
use crate::stands::load::{Aboard, carrying};
use crate::stands::now::{adds, becomes};
use crate::stands::standing::{Said, Standing, of_other};

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
    /// Money and hours that there are in a month: the best set is then spread over them.
    pub month: [Option<f64>; 2],
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
            month: [None; 2],
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
            let Some(ledger) = car.ledger.clone() else {
                return Err(Asked::NoPlan { path: ledger_file(r.files(), &scene.car) }.into());
            };
            outside(&ledger, &car.file)?;
            let open: Vec<usize> = (0..car.entries.len()).filter(|&i| car.entries[i].state != Of::Done).collect();
            let rows = [&car.rows.on[..], &open].concat();
            let others = r.others(&scene.car, &scene.set, Some(&ledger), &rows)?;
            Ok(Ready { question: self.clone(), warnings: r.warnings(), car, ledger, others, tracks })
        })
    }
}

/// The question with its files read.
#[derive(Clone, Debug)]
pub struct Ready {
    /// What is unlikely in them.
    pub warnings: Vec<Warning>,
    question: Question,
    car: Standing,
    ledger: Ledger,
    others: Vec<(String, CarFile)>,
    tracks: Vec<(TrackFile, f64)>,
}

/// A ranking and what it is of.
#[derive(Clone, Debug)]
#[must_use = "a ranking may come with warnings"]
pub struct Answer {
    /// The car's name.
    pub car: String,
    /// The state that all is held against.
    pub state: Said,
    /// The ledger's rows, as they are in that state.
    pub entries: Vec<Entry>,
    /// Names of the candidates, in the plan's order.
    pub candidates: Vec<String>,
    /// The ranking: tracks, mass as it laps, changes.
    pub found: Ranking,
    /// Rows that can't be, and why.
    pub left_out: Vec<(usize, LeftOut)>,
    /// Candidates that can't be alone, and the rows of which one comes with each: those have its price.
    pub comes_with: Vec<(String, Vec<usize>)>,
    /// The driver's spread from lap to lap.
    pub stopwatch: Stopwatch,
    /// The spread was assumed.
    pub spread_assumed: bool,
    /// What stands before sums of money.
    pub money: Option<String>,
    /// Change of mass that meets the target, kg, where one was asked for.
    pub target_kg: Option<f64>,
    /// The first of the ranking whose gain is open, how far it is, and what to measure next for it.
    pub open: Option<(usize, Open, Option<Next>)>,
    /// What is unlikely in the files.
    pub warnings: Vec<Warning>,
}

impl Ready {
    /// Ranks.
    ///
    /// # Errors
    /// [`AskError`] where nothing is planned, or a change leaves no car that laps.
    pub fn answer(&self) -> Result<Answer, AskError> {
        let (q, standing) = (&self.question, &self.car);
        let (file, entries) = (&standing.file, &standing.entries);
        let adds = adds(&file.car, &self.ledger);
        let (shop, of) = (&file.shop, &standing.rows);
        let becomes: Vec<Option<usize>> = (0..entries.len())
            .map(|row| {
                let word = becomes(&self.ledger, row)?;
                self.others.iter().position(|(known, _)| known == word)
            })
            .collect();
        let rows = Rows {
            entries,
            adds: &adds,
            becomes: &becomes,
            scales: &shop.scales,
            on: &of.on,
            undone: &of.undone,
            moved: standing.shifts(),
        };
        let plan = chosen(plan_of(&rows), entries, &q.items)?;
        let keep = q.keep.iter().map(|name| find(&plan, entries, name)).collect::<Result<Vec<_>, _>>()?;
        let target_kg = q.target.as_ref().map(|_| to_target(file, &plan)).transpose()?;
        let asked = q.budget.is_some() || q.hours.is_some() || target_kg.is_some() || !keep.is_empty();
        let asked = asked || q.month != [None; 2];
        let wanted = Budget { cost: q.budget, hours: q.hours, kg: target_kg, keep, month: q.month };
        let (inputs, others) = united(&file.uncertainties, &file.car, &self.others);
        let roads = Roads::new(&self.tracks, q.scene.step_m)?;
        let reach = standing.reach();
        let found = rank(&Ask {
            car: &file.car,
            inputs: &inputs,
            others: &others,
            legs: &roads.legs(),
            entries,
            plan: &plan,
            yardsticks: &yardsticks(file),
            reach: q.retune.then_some(reach),
            sampling: q.sampling,
            wanted: asked.then_some(&wanted),
        })?;
        let opened = |(i, item): (usize, &Ranked)| (i, Open::of_difference(&item.gain, &found.unknowns));
        let open = found.items.iter().enumerate().map(opened).find(|(_, open)| !open.settled());
        let open = open.map(|(i, open)| {
            let next = open.next(&file.car);
            (i, open, next)
        });
        Ok(Answer {
            open,
            car: file.name.clone(),
            state: standing.said(),
            entries: entries.clone(),
            candidates: plan.candidates.iter().map(|c| c.name.clone()).collect(),
            found,
            comes_with: plan
                .candidates
                .iter()
                .filter(|c| !c.either.is_empty())
                .map(|c| (c.name.clone(), c.either.concat()))
                .collect(),
            left_out: plan.left_out,
            stopwatch: Stopwatch::new(q.lap_spread_s.unwrap_or(LAP_SPREAD_S)),
            spread_assumed: q.lap_spread_s.is_none(),
            target_kg,
            money: file.shop.money.clone(),
            warnings: self.warnings.clone(),
        })
    }
}

/// The unknowns of a car and of all that it can become, and what each moves of either.
fn united(own: &[Uncertainty], car: &Car, others: &[(String, CarFile)]) -> (Vec<Input>, Vec<Other>) {
    let own = uncertain(own);
    let each: Vec<Vec<Input>> = others.iter().map(|(_, file)| of_other(&own, file)).collect();
    let mut keys: Vec<(String, f64)> = own.iter().map(|i| (i.key.clone(), i.sd)).collect();
    for input in each.iter().flatten() {
        if keys.iter().all(|(key, _)| *key != input.key) {
            keys.push((input.key.clone(), input.sd));
        }
    }
    // Per standard deviation of the common unknown: of one that is less certain there the more.
    let of = |inputs: &[Input]| -> Vec<Input> {
        let one = |(key, sd): &(String, f64)| {
            let known = inputs.iter().find(|i| i.key == *key);
            let onto = known.map_or_else(Vec::new, |i| i.onto.iter().map(|&(n, per)| (n, per * i.sd / sd)).collect());
            Input { key: key.clone(), sd: *sd, onto }
        };
        keys.iter().map(one).collect()
    };
    let other = |(inputs, (_, file)): (&Vec<Input>, &(String, CarFile))| Other {
        car: Car { mass: car.mass, ..file.car.clone() },
        inputs: of(inputs),
    };
    (of(&own), each.iter().zip(others).map(other).collect())
}

/// A part that would be outside the car is a slip that no ranking should be built on.
fn outside(ledger: &Ledger, file: &CarFile) -> Result<(), Asked> {
    let all = unlikely(ledger, size(file));
    match all.into_iter().find(|slip| matches!(slip.what, Caution::Slip(Slip::Outside { .. }))) {
        Some(slip) => Err(Asked::Outside { what: slip.what.to_string() }),
        None => Ok(()),
    }
}

/// Change of mass from the car as it stands to its target, kg.
fn to_target(file: &CarFile, plan: &Plan) -> Result<f64, AskError> {
    let Some(target) = file.shop.target else { return Ok(0.0) };
    let base = carrying(file, Aboard::of_target(file))?;
    let done: f64 = plan.done.iter().map(|&piece| plan.pieces[piece].change.mass()).sum();
    Ok(target.mass - base.car.m - done)
}
