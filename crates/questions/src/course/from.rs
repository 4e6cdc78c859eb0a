//! A track made of positions or logged laps.

use std::path::{Path, PathBuf};

use unladen_garage::log::{Mapping, Note};
use unladen_garage::{
    Ask, FileErrors, Files, Limit, Overrides, Source, Survey, TrackText, Warning, look_at, parse_track, segments_csv,
    survey_telling,
};
use unladen_positions::{Built, Line, Tolerance, Wish};
use unladen_study::made_track::doubt::{TrackDoubt, track_doubt};
use unladen_track::Track;

use crate::course::notes::{kept, noiseless, numbered, said, words};
use crate::course::{bytes, mapping, mapping_file};
use crate::error::{AskError, Asked, Failure};
use crate::logged::{LoggedError, Unmade};
use crate::read::Reader;
use crate::stands::standing::Standing;
use crate::stands::state::State;
use crate::write::ToWrite;

/// Files of positions, and what is known besides.
#[derive(Clone, Debug)]
pub struct Question {
    /// GPX, GeoJSON, KML, NMEA sentences, or CSV.
    pub files: Vec<PathBuf>,
    /// The track's file; its segments go into a CSV beside it. It gives the track its name where nothing else does.
    pub out: PathBuf,
    /// What the track is called.
    pub name: Option<String>,
    /// Where the start line is, degrees or metres as the file has them.
    pub start: Option<[f64; 2]>,
    /// A circuit, or an open course; `None`: as the positions show.
    pub closed: Option<bool>,
    /// Standard deviation of a position, m; `None`: found from the positions.
    pub noise_m: Option<f64>,
    /// Standard deviation of a height, m; `None`: found from the heights.
    pub height_noise_m: Option<f64>,
    /// How far the segments' curvature may be from the line's, 1/m.
    pub tolerance_1pm: f64,
    /// Names of corners and straights, each with a place of it; those of the files are used too.
    pub places: Vec<(String, [f64; 2])>,
    /// The line of least curvature within this road in place of the positions' own.
    pub line: Option<Width>,
    /// Banks: from, to, m from the start line, and degrees, right side up +.
    pub banks: Vec<[f64; 3]>,
    /// What is known of the columns of logs.
    pub told: Mapping,
    /// A car whose lap time is to be said with what the positions leave open of it.
    pub car: Option<PathBuf>,
}

/// The road that a line of least curvature has.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Width {
    /// m, half of it to each side of the positions.
    Even(f64),
    /// As the file's columns have it.
    Columns,
}

/// The question with its files read.
#[derive(Clone, Debug)]
pub struct Ready {
    /// What is unlikely in the car's files.
    pub warnings: Vec<Warning>,
    /// The car as it stands.
    pub car: Option<Standing>,
    question: Question,
    files: Vec<(String, Vec<u8>)>,
    mappings: Vec<Mapping>,
    beside: Vec<Option<Vec<u8>>>,
}

/// A track made of positions.
#[derive(Clone, Debug)]
#[must_use = "a course comes with notes, and is to be written"]
pub struct Answer {
    /// The track.
    pub track: Track,
    /// What the files hold: runs, and how they were cut.
    pub survey: Survey,
    /// The line through the runs.
    pub line: Line,
    /// How its segments follow it.
    pub built: Built,
    /// The car that was asked for, by name, and what its lap time on the course is worth.
    pub lap: Option<(String, TrackDoubt)>,
    /// What was made of the files, and what to know about the track.
    pub notes: Vec<Note>,
    /// The track's file.
    pub file: PathBuf,
    /// Its segments' file.
    pub segments_file: PathBuf,
    /// Both, segments first, and behind them what the columns of each log are.
    pub writes: Vec<ToWrite>,
    origin: Vec<String>,
}

impl Answer {
    /// The text of the track's file where its segments' file has this name.
    pub fn text(&self, segments_file: &str) -> String {
        text(&self.track, &self.line, &self.origin, segments_file)
    }
}

/// A made course's length is known to about this, m: a bank may be said to end so far behind it.
const NEAR_END: f64 = 5.0;
/// Lines that are lapped to say what a lap time is worth.
const LINES: usize = 32;
/// From a position at the road's edge a car's middle stays away by this, m: half a car, and a hand. Judgement.
const HALF_CAR: f64 = 1.0;
/// Further from the line than this a named point names nothing, m.
const NAMES: f64 = 80.0;

impl Question {
    /// Files of positions alone, for a track of this file.
    pub fn new<P: Into<PathBuf>>(files: impl IntoIterator<Item = P>, out: impl Into<PathBuf>) -> Self {
        Self {
            files: files.into_iter().map(Into::into).collect(),
            out: out.into(),
            name: None,
            start: None,
            closed: None,
            noise_m: None,
            height_noise_m: None,
            tolerance_1pm: Tolerance::default().kappa,
            places: Vec::new(),
            line: None,
            banks: Vec::new(),
            told: Mapping::default(),
            car: None,
        }
    }

