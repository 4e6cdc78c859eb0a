//! Mass, height, split, fuel and grip: a lap for every cell of a grid.

use unladen_garage::{CAR, CarFile, FileErrors, Files, Kind, Span, TRACK, Table, Warning, axis, between};
use unladen_lap::Course;
use unladen_study::sweep::{Axis, Cell, CellLap, Grid, Sweep, Tankful};
use unladen_track::Track;
use unladen_vehicle::Car;

use crate::error::{AskError, Asked, Failure};
use crate::read::Reader;
use crate::read::scene::{Inputs, Scene};
use crate::roads::course;
use crate::stands::standing::Said;

/// What is swept, each as `1000kg..1300kg:21`: from, to, how many.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Axes {
    /// Mass as it laps.
    pub mass: Option<String>,
    /// Height of the centre of gravity as it laps.
    pub cg_height: Option<String>,
    /// Share of the weight on the front axle.
    pub front_share: Option<String>,
    /// Fuel on the track.
    pub fuel: Option<String>,
    /// The day's grip.
    pub grip: Option<String>,
}

/// A car on a track.
#[derive(Clone, Debug, PartialEq)]
pub struct Question {
    /// Which car, track and day; of several tracks the first.
    pub scene: Scene,
    /// What is swept.
    pub axes: Axes,
}

/// The question with its files read: ready to lap cell by cell, or all of them.
#[derive(Clone, Debug)]
pub struct Ready {
    /// What is unlikely in them.
    pub warnings: Vec<Warning>,
    /// The car's name.
    pub name: String,
    /// Its state.
    pub state: Said,
    /// The car as it stands in it.
    pub car: Car,
    /// The track.
    pub track: Track,
    /// The grid.
    pub grid: Grid,
    /// Distance between stations, m.
    pub step_m: f64,
}

/// All cells.
#[derive(Clone, Debug)]
#[must_use = "an answer may come with warnings, and a cell without a lap or with an unsettled one"]
pub struct Answer {
    /// The car's name.
    pub name: String,
    /// Its state.
    pub state: Said,
    /// The car as it stands in it.
    pub car: Car,
    /// The track.
    pub track: Track,
    /// The grid.
    pub grid: Grid,
    /// The car as it stands, lapped.
    pub reference: CellLap,
    /// The cells in their order, each with its lap or why there is none.
    pub cells: Vec<Cell>,
    /// What is unlikely in the files.
    pub warnings: Vec<Warning>,
}

/// More cells than this are not held at once.
const MOST_HELD: u64 = 1_000_000;

impl Question {
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
    /// [`Failure`] with every fault of car and track, or of all axes; or where nothing is swept.
    pub fn read(&self, files: &dyn Files) -> Result<Ready, Failure> {
        Reader::run(files, |r| {
            let Inputs { car: standing, tracks } = r.inputs(&self.scene)?;
            let Some((track, _)) = tracks.into_iter().next() else {
                return Err(unladen_study::StudyError::NoTrack.into());
            };
            let grid = self.axes.grid(&standing.file)?;
            let (state, name, car, track) = (standing.said(), standing.file.name, standing.car, track.track);
            Ok(Ready { warnings: r.warnings(), name, state, car, track, grid, step_m: self.scene.step_m })
        })
    }
}

impl Ready {
    /// The track with its stations.
    ///
    /// # Errors
    /// [`Asked::TooLong`].
    pub fn course(&self) -> Result<Course, Asked> {
        course(&self.track, self.step_m)
    }

    /// The sweep, cell by cell.
    pub fn sweep<'a>(&'a self, course: &'a Course) -> Sweep<'a> {
        Sweep { car: &self.car, course, step_m: self.step_m, grid: &self.grid }
    }

    /// Laps all cells.
    ///
    /// # Errors
    /// [`AskError`] where the car as it stands has no lap, or there are too many cells to hold.
    pub fn answer(&self) -> Result<Answer, AskError> {
        let cells = match self.grid.cells() {
            Some(cells) if cells <= MOST_HELD => cells,
            cells => return Err(Asked::TooManyCells { cells, most: MOST_HELD }.into()),
        };
        let course = self.course()?;
        let sweep = self.sweep(&course);
        Ok(Answer {
            reference: sweep.reference()?,
            cells: sweep.cells(0..cells, &|| true),
            name: self.name.clone(),
            state: self.state.clone(),
            car: self.car.clone(),
            track: self.track.clone(),
            grid: self.grid.clone(),
            warnings: self.warnings.clone(),
        })
    }
}

/// An axis, what it says, and what it may say.
type Typed<'a> = (&'static str, &'a Option<String>, Span);

impl Axes {
    /// The grid; every fault of all axes at once.
    fn grid(&self, car: &CarFile) -> Result<Grid, AskError> {
        let mut faults: Vec<FileErrors> = Vec::new();
        let mut read = |(option, text, span): Typed| -> Option<Axis> {
            let typed = axis(option, text.as_ref()?, span).map_err(|e| faults.push(e)).ok()?;
            Axis::new(typed.0, typed.1, typed.2)
        };
        let of = |table: Table, key: &str| match table.find(key).map(|k| &k.kind) {
            Some(Kind::Quantity(span)) => *span,
            _ => between(0.0, f64::INFINITY),
        };
        let share = between(0.0, 1.0);
        let mass = read(("--mass", &self.mass, of(CAR, "mass.total")));
        let cg_height = read(("--cg-height", &self.cg_height, of(CAR, "mass.cg_height")));
        let front_share = read(("--front-share", &self.front_share, share));
        let fuel = read(("--fuel", &self.fuel, of(CAR, "fuel.on_track")));
        let grip = read(("--grip", &self.grip, of(TRACK, "grip")));
        if !faults.is_empty() {
            return Err(AskError::Files(faults));
        }
        let fuel = match fuel {
            None => None,
            Some(axis) => {
                let f = car.loads.fuel.ok_or(Asked::NoTank)?;
                for end in axis.ends() {
                    f.tank.fuel(end, f.density).map_err(|what| Asked::Fuel { option: "--fuel", what })?;
                }
                Some((axis, Tankful { tank: f.tank, density: f.density, on_track: f.on_track }))
            }
        };
        if [mass, cg_height, front_share, grip, fuel.map(|f| f.0)].iter().all(Option::is_none) {
            return Err(Asked::NothingSwept.into());
        }
        Ok(Grid { grip, fuel, mass, cg_height, front_share })
    }
}
