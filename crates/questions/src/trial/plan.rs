//! A test planned: what it should show, whether a day can show it, in which order to drive; else which scale test can.

use std::path::PathBuf;

use unladen_garage::log::{Mapping, Note};
use unladen_garage::{Ask, CarFile, Files, TrackFile, Warning, survey_telling};
use unladen_lap::Course;
use unladen_study::sound_lap;
use unladen_study::trial::order::{Clock, Order, SHOWN, best};
use unladen_study::trial::power::{LOST, Laps, Power};
use unladen_study::trial::predict::{Changed, Predicted, predict};
use unladen_study::trial::scatter::{Scatter, scatter};
use unladen_study::uncertainty::paired::Sampling;
use unladen_vehicle::Car;

use crate::course::{bytes, mapping};
use crate::error::{AskError, Failure};
use crate::logged::LoggedError;
use crate::read::Reader;
use crate::read::hashed::{FileRead, all_read};
use crate::read::scene::{Inputs, Scene};
use crate::roads::Roads;
use crate::trial::change::{Change, Sides, beside_the_driver, sides, with_mass};
pub use crate::trial::stretches::Stretch;
use crate::trial::stretches::{burnt_kg, stretches};
use crate::trial_error::TrialError;

/// How a driver scatters.
#[derive(Clone, Debug, PartialEq)]
pub enum Driver {
    /// As somebody says, from so many laps.
    Said(Scatter),
    /// From logs.
    Logged(Vec<PathBuf>),
}

/// A change to be tested on a day.
#[derive(Clone, Debug, PartialEq)]
pub struct Question {
    /// Which car, the one track, the day's grip.
    pub scene: Scene,
    /// What is tested.
    pub change: Change,
    /// How the driver scatters.
    pub driver: Driver,
    /// Of the track, s.
    pub day_s: f64,
    /// To fit or take off the change, s.
    pub change_s: f64,
    /// A stop without it, s.
    pub stop_s: f64,
    /// What is fitted, run by run; none: the order that shows it in the least time.
    pub order: Option<Vec<bool>>,
    /// Flying laps a run; none: as many as it takes.
    pub laps: Option<usize>,
    /// Fuel burnt a lap, kg; none: from the work that a lap takes.
    pub burn_kg: Option<f64>,
    /// How to sample.
    pub sampling: Sampling,
}

/// The question with its files read.
#[derive(Clone, Debug)]
pub struct Ready {
    /// What is unlikely in them.
    pub warnings: Vec<Warning>,
    question: Question,
    file: CarFile,
    tracks: Vec<(TrackFile, f64)>,
    sides: Sides,
    scatter: Scatter,
    notes: Vec<Note>,
    files: Vec<FileRead>,
}

/// What tests the tool's slope in place of the part.
#[derive(Clone, Debug)]
pub struct ScaleTest {
    /// Ballast, kg.
    pub kg: f64,
    /// Where, m.
    pub at: [f64; 3],
    /// What it costs, s a lap.
    pub cost_s: f64,
    /// How it is driven.
    pub order: Order,
}

/// A plan.
#[derive(Clone, Debug)]
#[must_use = "an answer may come with warnings"]
pub struct Answer {
    /// The car.
    pub car: String,
    /// The track.
    pub track: String,
    /// What is tested, in words.
    pub change: String,
    /// What was asked.
    pub question: Question,
    /// What it should gain.
    pub predicted: Predicted,
    /// How the driver scatters.
    pub scatter: Scatter,
    /// The order and what it shows.
    pub order: Order,
    /// The chance that such a day shows it.
    pub shows: f64,
    /// The least that such a day shows on eight days of ten, s.
    pub smallest_s: f64,
    /// Where the day can't show it: a scale test that can, if one with a sensible mass does.
    pub scale_test: Option<ScaleTest>,
    /// Fuel burnt a lap, kg.
    pub burn_kg: f64,
    /// The lap in stretches.
    pub stretches: Vec<Stretch>,
    /// The files that it was made from.
    pub files: Vec<FileRead>,
    /// What was made of logs.
    pub notes: Vec<Note>,
    /// What is unlikely in the files.
    pub warnings: Vec<Warning>,
}

/// Days in numbers behind a plan's power: ± 1.3 of a hundred.
const DAYS: usize = 1000;
/// A scale test's ballast: from, in steps of, at most, kg. Judgement: with more no seat mount should be trusted.
const BALLAST: (f64, f64, f64) = (60.0, 10.0, 120.0);

impl Question {
    /// Reads the files and plans.
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
    /// [`Failure`] with every fault of the files, or why that can't be changed.
    pub fn read(&self, files: &dyn Files) -> Result<Ready, Failure> {
        Reader::run(files, |r| {
            let inputs = r.inputs(&self.scene)?;
            let sides = sides(r, &self.scene, &inputs, &self.change)?;
            let mut notes = Vec::new();
            let scatter = match &self.driver {
                Driver::Said(scatter) => *scatter,
                Driver::Logged(logs) => logged(r.files(), logs, &mut notes)?,
            };
            let files = all_read(r.files(), &self.scene, None, &inputs)?;
            let Inputs { car: file, tracks } = inputs;
            Ok(Ready {
                warnings: r.warnings(),
                question: self.clone(),
                file: file.file,
                tracks,
                sides,
                scatter,
                notes,
                files,
            })
        })
    }
}

