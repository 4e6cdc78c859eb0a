//! A lap: its time, which limit rules where, and its trace.

use unladen_garage::{Files, TrackFile, Warning};
use unladen_lap::{Course, Lap, Limit, Row};
use unladen_study::{Along, Caveat, Leg, TimeRange, along_lap, sound_lap, time_range};
use unladen_track::Track;
use unladen_vehicle::Car;
use unladen_vehicle::car::Day;

use crate::advice::advised;
use crate::error::{AskError, Failure};
use crate::read::Reader;
use crate::read::scene::{Inputs, Scene, uncertain};
use crate::roads::course;
use crate::stands::standing::{Said, Standing};

/// A car on a track; of several tracks each has its answer.
#[derive(Clone, Debug, PartialEq)]
pub struct Question {
    /// Which car, tracks and day.
    pub scene: Scene,
}

/// The question with its files read.
#[derive(Clone, Debug)]
pub struct Ready {
    /// What is unlikely in them.
    pub warnings: Vec<Warning>,
    inputs: Inputs,
    step_m: f64,
}

/// A lap.
#[derive(Clone, Debug)]
#[must_use = "a lap may come with warnings, and may not be settled"]
pub struct Answer {
    /// The car's name.
    pub name: String,
    /// Its state.
    pub state: Said,
    /// The car as it laps.
    pub car: Car,
    /// The track's day.
    pub day: Day,
    /// The track.
    pub track: Track,
    /// Station by station.
    pub rows: Vec<Row>,
    /// s.
    pub time_s: f64,
    /// Numerical error of the time, s.
    pub error_s: f64,
    /// How well the time is known, where the files call something uncertain and it was asked for.
    pub range: Option<TimeRange>,
    /// Where along the lap mass and its place cost what they do.
    pub along: Along,
    /// Share of the time that each limit rules, the largest first.
    pub ruled_by: Vec<(Limit, f64)>,
    /// What to know before the time is believed; empty: settled.
    pub caveats: Vec<Caveat>,
    /// What is unlikely in the files.
    pub warnings: Vec<Warning>,
}

impl Question {
    /// Reads the files and answers.
    ///
    /// # Errors
    /// [`Failure`], with what was unlikely in the files until then.
    pub fn ask(&self, files: &dyn Files) -> Result<Vec<Answer>, Failure> {
        let ready = self.read(files)?;
        ready.answer().map_err(|why| Failure::of(why, ready.warnings))
    }

    /// Reads the files.
    ///
    /// # Errors
    /// [`Failure`] with every fault of all files.
    pub fn read(&self, files: &dyn Files) -> Result<Ready, Failure> {
        Reader::run(files, |r| {
            let inputs = r.inputs(&self.scene)?;
            Ok(Ready { warnings: r.warnings(), inputs, step_m: self.scene.step_m })
        })
    }
}

impl Ready {
    /// Laps the car on each track.
    ///
    /// # Errors
    /// [`AskError`] where there is no lap that says something.
    pub fn answer(&self) -> Result<Vec<Answer>, AskError> {
        let car = &self.inputs.car;
        let on = |(file, _): &(TrackFile, f64)| {
            let course = course(&file.track, self.step_m)?;
            let lap = on(&course, car, &car.car)?.known(&course, car, file);
            Ok(Answer { warnings: self.warnings.clone(), ..lap })
        };
        self.inputs.tracks.iter().map(on).collect()
    }
}

/// The lap on a course of a car made of this one.
pub(crate) fn on(course: &Course, of: &Standing, car: &Car) -> Result<Answer, AskError> {
    Ok(Answer::of(course, of, &sound_lap(course, car)?))
}

impl Answer {
    /// With how well its time is known, by what the files call uncertain.
    pub fn known(self, course: &Course, of: &Standing, track: &TrackFile) -> Self {
        let of_track = uncertain(&track.uncertainties);
        let leg = Leg { inputs: &of_track, ..Leg::new(course) };
        let range = time_range(&leg, &self.car, &of.inputs, [self.time_s, self.error_s]);
        Self { range, ..self }
    }

    /// What a lap of this course says, without what is unlikely in files.
    pub fn of(course: &Course, of: &Standing, lap: &Lap) -> Self {
        let mut ruled_by = lap.shares();
        ruled_by.sort_by(|a, b| b.1.total_cmp(&a.1));
        Self {
            name: of.file.name.clone(),
            state: Said { mass_kg: lap.car().mass.m, ..of.said() },
            car: lap.car().clone(),
            day: course.day(),
            track: course.track().clone(),
            rows: lap.trace_with_peaks(),
            time_s: lap.time,
            error_s: lap.error,
            range: None,
            along: along_lap(course, lap),
            ruled_by,
            caveats: Caveat::of(course, lap),
            warnings: Vec::new(),
        }
    }

    /// All that is to be known before the time is believed: of the lap, and of the files.
    pub fn warned(&self) -> Vec<String> {
        let of_files = self.warnings.iter().map(ToString::to_string);
        self.caveats.iter().map(advised).chain(of_files).collect()
    }
}
