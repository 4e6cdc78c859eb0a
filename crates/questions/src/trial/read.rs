//! A trial read: its laps against its sealed prediction, and what they teach.

use std::path::PathBuf;

use unladen_garage::log::{Mapping, Note};
use unladen_garage::trial::laps::{LapRow, Laps, parse_laps};
use unladen_garage::trial::learnt::{Moved, moved, with_moved};
use unladen_garage::trial::sealed::{ReadResult, Sealed, parse_sealed};
use unladen_garage::trial::typed::typed_laps;
use unladen_garage::{Ask, Files, Limit, Measured, Overrides, TrackFile, survey_telling, written};
use unladen_study::trial::along::{self, along};
use unladen_study::trial::laps::TimedLap;
use unladen_study::trial::learn::{Slope, learn};
use unladen_study::trial::reading::{PerKg, Reading, read};
use unladen_study::trial::verdict::{Judged, Prediction, judge};

use crate::course::{bytes, mapping};
use crate::error::{AskError, Failure};
use crate::logged::LoggedError;
use crate::read::Reader;
use crate::read::hashed::hash;
use crate::read::project::car_file;
use crate::trial::given::timed;
use crate::trial::splits::splits;
use crate::trial::{TrialError, file_of, result_file};
use crate::write::ToWrite;

/// Where the laps are.
#[derive(Clone, Debug, PartialEq)]
pub enum Given {
    /// A CSV file, a row a lap.
    Sheet(PathBuf),
    /// Typed in one line.
    Typed(String),
    /// Logs in the order driven, a run each, with what was fitted.
    Logs(Vec<(PathBuf, bool)>),
}

/// A trial and its laps.
#[derive(Clone, Debug, PartialEq)]
pub struct Question {
    /// The car: its car.toml, or the folder that holds one.
    pub car: PathBuf,
    /// The sealed trial: its file, or its name among the car's.
    pub trial: PathBuf,
    /// Its laps.
    pub laps: Given,
    /// The track's file, to say where on the lap a difference arose; with logs only.
    pub track: Option<PathBuf>,
    /// Today, days since 1970-01-01.
    pub today: i64,
}

/// The question with its files read.
#[derive(Clone, Debug)]
pub struct Ready {
    question: Question,
    path: PathBuf,
    sealed: Sealed,
    car: String,
    laps: Laps,
    splits: Option<Splits>,
    /// Files that are no longer what they were when it was sealed.
    changed: Vec<String>,
    notes: Vec<Note>,
}

/// What the laps say.
#[derive(Clone, Debug)]
#[must_use = "a reading comes with notes"]
pub struct Answer {
    /// The trial's file.
    pub path: PathBuf,
    /// The trial.
    pub sealed: Sealed,
    /// Its laps, in the order driven.
    pub laps: Vec<TimedLap>,
    /// The names of its runs.
    pub runs: Vec<String>,
    /// What was predicted.
    pub predicted: Prediction,
    /// What was read.
    pub reading: Reading,
    /// Both against each other.
    pub judged: Judged,
    /// Where on the lap, where logs and the track are given.
    pub along: Option<Vec<along::Stretch>>,
    /// What it teaches of numbers of car.toml.
    pub learnt: Vec<Moved>,
    /// Files that are no longer what they were when it was sealed.
    pub changed: Vec<String>,
    /// What was made of logs.
    pub notes: Vec<Note>,
    today: i64,
}

impl Question {
    /// Reads and answers.
    ///
    /// # Errors
    /// [`Failure`].
    pub fn ask(&self, files: &dyn Files) -> Result<Answer, Failure> {
        self.read(files)?.answer(files).map_err(|why| Failure::of(why, Vec::new()))
    }

    /// Reads the files.
    ///
    /// # Errors
    /// [`Failure`] with every fault of the trial, an edit of it since it was sealed among them, or of the laps.
    pub fn read(&self, files: &dyn Files) -> Result<Ready, Failure> {
        Reader::run(files, |r| self.ready(r))
    }

    fn ready(&self, r: &mut Reader) -> Result<Ready, AskError> {
        let files = r.files();
        let path = file_of(files, &self.car, &self.trial);
        let sealed = parse_sealed(&files.text(&path).map_err(|f| AskError::one(*f))?)?;
        let car = files.car(&car_file(files, &self.car), &Overrides::none())?.name;
        if car != sealed.car {
            return Err(TrialError::OtherCar { path, sealed: sealed.car, car }.into());
        }
        if sealed.day > self.today {
            return Err(TrialError::ToCome { path, day: written(sealed.day) }.into());
        }
        let mut notes = Vec::new();
        let track = self.track.as_ref().map(|t| files.track(t, &Overrides::none(), None)).transpose()?;
        let (laps, splits) = match &self.laps {
            Given::Sheet(path) => (parse_laps(&files.sheet(path).map_err(|f| AskError::one(*f))?, self.today)?, None),
            Given::Typed(line) => (typed_laps(line)?, None),
            Given::Logs(logs) => logged(files, logs, track.as_ref(), &sealed, &mut notes)?,
        };
        if let Some(day) = laps.rows.iter().filter_map(|l| l.day).find(|day| *day < sealed.day) {
            return Err(TrialError::Before { driven: written(day), sealed: written(sealed.day) }.into());
        }
        let same = |(path, due): &&(String, String)| match files.bytes(path.as_ref(), Limit::LOG) {
            Ok(bytes) => hash(&bytes) == *due,
            Err(_) => false,
        };
        let changed = sealed.files.iter().filter(|f| !same(f)).map(|f| f.0.clone()).collect();
        Ok(Ready { question: self.clone(), path, sealed, car, laps, splits, changed, notes })
    }
}

