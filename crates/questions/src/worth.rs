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
use crate::read::scene::{Inputs, Scene, uncertain};
use crate::roads::Roads;
use crate::stands::coming::{Coming, chosen};
use crate::stands::now::OnTrack;

/// A car on some tracks.
#[derive(Clone, Debug, PartialEq)]
pub struct Question {
    /// Which car, tracks and day.
    pub scene: Scene,
    /// Places besides those that every car has.
    pub spots: Vec<Spot>,
    /// The ledger, where it is wanted.
    pub ledger: Option<Wish>,
}

/// What is wanted of a ledger.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Wish {
    /// Which rows count as coming: `planned`, `measured`, `ideas`, `none`, or names of rows; empty: `planned`.
    pub coming: Vec<String>,
    /// The car is asked about as it stands, with what has been done since its weighing; otherwise as in its file.
    pub now: bool,
}

/// The question with its files read.
#[derive(Clone, Debug)]
pub struct Ready {
    /// What is unlikely in them.
    pub warnings: Vec<Warning>,
    /// The car that is asked about.
    pub car: Car,
    /// The files.
    pub inputs: Inputs,
    /// The ledger and where the budget stands, where it was wanted and is there.
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
    /// The car as it was lapped: its mass, its centre of gravity.
    pub car: Car,
    /// The tracks.
    pub tracks: Vec<Track>,
    /// What was found, with what to know besides.
    pub study: Study,
    /// The ledger and where the budget stands, where it was wanted and is there.
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
    /// The car as in its file, without its ledger.
    pub fn new(scene: Scene) -> Self {
        Self { scene, spots: Vec::new(), ledger: None }
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
            let path = &self.scene.car;
            let (mut on, mut coming, mut car) = (None, None, inputs.car.car.clone());
            if let Some(wish) = &self.ledger {
                on = r.ledger_if_any(path, &inputs.car)?.map(|l| OnTrack::new(&inputs.car, l)).transpose()?;
                match &on {
                    Some(on) => coming = chosen(on, &wish.coming)?,
                    None if wish.coming.iter().any(|p| p != "none") => {
                        return Err(Asked::NoPlan { path: ledger_file(r.files(), path) }.into());
                    }
                    None => {}
                }
                if let Some(on) = on.as_ref().filter(|_| wish.now) {
                    car = on.now(&car);
                }
            }
            let (spots, step_m, warnings) = (self.spots.clone(), self.scene.step_m, r.warnings());
            Ok(Ready { warnings, car, inputs, on, coming, spots, step_m })
        })
    }
}

impl Ready {
    /// Laps the car, and says what its kilograms and millimetres are worth.
    ///
    /// # Errors
    /// [`AskError`] where there is no lap.
    pub fn answer(&self) -> Result<Answer, AskError> {
        let file = &self.inputs.car;
        let roads = self.roads()?;
        let mut spots = named_spots(&self.car, file.loads.driver.map(|driver| driver.seat));
        spots.extend(self.spots.iter().cloned());
        let of_car = uncertain(&file.uncertainties);
        Ok(Answer {
            study: worth(&Subject { car: &self.car, inputs: &of_car, spots }, &roads.legs())?,
            file: file.clone(),
            car: self.car.clone(),
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
        roads.courses().iter().map(|course| lap::on(course, &self.inputs.car.name, &self.car)).collect()
    }

    pub(crate) fn roads(&self) -> Result<Roads, Asked> {
        Roads::new(&self.inputs.tracks, self.step_m)
    }
}
