//! Is moving something worth it: the fuel tank, the battery, a seat; over the fuel load.

pub(crate) mod pieces;

use unladen_garage::{Files, Measured, Warning};
use unladen_study::measure::{Next, Open};
use unladen_study::relocate::Relocation;
use unladen_study::relocate::stint::{self, Stint, ask};
use unladen_study::uncertainty::paired::Sampling;
use unladen_study::uncertainty::stopwatch::{LAP_SPREAD_S, Stopwatch};
use unladen_study::uncertainty::verdict::Call;
use unladen_track::Track;

use crate::error::{AskError, Asked, Failure};
use crate::read::Reader;
use crate::read::project::ledger_file;
use crate::read::scene::{Inputs, Scene};
use crate::relocate::pieces::{item, tank};
use crate::roads::{Roads, mixed};
use crate::stands::moved::{self, is_tank};
use crate::stands::standing::{Said, Standing};

/// Over a stint the fuel is in one box before and in another after: a third is too many.
const MOVED: &str = "what moves over the fuel load is asked of a tank that is where its file says; leave --moved out";

/// What comes with something that is moved, or goes.
#[derive(Clone, Debug, PartialEq)]
pub struct Added {
    /// What it is.
    pub name: String,
    /// kg; negative: it comes off.
    pub mass: Measured,
    /// Where, m; none: where the item goes to.
    pub at: Option<[f64; 3]>,
}

/// Where something is moved to.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Where {
    /// There, m behind the front axle, right of the middle, above ground: the item's centre; of a tank its box's centre
    /// in plan and the floor of it.
    To([f64; 3]),
    /// By so much, m back, right, up.
    By([f64; 3]),
}

impl Where {
    /// From a place to the new one.
    fn after(self, place: [f64; 3]) -> [f64; 3] {
        match self {
            Where::To(to) => to,
            Where::By(by) => [0, 1, 2].map(|i| place[i] + by[i]),
        }
    }
}

/// An empty tank that goes along with its fuel.
#[derive(Clone, Debug, PartialEq)]
pub struct EmptyTank {
    /// The row of the ledger that says what it weighs; none: it was said.
    pub row: Option<String>,
    /// Before and after, kg.
    pub kg: [f64; 2],
}

/// What is moved where, and with what.
#[derive(Clone, Debug, PartialEq)]
pub struct Question {
    /// Which car, tracks and day.
    pub scene: Scene,
    /// `fuel tank`, or an item of the ledger that is in the car.
    pub item: String,
    /// Where to.
    pub to: Where,
    /// Inside of the new fuel box, m: along, across, high; none: that of the old one.
    pub inside: Option<[f64; 3]>,
    /// The empty tank with what is bolted to it, as it is and as it will be, kg; none: as the ledger has it.
    pub empty_tank: Option<[Measured; 2]>,
    /// What comes with it or goes.
    pub added: Vec<Added>,
    /// Fuel at the beginning and the end of a stint, m³; none: from full to empty.
    pub stint: Option<[f64; 2]>,
    /// Steps of the table from full to empty.
    pub steps: u32,
    /// How to sample.
    pub sampling: Sampling,
    /// How laps scatter.
    pub watch: Stopwatch,
    /// Laps a side that somebody would drive for it.
    pub laps: u32,
}

/// The question with its files read.
#[derive(Clone, Debug)]
pub struct Ready {
    /// What is unlikely in them.
    pub warnings: Vec<Warning>,
    question: Question,
    standing: Standing,
    roads: Vec<Track>,
    tracks: Vec<(unladen_garage::TrackFile, f64)>,
    is_tank: bool,
    relocation: Relocation,
    empty_tank: Option<EmptyTank>,
    brackets: [f64; 3],
    stint: [f64; 2],
    loads: Vec<f64>,
}

/// What moving it does.
#[derive(Clone, Debug)]
#[must_use = "an answer may come with warnings"]
pub struct Answer {
    /// The car.
    pub car: String,
    /// Its state.
    pub state: Said,
    /// The tracks in words, each with its share where there are several.
    pub tracks: String,
    /// The tracks.
    pub roads: Vec<Track>,
    /// What is moved.
    pub item: String,
    /// It is the fuel tank.
    pub is_tank: bool,
    /// All that changes.
    pub relocation: Relocation,
    /// The empty tank that goes along, of a tank.
    pub empty_tank: Option<EmptyTank>,
    /// Where it is moved to: its middle, m. What a bracket would weigh at which the move comes out even sits there.
    pub brackets: [f64; 3],
    /// Fuel at the beginning and the end of the stint, m³.
    pub stint: [f64; 2],
    /// What was found.
    pub answer: stint::Answer,
    /// How laps scatter.
    pub watch: Stopwatch,
    /// Laps a side that somebody would drive for it.
    pub laps: u32,
    /// How far the gain that counts is known, and what to measure next for it.
    pub open: (Open, Option<Next>),
    /// Most that the axles may carry, kg, where the car's file says so.
    pub axle_limits: [Option<f64>; 2],
    /// What is unlikely in the files.
    pub warnings: Vec<Warning>,
}

