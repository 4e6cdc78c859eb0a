//! What a kilogram and a millimetre of the centre of gravity are worth; what a kilogram costs at places of the car.

use unladen_garage::{CarFile, Files, Warning};
use unladen_study::measure::{Next, Open};
use unladen_study::{Spot, Study, Subject, named_spots, worth};
use unladen_track::Track;
use unladen_vehicle::Car;

use crate::error::{AskError, Asked, Failure};
use crate::lap;
use crate::read::Reader;
use crate::read::project::ledger_file;
use crate::read::scene::{Inputs, Scene};
use crate::roads::Roads;
use crate::stands::coming::{Coming, chosen};
use crate::stands::now::OnTrack;
use crate::stands::standing::{Said, Standing};

/// A car on some tracks.
#[derive(Clone, Debug, PartialEq)]
pub struct Question {
    /// Which car, tracks and day.
    pub scene: Scene,
    /// Places besides those that every car has.
    pub spots: Vec<Spot>,
    /// What of the ledger counts as coming, where that is asked: `planned`, `measured`, `ideas`, `none`, or names of rows;
    /// empty: `planned`.
    pub coming: Option<Vec<String>>,
}

/// The question with its files read.
#[derive(Clone, Debug)]
pub struct Ready {
    /// What is unlikely in them.
    pub warnings: Vec<Warning>,
    /// The car in its state, and the tracks.
    pub inputs: Inputs,
    /// The ledger and where the budget stands, where there is one.
    pub on: Option<OnTrack>,
    /// What counts as coming.
    pub coming: Option<Coming>,
    spots: Vec<Spot>,
    step_m: f64,
}

/// What kilograms and millimetres are worth.
#[derive(Clone, Debug)]
#[must_use = "an answer may come with warnings"]
pub struct Answer {
    /// The car's file: its name, what is aboard.
    pub file: CarFile,
    /// Its state.
    pub state: Said,
    /// The car in that state, with its ledger.
    pub standing: Standing,
    /// The car as it was lapped: its mass, its centre of gravity.
    pub car: Car,
    /// The tracks.
    pub tracks: Vec<Track>,
    /// What was found, with what to know besides.
    pub study: Study,
    /// The ledger and where the budget stands, where there is one.
    pub on: Option<OnTrack>,
    /// What counts as coming.
    pub coming: Option<Coming>,
    /// What is unlikely in the files.
    pub warnings: Vec<Warning>,
}

impl Answer {
    /// How far the cost of a kilogram is known, and what to measure next for it; `None` where no number is uncertain.
    pub fn open(&self) -> Option<(Open, Option<Next>)> {
        let open = Open::of_worth(&self.study.mix)?;
        let next = open.next(&self.car);
        Some((open, next))
    }
}

impl Question {
    /// The car in its state, whatever is coming to it.
    pub fn new(scene: Scene) -> Self {
        Self { scene, spots: Vec::new(), coming: None }
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
            let inputs = r.inputs(&self.scene)?;
            let mut inputs = inputs;
            let on = OnTrack::new(&inputs.car)?;
            let mut coming = None;
            if let Some(wanted) = &self.coming {
                if on.is_some() {
                    coming = chosen(&inputs.car, wanted)?;
                    let rows = coming.as_ref().map_or(&[][..], |coming| &coming.rows);
                    let others = r.others(&self.scene.car, &self.scene.set, inputs.car.ledger.as_ref(), rows)?;
                    inputs.car.others.extend(others);
                } else if wanted.iter().any(|p| p != "none") {
                    return Err(Asked::NoPlan { path: ledger_file(r.files(), &self.scene.car) }.into());
                }
            }
            let (spots, step_m, warnings) = (self.spots.clone(), self.scene.step_m, r.warnings());
            Ok(Ready { warnings, inputs, on, coming, spots, step_m })
        })
    }
}

impl Ready {
    /// Laps the car, and says what its kilograms and millimetres are worth.
    ///
    /// # Errors
    /// [`AskError`] where there is no lap.
    pub fn answer(&self) -> Result<Answer, AskError> {
        let standing = &self.inputs.car;
        let (file, car) = (&standing.file, &standing.car);
        let roads = self.roads()?;
        let mut spots = named_spots(car, file.loads.driver.map(|driver| driver.seat));
        spots.extend(self.spots.iter().cloned());
        Ok(Answer {
            study: worth(&Subject { car, inputs: &standing.inputs, spots }, &roads.legs())?,
            file: file.clone(),
            state: standing.said(),
            standing: standing.clone(),
            car: car.clone(),
            tracks: self.inputs.of_tracks(),
            on: self.on.clone(),
            coming: self.coming.clone(),
            warnings: self.warnings.clone(),
        })
    }

    /// The laps behind it.
    ///
    /// # Errors
    /// [`AskError`] where there is none.
    pub fn laps(&self) -> Result<Vec<lap::Answer>, AskError> {
        let roads = self.roads()?;
        roads.courses().iter().map(|course| lap::on(course, &self.inputs.car, &self.inputs.car.car)).collect()
    }

    pub(crate) fn roads(&self) -> Result<Roads, Asked> {
        Roads::new(&self.inputs.tracks, self.step_m)
    }
}
