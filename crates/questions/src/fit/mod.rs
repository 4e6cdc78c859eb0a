//! The model brought to a logged drive; one lap is held out and predicted.

pub mod car;
mod laps;

use std::path::PathBuf;

use unladen_garage::log::{Mapping, Note};
use unladen_garage::{Ask, Files, Overrides, TrackFile, Warning, flying, survey_telling};
use unladen_positions::{Line, Wish};
use unladen_study::fit::{Fit, Gearing, LoggedLap, Prediction, fit_told_apart, gearing, predict, scatter};
use unladen_study::made_track::lines::Lines;
use unladen_track::Track;
use unladen_vehicle::Car;

use crate::course::{bytes, mapping};
use crate::error::{AskError, Asked, Failure, NoResult};
use crate::fit::laps::{gear_samples, laps};
use crate::logged::{LoggedError, Unmade};
use crate::read::Reader;
use crate::roads::course;
use crate::stands::standing::{Said, Standing};
use crate::stands::state::State;

/// A car, a track, and a log of the one on the other.
#[derive(Clone, Debug, PartialEq)]
pub struct Question {
    /// A car: its car.toml, or the folder that holds one.
    pub car: PathBuf,
    /// A track: its TOML file.
    pub track: PathBuf,
    /// The log.
    pub log: PathBuf,
    /// What is known of its columns.
    pub told: Mapping,
    /// The state in which it was driven.
    pub state: State,
    /// Values of the car's or the track's file to be changed, as `KEY=VALUE` with a unit: the mass that day, say.
    pub set: Vec<String>,
    /// The day's grip in place of the track's, to start from.
    pub grip: Option<f64>,
    /// Which lap of the log is held out, from 1; `None`: the last flying one between others.
    pub hold_out: Option<usize>,
}

/// The question with its files read.
#[derive(Clone, Debug)]
pub struct Ready {
    /// What is unlikely in them.
    pub warnings: Vec<Warning>,
    question: Question,
    car: Standing,
    track: TrackFile,
    bytes: Vec<u8>,
    mapping: Mapping,
}

/// A fit with what belongs to it.
#[derive(Clone, Debug)]
#[must_use = "a fit comes with notes, and may not have settled"]
pub struct Answer {
    /// The car's name.
    pub car: String,
    /// Its state.
    pub state: Said,
    /// The car in it as its file has it, on the track's day.
    pub before: Car,
    /// The track.
    pub track: Track,
    /// The fit of all factors.
    pub all: Fit,
    /// The one in which those that can't be told (apart) are held.
    pub fit: Fit,
    /// Of the lap that was held out.
    pub prediction: Prediction,
    /// Numbers of the log's laps that were fitted to, from 1.
    pub used: Vec<usize>,
    /// The lap that was held out.
    pub held: usize,
    /// Lap time of the car as its file has it, s.
    pub before_s: f64,
    /// Standard deviation of the times of the laps fitted to, s; NaN for fewer than two.
    pub scatter_s: f64,
    /// Correlation of the log's curvature with the track's.
    pub correlation: f64,
    /// Gearing by the log.
    pub gearing: Option<Gearing>,
    /// What was made of the log.
    pub notes: Vec<Note>,
    /// What is unlikely in the files.
    pub warnings: Vec<Warning>,
}

impl Question {
    /// Reads the files.
    ///
    /// # Errors
    /// [`Failure`] with every fault of the car, or of the track, or of the log.
    pub fn read(&self, files: &dyn Files) -> Result<Ready, Failure> {
        Reader::run(files, |r| {
            let files = r.files();
            let overrides = Overrides::parse(&self.set)?;
            let car = r.standing(&self.car, &self.set, &self.state)?;
            let track = files.track(&self.track, &overrides, self.grip)?;
            r.warn(track.warnings.iter().cloned());
            let bytes = bytes(files, &self.log)?;
            let mapping = mapping(files, &self.log, &self.told)?;
            Ok(Ready { warnings: r.warnings(), question: self.clone(), car, track, bytes, mapping })
        })
    }
}

impl Ready {
    /// Fits the model.
    ///
    /// # Errors
    /// [`Unmade`] where the log holds no laps of the track, or the car can't lap it; with what the log was taken for.
    pub fn answer(&self) -> Result<Answer, Unmade> {
        Unmade::telling(|told| self.made(told))
    }

    fn made(&self, told: &mut Vec<Note>) -> Result<Answer, AskError> {
        let (car, track) = (&self.car.car, &self.track.track);
        let name = self.question.log.display().to_string();
        let ask = Ask { closed: Some(track.closed), start: None, mappings: vec![self.mapping.clone()] };
        let files = [(name.clone(), self.bytes.clone())];
        let mut found = survey_telling(&files, &ask, told).map_err(|e| LoggedError::at_cell(e, &files))?;
        let timed = found.logs.first().filter(|log| !log.t.is_empty());
        let log = timed.ok_or(LoggedError::NoTimes { file: name })?;
        let wish = Wish { closed: found.closed, noise_m: None, height_noise_m: None };
        let line = Line::through_at_least(&found.runs, wish, found.least_noise)?;
        let lies = line.align(track)?;
        let all = laps(&found, &line, &lies, log, car);
        let gearing = gearing(car, &gear_samples(log));
        let held = self.question.hold_out.unwrap_or_else(|| last_flying(&all));
        if self.question.hold_out.is_none() && held < all.len() {
            found.notes.push(chosen(held, all.len()));
        }
        if !(1..=all.len()).contains(&held) || all.len() < 2 {
            return Err(Asked::NoSuchLap { given: held, laps: all.len() }.into());
        }
        let used = (1..=all.len()).filter(|n| *n != held).collect();
        let mut fitted_to = all;
        let out = fitted_to.remove(held - 1);
        let times: Vec<f64> = fitted_to.iter().map(|l| l.time_s).collect();
        let course = course(track, unladen_lap::STEP_M)?;
        // A track that positions made is as uncertain as the line that this log's own make.
        let lines = self.track.made.then(|| Lines::of(&line, track, PAIRS)).flatten();
        let (free, fitted) = fit_told_apart(&course, car, &fitted_to, lines.as_ref())?;
        let no_lap = |source| NoResult::NoLapHere { source };
        Ok(Answer {
            car: self.car.file.name.clone(),
            state: self.car.said(),
            before: car.clone(),
            track: track.clone(),
            prediction: predict(&fitted, &course, car, &out, &times).map_err(no_lap)?,
            all: free,
            fit: fitted,
            used,
            held,
            before_s: course.time(car).map_err(no_lap)?,
            scatter_s: scatter(&times),
            correlation: lies.correlation,
            gearing,
            notes: found.notes,
            warnings: self.warnings.clone(),
        })
    }
}

/// Pairs of lines that say what a made track leaves open.
const PAIRS: usize = 16;

/// The lap that is held out where nobody says which, from 1: the last flying one that is neither the log's first nor its last
/// where there are such, for tyres are cold in the one and a driver lifts in the other.
fn last_flying(laps: &[LoggedLap]) -> usize {
    let flies = flying(&laps.iter().map(|l| l.time_s).collect::<Vec<_>>());
    let between = (1..laps.len().saturating_sub(1)).rev().find(|i| flies[*i]);
    between.or(flies.iter().rposition(|f| *f)).map_or(laps.len(), |i| i + 1)
}

fn chosen(held: usize, laps: usize) -> Note {
    let which = if held > 1 && held < laps { " with laps before and after it" } else { "" };
    let text = format!("lap {held} is held out, the last flying one{which}");
    Note { text, instead: Some("--hold-out LAP".into()) }
}