/// Times of each lap on each stretch, s.
type Splits = Vec<Vec<f64>>;

/// Laps of logs, and their times on each stretch where the track is given.
fn logged(
    files: &dyn Files,
    logs: &[(PathBuf, bool)],
    track: Option<&TrackFile>,
    sealed: &Sealed,
    notes: &mut Vec<Note>,
) -> Result<(Laps, Option<Splits>), AskError> {
    let mut laps = Laps::default();
    let mut all = track.map(|_| Vec::new());
    let spans: Vec<[f64; 2]> = sealed.stretches.iter().map(|s| s.1).collect();
    for (run, (path, changed)) in logs.iter().enumerate() {
        let closed = track.map(|t| t.track.closed);
        let ask = Ask { closed, start: None, mappings: vec![mapping(files, path, &Mapping::default())?] };
        let named = [(path.display().to_string(), bytes(files, path)?)];
        let found = survey_telling(&named, &ask, notes).map_err(|e| LoggedError::at_cell(e, &named))?;
        let times = found.times.iter().map(|t| t.1);
        if found.times.is_empty() || times.clone().any(|t| !t.is_finite()) {
            let path = path.display().to_string();
            return Err(LoggedError::NoTimes { file: path }.into());
        }
        laps.runs.push(path.file_stem().unwrap_or_default().to_string_lossy().into_owned());
        laps.rows.extend(times.map(|t| LapRow::new(run, *changed, t)));
        if let (Some(all), Some(track)) = (&mut all, track) {
            all.extend(splits(&found, &track.track, &spans)?);
        }
    }
    Ok((laps, all))
}

impl Ready {
    /// Reads the laps against the prediction.
    ///
    /// # Errors
    /// [`TrialError::Reading`] where they say nothing.
    pub fn answer(&self, files: &dyn Files) -> Result<Answer, AskError> {
        let sealed = &self.sealed;
        if self.laps.rows.is_empty() {
            return Err(TrialError::NoLaps.into());
        }
        let laps = timed(&self.laps, sealed);
        let fuel = PerKg { s_per_kg: sealed.s_per_kg.value, sd: sealed.s_per_kg.sd };
        let reading = read(&laps, fuel).map_err(TrialError::from)?;
        let predicted = Prediction { gain_s: sealed.gain.value, sd_s: sealed.gain.sd, interval: sealed.interval };
        let slopes: Vec<Slope> =
            sealed.hangs_on.iter().map(|(key, gain_s)| Slope { key: key.clone(), gain_s: *gain_s }).collect();
        let learnt = learn(&slopes, sealed.besides_s, predicted.gain_s, (reading.gain_s, reading.error_s));
        let learnt: Vec<(&str, f64, f64)> = learnt.iter().map(|l| (l.key.as_str(), l.by_sds, l.left)).collect();
        let source = files.text(&car_file(files, &self.question.car)).map_err(|f| AskError::one(*f))?;
        let split = self.splits.as_ref().map(|splits| along(&laps, splits, &reading, fuel));
        Ok(Answer {
            path: self.path.clone(),
            judged: judge(&predicted, &reading),
            along: split.transpose().map_err(TrialError::from)?,
            learnt: moved(&source, &learnt)?,
            sealed: sealed.clone(),
            runs: self.laps.runs.clone(),
            laps,
            predicted,
            reading,
            changed: self.changed.clone(),
            notes: self.notes.clone(),
            today: self.question.today,
        })
    }

    /// The car's name.
    pub fn car(&self) -> &str {
        &self.car
    }
}

impl Answer {
    /// The result, for the diary.
    ///
    /// # Errors
    /// [`TrialError::ReadAlready`]: a result is never replaced.
    pub fn keep(&self, files: &dyn Files) -> Result<ToWrite, AskError> {
        let path = result_file(&self.path);
        if files.exists(&path) {
            return Err(TrialError::ReadAlready { path }.into());
        }
        let result = ReadResult {
            of: self.sealed.seal.clone(),
            day: self.today,
            verdict: self.judged.verdict.key().into(),
            gain: Measured { value: self.reading.gain_s, sd: self.reading.error_s },
            interval: self.reading.interval,
            laps: self.reading.laps,
            effective: self.reading.effective,
        };
        Ok(ToWrite { path, read: None, bytes: result.text().into_bytes() })
    }

    /// The car's file with what was learnt.
    ///
    /// # Errors
    /// [`AskError::Files`] where it can't be read.
    pub fn into_car(&self, files: &dyn Files, car: &std::path::Path) -> Result<ToWrite, AskError> {
        let path = car_file(files, car);
        let source = files.text(&path).map_err(|f| AskError::one(*f))?;
        let text = with_moved(&source, &self.learnt)?;
        Ok(ToWrite { path, read: Some(source.text.as_bytes().to_vec()), bytes: text.into_bytes() })
    }
}