    /// Reads the files.
    ///
    /// # Errors
    /// [`Failure`] with every fault of the car, or the first log that can't be read.
    pub fn read(&self, files: &dyn Files) -> Result<Ready, Failure> {
        Reader::run(files, |r| {
            let car = self.car.as_ref().map(|car| r.standing(car, &[], &State::default())).transpose()?;
            let files = r.files();
            let read = |f: &PathBuf| Ok((f.display().to_string(), bytes(files, f)?));
            let logs = self.files.iter().map(read).collect::<Result<Vec<_>, AskError>>()?;
            let mappings = self.files.iter().map(|f| mapping(files, f, &self.told)).collect::<Result<Vec<_>, _>>()?;
            let beside = self.files.iter().map(|f| files.bytes(&mapping_file(f), Limit::TEXT).ok()).collect();
            Ok(Ready { warnings: r.warnings(), beside, car, question: self.clone(), files: logs, mappings })
        })
    }
}

impl Ready {
    /// Makes the track.
    ///
    /// # Errors
    /// [`Unmade`] where the positions make none, with what the files were taken for.
    pub fn answer(&self) -> Result<Answer, Unmade> {
        Unmade::telling(|told| self.made(told))
    }

    fn made(&self, told: &mut Vec<Note>) -> Result<Answer, AskError> {
        let asked = &self.question;
        let ask = Ask { closed: asked.closed, start: asked.start, mappings: self.mappings.clone() };
        let found = survey_telling(&self.files, &ask, told).map_err(|e| LoggedError::at_cell(e, &self.files))?;
        let wish = Wish { closed: found.closed, noise_m: asked.noise_m, height_noise_m: asked.height_noise_m };
        let line = Line::through_at_least(&found.runs, wish, found.least_noise)?;
        let mut notes = found.notes.clone();
        notes.extend(noiseless(&found, wish, &line));
        notes.extend(look_at(&line)?);
        let line = match asked.line {
            Some(width) => {
                let room = room(width, &line, &found, asked)?;
                line.least_curved(&room.0, &room.1)?
            }
            None => line,
        };
        let built = line.build(Tolerance { kappa: asked.tolerance_1pm, ..Tolerance::default() });
        let mut track = Track {
            name: asked
                .name
                .clone()
                .or(found.name.as_ref().and_then(|n| unladen_garage::name(n).ok()))
                .unwrap_or_else(|| stem(&asked.out)),
            closed: found.closed,
            start_speed: found.start_speed.unwrap_or(0.0),
            segments: built.segments.clone(),
            rho: unladen_vehicle::air::density(0.0, None).unwrap_or(1.225),
            grip: 1.0,
        };
        bank(&mut track, &asked.banks)?;
        notes.extend(name(&mut track, &line, &named_places(asked, &found)));
        notes.extend(numbered(track.number_corners()));
        if let Some(fault) = track.check().into_iter().next().or(track.check_closed().err()) {
            return Err(LoggedError::Track { fault }.into());
        }
        let segments_file = asked.out.with_extension("csv");
        let origin = origin(asked, &found, &line);
        let segments = segments_csv(&track.segments);
        sound(&text(&track, &line, &origin, "segments.csv"), &segments)
            .map_err(|fault| Asked::Unsound { path: asked.out.clone(), fault })?;
        let columns = self.columns(&found);
        notes.extend(columns.iter().map(|(i, _)| kept(&asked.files[*i])));
        let name = segments_file.file_name().unwrap_or_default().to_string_lossy().into_owned();
        let mut writes = vec![
            ToWrite::result(&segments_file, segments),
            ToWrite::result(&asked.out, text(&track, &line, &origin, &name)),
        ];
        writes.extend(columns.into_iter().map(|(_, write)| write));
        notes.extend(words(&found, &line, !asked.banks.is_empty()));
        if asked.line.is_some() {
            notes.push(said("the line of least curvature on the road given: an approximation; the quickest line brakes later and is a little tighter"));
        }
        let lap = self
            .car
            .as_ref()
            .and_then(|car| track_doubt(&car.car, &track, &line, LINES).map(|doubt| (car.file.name.clone(), doubt)));
        if self.car.is_some() && lap.is_none() {
            notes.push(said("this car can't lap the course: what its lap time is worth is left out"));
        }
        let (survey, file) = (found, asked.out.clone());
        Ok(Answer { track, survey, line, built, lap, notes, file, segments_file, writes, origin })
    }