/// Lap times of logs, a run a log, and how they scatter.
fn logged(files: &dyn Files, logs: &[PathBuf], notes: &mut Vec<Note>) -> Result<Scatter, AskError> {
    let mut runs = Vec::new();
    for path in logs {
        let ask = Ask { closed: None, start: None, mappings: vec![mapping(files, path, &Mapping::default())?] };
        let named = [(path.display().to_string(), bytes(files, path)?)];
        let found = survey_telling(&named, &ask, notes).map_err(|e| LoggedError::at_cell(e, &named))?;
        runs.push(found.times.iter().map(|t| t.1).filter(|t| t.is_finite()).collect::<Vec<f64>>());
    }
    let path = logs.first().cloned().unwrap_or_default();
    let count = runs.iter().map(Vec::len).sum();
    scatter(&runs).ok_or_else(|| TrialError::NoScatter { path, laps: count }.into())
}

impl Ready {
    /// Laps the car, and plans.
    ///
    /// # Errors
    /// [`AskError`] where there is no lap, or the day has no time.
    pub fn answer(&self) -> Result<Answer, AskError> {
        let (q, sides) = (&self.question, &self.sides);
        let roads = Roads::new(&self.tracks, q.scene.step_m)?;
        let of = Changed {
            before: &sides.before,
            after: &sides.after,
            heavier: &sides.heavier,
            inputs: &sides.inputs,
            own: &sides.own,
        };
        let predicted = predict(of, &roads.legs(), q.sampling)?;
        let course = &roads.courses()[0];
        let clock = Clock { day_s: q.day_s, change_s: q.change_s, stop_s: q.stop_s, lap_s: predicted.lap_s };
        let difference = predicted.gain.median.abs() / self.scatter.sd_s;
        let mut order = self.order(&clock, difference)?;
        // Orders are compared by few days; the one that is taken is known better.
        let laps = Laps { order: order.runs.clone(), laps: order.laps, lost: LOST, freedom: self.scatter.freedom };
        order.power = Power::of(&laps, DAYS).ok_or(TrialError::NothingTold)?;
        let shows = order.power.chance(difference);
        let smallest_s = order.power.smallest(SHOWN) * self.scatter.sd_s;
        let scale_test = if shows < SHOWN { self.scale_test(course, &clock, smallest_s)? } else { None };
        Ok(Answer {
            car: self.file.name.clone(),
            track: course.track().name.clone(),
            change: sides.words.clone(),
            question: q.clone(),
            stretches: stretches(course, &sides.before, &sides.after)?,
            burn_kg: q.burn_kg.map_or_else(|| burnt_kg(course, &sides.before), Ok)?,
            predicted,
            scatter: self.scatter,
            order,
            shows,
            smallest_s,
            scale_test,
            files: self.files.clone(),
            notes: self.notes.clone(),
            warnings: self.warnings.clone(),
        })
    }

    fn order(&self, clock: &Clock, difference: f64) -> Result<Order, AskError> {
        let (q, freedom) = (&self.question, self.scatter.freedom);
        let no_time = || TrialError::NoTime { hours: q.day_s / 3600.0, change_min: q.change_s / 60.0 };
        match &q.order {
            None => Ok(best(clock, difference, LOST, freedom, q.laps).ok_or_else(no_time)?),
            Some(runs) => {
                let laps = q.laps.unwrap_or(6);
                let (takes_s, changes) = clock.takes(runs, laps);
                let power = Power::of(&Laps { order: runs.clone(), laps, lost: LOST, freedom }, 100);
                let power = power.filter(|_| runs.len() >= 3).ok_or(TrialError::NothingTold)?;
                Ok(Order { runs: runs.clone(), laps, takes_s, changes, power })
            }
        }
    }

    /// Ballast that a day can see, tied down beside the driver.
    fn scale_test(&self, course: &Course, clock: &Clock, smallest_s: f64) -> Result<Option<ScaleTest>, AskError> {
        let before = &self.sides.before;
        let at = beside_the_driver(&self.file, before);
        let cost = |kg: f64| -> Result<f64, AskError> {
            let time = |car: &Car| sound_lap(course, car).map(|lap| lap.time);
            Ok(time(&with_mass(before, kg, at))? - time(before)?)
        };
        let (least, step, most) = BALLAST;
        let per_kg = cost(least)? / least;
        let kg = ((smallest_s / per_kg / step).ceil() * step).max(least);
        if !(per_kg > 0.0 && kg <= most) {
            return Ok(None);
        }
        let cost_s = cost(kg)?;
        // Ballast goes in and out in a stop.
        let clock = Clock { change_s: clock.stop_s.max(600.0).min(clock.change_s), ..*clock };
        let order = best(&clock, cost_s / self.scatter.sd_s, LOST, self.scatter.freedom, None);
        Ok(order.map(|order| ScaleTest { kg, at, cost_s, order }))
    }
}