impl Question {
    /// As it would be asked without a word more: over a stint from full to empty, in one step.
    pub fn new(scene: Scene, item: impl Into<String>, to: Where) -> Self {
        Self {
            scene,
            item: item.into(),
            to,
            inside: None,
            empty_tank: None,
            added: Vec::new(),
            stint: None,
            steps: 1,
            sampling: Sampling::default(),
            watch: Stopwatch::new(LAP_SPREAD_S),
            laps: 20,
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

    /// Reads the files, and works out what is moved.
    ///
    /// # Errors
    /// [`Failure`] with every fault of the files, or why that can't be moved there.
    pub fn read(&self, files: &dyn Files) -> Result<Ready, Failure> {
        Reader::run(files, |r| self.ready(r))
    }

    fn ready(&self, r: &mut Reader) -> Result<Ready, AskError> {
        let inputs = r.inputs(&self.scene)?;
        let roads = inputs.of_tracks();
        let Inputs { car: standing, tracks } = inputs;
        let is_tank = is_tank(&self.item);
        if let Some(moved) = self.scene.state.moved.iter().find(|moved| moved::is_tank(&moved.item)) {
            return Err(Asked::CannotBe { item: moved.item.clone(), what: MOVED.into() }.into());
        }
        let no_ledger = || Asked::NoLedger { path: ledger_file(r.files(), &self.scene.car) };
        let (relocation, empty_tank, brackets) = if is_tank {
            tank(self, &standing)?
        } else {
            if self.inside.is_some() || self.empty_tank.is_some() {
                return Err(Asked::OfTank { item: self.item.clone() }.into());
            }
            let (relocation, at) = item(self, &standing, standing.ledger.as_ref().ok_or_else(no_ledger)?)?;
            (relocation, None, at)
        };
        let capacity = relocation.fuel.map(|f| f.old.capacity().min(f.new.capacity()));
        let stint = match (self.stint, capacity) {
            (Some(_), None) => return Err(Asked::NoFuel.into()),
            (Some(given), _) => given,
            // Without fuel any stint is the same.
            (None, full) => [full.unwrap_or(1e-3), 0.0],
        };
        let steps = self.steps;
        let loads: Vec<f64> = match capacity {
            Some(full) => {
                let mut loads: Vec<f64> = (0..=steps).map(|i| full * f64::from(steps - i) / f64::from(steps)).collect();
                // And as the car laps in every other answer.
                let usual = relocation.fuel.map(|f| f.aboard).filter(|usual| !loads.contains(usual));
                loads.extend(usual.filter(|usual| *usual <= full));
                loads.sort_by(|a, b| b.total_cmp(a));
                loads
            }
            None => vec![0.0],
        };
        let (question, warnings) = (self.clone(), r.warnings());
        Ok(Ready {
            warnings,
            question,
            standing,
            roads,
            tracks,
            is_tank,
            relocation,
            empty_tank,
            brackets,
            stint,
            loads,
        })
    }
}

impl Ready {
    /// Laps the car before and after.
    ///
    /// # Errors
    /// [`AskError`] where the fuel does not go into a box, or there is no lap.
    pub fn answer(&self) -> Result<Answer, AskError> {
        let (q, standing) = (&self.question, &self.standing);
        let file = &standing.file;
        let roads = Roads::new(&self.tracks, q.scene.step_m)?;
        let limits = &file.shop.limits;
        let question = stint::Question {
            car: &standing.unchanged(),
            inputs: &standing.of_weighing(),
            reach: standing.reach(),
            relocation: &self.relocation,
            loads: &self.loads,
            brackets: self.brackets,
            stint: self.stint,
            sampling: q.sampling,
        };
        let answer = ask(&question, &roads.legs())?;
        let counts = answer.retuned.as_ref().unwrap_or(&answer.as_set);
        let open = Open::of_difference(&counts.gain, &answer.unknowns);
        let next = open.next(&standing.car);
        Ok(Answer {
            open: (open, next),
            answer,
            car: file.name.clone(),
            state: standing.said(),
            tracks: mixed(&self.tracks),
            roads: self.roads.clone(),
            item: q.item.trim().to_owned(),
            is_tank: self.is_tank,
            relocation: self.relocation.clone(),
            empty_tank: self.empty_tank.clone(),
            brackets: self.brackets,
            stint: self.stint,
            watch: q.watch,
            laps: q.laps,
            axle_limits: limits.axle_load,
            warnings: self.warnings.clone(),
        })
    }
}

impl Answer {
    /// The stint that counts: re-tuned where something can be set.
    pub fn counts(&self) -> &Stint {
        self.answer.retuned.as_ref().unwrap_or(&self.answer.as_set)
    }

    /// The word.
    pub fn call(&self, stint: &Stint) -> Call {
        Call::of(&stint.gain, stint.error_s, self.watch.smallest(self.laps))
    }
}