    /// What the columns of each log are; a file that its owner wrote has been read, and stays as it is.
    fn columns(&self, found: &Survey) -> Vec<(usize, ToWrite)> {
        let mut all = Vec::new();
        for (i, mapping) in &found.mappings {
            let (text, read) = (mapping.text(), self.beside[*i].clone());
            let first = text.lines().next().unwrap_or_default().as_bytes();
            if read.as_ref().is_none_or(|old| old.starts_with(first)) {
                let path = mapping_file(&self.question.files[*i]);
                all.push((*i, ToWrite { path, read, bytes: text.into_bytes() }));
            }
        }
        all
    }
}

/// How far the line may go to the left and to the right at each node.
fn room(width: Width, line: &Line, found: &Survey, asked: &Question) -> Result<(Vec<f64>, Vec<f64>), Asked> {
    let n = line.points.len();
    match width {
        Width::Even(w) => Ok((vec![0.5 * w; n], vec![0.5 * w; n])),
        Width::Columns if found.widths.is_empty() => {
            Err(Asked::NoWidths { path: asked.files.first().cloned().unwrap_or_default() })
        }
        Width::Columns => {
            let near = |p: &[f64; 2]| {
                let off = |w: &[f64; 4]| (w[0] - p[0]).hypot(w[1] - p[1]);
                let all = found.widths.iter().min_by(|a, b| off(a).total_cmp(&off(b)));
                all.map_or((0.0, 0.0), |w| ((w[2] - HALF_CAR).max(0.05), (w[3] - HALF_CAR).max(0.05)))
            };
            Ok(line.points.iter().map(near).unzip())
        }
    }
}

fn bank(track: &mut Track, banks: &[[f64; 3]]) -> Result<(), Asked> {
    for &[from, to, degrees] in banks {
        let length_m = track.length();
        if from.max(to) > length_m + NEAR_END || (from > to && !track.closed) {
            return Err(Asked::BankOff { from, to, length_m });
        }
        track.bank(from.min(length_m), to.min(length_m), degrees.to_radians());
    }
    Ok(())
}

/// Named points: those that were told, then those of the files.
fn named_places(asked: &Question, found: &Survey) -> Vec<(String, [f64; 2])> {
    let xy = |[a, b]: [f64; 2]| found.plane.map_or([a, b], |p| p.to_xy(a, b));
    let told = asked.places.iter().map(|(name, at)| (name.clone(), xy(*at)));
    told.chain(found.places.iter().cloned()).collect()
}

/// Names corners and straights; says which names found none.
fn name(track: &mut Track, line: &Line, places: &[(String, [f64; 2])]) -> Vec<Note> {
    let mut notes = Vec::new();
    for (name, at) in places {
        let off = |i: usize| (line.points[i][0] - at[0]).hypot(line.points[i][1] - at[1]);
        let Some(i) = (0..line.points.len()).min_by(|a, b| off(*a).total_cmp(&off(*b))) else { continue };
        let text = if off(i) > NAMES {
            format!("{name}: {:.0} m from the line, names no place of it", off(i))
        } else {
            let s = i as f64 * line.step_m * track.length() / line.length_m();
            track.name_at(s, name);
            format!("{name}: at {s:.0} m")
        };
        notes.push(said(text));
    }
    notes
}

/// Where the track comes from, in words.
fn origin(asked: &Question, found: &Survey, line: &Line) -> Vec<String> {
    let from: Vec<String> =
        asked.files.iter().map(|f| f.file_name().unwrap_or_default().to_string_lossy().into_owned()).collect();
    let runs = found.runs.len();
    vec![
        format!("Made by `unladen course from {}`.", from.join(" ")),
        format!(
            "{} positions in {runs} run{}, {:.2} m noise; curvature known to {:.4} 1/m (one standard deviation, mean).",
            line.used,
            if runs == 1 { "" } else { "s" },
            line.noise_m,
            mean(&line.kappa_sd)
        ),
        if asked.line.is_some() {
            "The line of least curvature within a given width: an approximation of a driven line.".to_string()
        } else if found.outline {
            "A map's line, not a driven one.".into()
        } else {
            "The mean of the driven lines.".to_string()
        },
    ]
}

fn text(track: &Track, line: &Line, origin: &[String], segments_file: &str) -> String {
    let altitude = line.z.as_ref().map(|z| mean(z));
    let (name, closed, start_speed) = (&track.name, track.closed, track.start_speed);
    TrackText { name, closed, start_speed, segments_file, origin, altitude }.toml()
}

/// What is written is read first: a course is a track that every other command takes.
fn sound(toml: &str, segments: &str) -> Result<(), FileErrors> {
    let source = Source::new("the track", toml);
    let beside = |_: &str| Ok(Source::new("its segments", segments));
    parse_track(&source, &Overrides::none(), None, beside).map(drop)
}

fn mean(all: &[f64]) -> f64 {
    all.iter().sum::<f64>() / all.len().max(1) as f64
}

fn stem(path: &Path) -> String {
    path.file_stem().map_or("course".into(), |s| s.to_string_lossy().into_owned())
}
