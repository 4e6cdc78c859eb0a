//! Trials: a test planned, its prediction sealed, its laps read, and the diary of all.

use std::path::{Path, PathBuf};
use std::time::{SystemTime, UNIX_EPOCH};

use pyo3::exceptions::PyOSError;
use pyo3::prelude::*;
use unladen_garage::argument::SCATTER;
use unladen_garage::trial::sealed::order_of;
use unladen_garage::{Span, between, day};
use unladen_questions::Disk;
use unladen_questions::read::project::car_file;
use unladen_questions::trial::change::Change;
use unladen_questions::trial::plan::{Answer as Planned, Driver, Question};
use unladen_questions::trial::{Stamp, diary as diaries, folder, read as readings};
use unladen_report::files::lock::Lock;
use unladen_report::files::write::{WriteError, replace_whole, write_whole};
use unladen_report::page::trial::plan_page;
use unladen_report::trial::diary_text::diary_text;
use unladen_report::trial::json::{diary_json, plan_json, read_json};
use unladen_report::trial::picture::read_picture;
use unladen_report::trial::plan_text::plan_text;
use unladen_report::trial::read_text::read_text;
use unladen_report::trial::reliability::reliability;
use unladen_study::trial::scatter::Scatter;
use unladen_study::uncertainty::paired::Sampling;

use crate::ask::answer::{Answer, Said};
use crate::car::Car;
use crate::fault::{ask, failure, none, refused, unlikely};
use crate::held::Held;
use crate::track::Track;
use crate::value::{Value, place, settings, within};
use crate::work::{long, short};

const VERSION: &str = env!("CARGO_PKG_VERSION");
/// Ballast, kg: with more no mount should be trusted.
const BALLAST: Span = Span { unit: "kg", ..between(0.0, 500.0) };

/// Today, days since 1970-01-01, by the machine's clock (UTC).
fn today() -> i64 {
    SystemTime::now().duration_since(UNIX_EPOCH).map_or(0, |t| (t.as_secs() / 86_400) as i64)
}

fn unwritten(error: &WriteError) -> PyErr {
    PyOSError::new_err(error.to_string())
}

/// Within these, both of them too.
fn from_to(least: f64, most: f64) -> Span {
    Span { open: false, ..between(least, most) }
}

/// What is tested, and the day: the arguments of `plan` and `seal`.
#[derive(FromPyObject)]
#[pyo3(from_item_all)]
pub struct What {
    change: Vec<String>,
    with_: Option<Py<PyAny>>,
    item: Option<String>,
    to: Option<[Value; 3]>,
    ballast: Option<Value>,
    at: Option<[Value; 3]>,
    lap_spread: f64,
    spread_laps: Option<u32>,
    spread_from: Vec<PathBuf>,
    hours: f64,
    change_minutes: f64,
    stop_minutes: f64,
    order: Option<String>,
    laps: Option<u16>,
    burn: Option<Value>,
    samples: u32,
    seed: u64,
}

impl What {
    fn change(&self, py: Python<'_>) -> PyResult<Change> {
        let set = settings(self.with_.as_ref().map(|set| set.bind(py)))?;
        let at = |name: &str, at: &Option<[Value; 3]>| at.as_ref().map(|at| place(py, name, at)).transpose();
        let given = [!self.change.is_empty(), !set.is_empty(), self.item.is_some(), self.ballast.is_some()];
        if given.iter().filter(|given| **given).count() != 1 {
            return Err(refused(py, "one of change, with_, item and ballast is due: what is fitted in runs B"));
        }
        if self.item.is_some() != self.to.is_some() || self.ballast.is_none() && self.at.is_some() {
            return Err(refused(py, "item goes with to, where it is put, and at with ballast"));
        }
        Ok(match (&self.item, &self.ballast) {
            (Some(item), _) => Change::Moved { item: item.clone(), to: at("to", &self.to)?.unwrap_or_default() },
            (_, Some(kg)) => Change::Ballast { mass: kg.measured(py, "ballast", BALLAST)?, at: at("at", &self.at)? },
            _ if set.is_empty() => Change::Rows(self.change.clone()),
            _ => Change::Set(set),
        })
    }

    /// The question, and the files of it: logs are read from the disk.
    fn question(&self, py: Python<'_>, car: &Car, track: &Track) -> PyResult<(Held, Question)> {
        let (held, scene) = Held::scene(&car.0, &[(track.0.clone(), 1.0)]);
        let count = |name: &str, n: u32, least: u32, most: u32| match (least..=most).contains(&n) {
            true => Ok(n),
            false => Err(refused(py, &format!("{name}: {n} is outside {least} … {most}"))),
        };
        let order = |text: &String| {
            let wrong = || refused(py, &format!("order: {text}: both A and B with hyphens between are due, A-B-B-A"));
            order_of(text).ok_or_else(wrong)
        };
        let driver = match self.spread_from.is_empty() {
            true => {
                let laps = self.spread_laps.map(|n| count("spread_laps", n, 2, 100_000)).transpose()?;
                Driver::Said(Scatter::said(within(py, "lap_spread", self.lap_spread, SCATTER)?, laps))
            }
            false => Driver::Logged(self.spread_from.clone()),
        };
        let burn = Span { unit: "kg", ..from_to(0.0, 200.0) };
        let laps = self.laps.map(|n| count("laps", n.into(), 1, 200)).transpose()?;
        let question = Question {
            scene,
            change: self.change(py)?,
            driver,
            day_s: 3600.0 * within(py, "hours", self.hours, from_to(0.1, 100.0))?,
            change_s: 60.0 * within(py, "change_minutes", self.change_minutes, from_to(0.0, 2000.0))?,
            stop_s: 60.0 * within(py, "stop_minutes", self.stop_minutes, from_to(0.0, 2000.0))?,
            order: self.order.as_ref().map(order).transpose()?,
            laps: laps.map(|n| n as usize),
            burn_kg: self.burn.as_ref().map(|kg| kg.exact(py, "burn", burn)).transpose()?,
            sampling: Sampling {
                seed: self.seed,
                samples: count("samples", self.samples, 16, 1_000_000)? as usize,
                all: false,
            },
        };
        Ok((held.with_logs(&self.spread_from), question))
    }

    fn planned(&self, py: Python<'_>, car: &Car, track: &Track) -> PyResult<Planned> {
        let (held, question) = self.question(py, car, track)?;
        let planned = long(py, move || question.ask(&held))?.map_err(|why| failure(py, &why))?;
        unlikely(py, &planned.warnings)?;
        Ok(planned)
    }
}

fn answer(py: Python<'_>, planned: &Planned) -> PyResult<Answer> {
    let said = Said {
        brief: plan_text(planned, false),
        whole: plan_text(planned, true),
        json: plan_json(planned),
        picture: None,
        warnings: planned.warnings.clone(),
    };
    Answer::said(py, "trial plan", said)
}

/// Can a day show what a change is worth: see `unladen.trial.plan`.
#[pyfunction]
#[pyo3(name = "_plan", signature = (car, track, what, sheet))]
pub fn plan(py: Python<'_>, car: &Car, track: &Track, what: What, sheet: Option<PathBuf>) -> PyResult<Answer> {
    let planned = what.planned(py, car, track)?;
    if let Some(path) = sheet {
        let page = short(py, || plan_page(&planned, VERSION).html())?;
        write_whole(&path, page.as_bytes()).map_err(|e| unwritten(&e))?;
    }
    answer(py, &planned)
}

/// Seals the prediction before the laps: see `unladen.trial.seal`.
#[pyfunction]
#[pyo3(name = "_seal", signature = (car, track, what, name, date))]
pub fn seal(
    py: Python<'_>,
    car: &Car,
    track: &Track,
    what: What,
    name: String,
    date: Option<String>,
) -> PyResult<(PathBuf, Answer)> {
    let today = today();
    let due =
        |text: &String| day(text).ok_or_else(|| refused(py, &format!("date: {text}: 2026-03-14 is of this form")));
    let on = date.as_ref().map(due).transpose()?.unwrap_or(today);
    let planned = what.planned(py, car, track)?;
    let stamp = Stamp { name, day: on, today, version: VERSION.into() };
    let file = planned.seal(&Disk, &car.0.texts.path, &stamp).map_err(|why| ask(py, &why))?;
    if let Some(folder) = file.path.parent() {
        std::fs::create_dir_all(folder)?;
    }
    replace_whole(&file.path, None, &file.bytes).map_err(|e| unwritten(&e))?;
    Ok((file.path, answer(py, &planned)?))
}

/// Reads laps against a sealed prediction: see `unladen.trial.read`.
#[pyfunction]
#[pyo3(name = "_read", signature = (car, trial, laps, times, logs, track, keep, into))]
#[allow(clippy::too_many_arguments)]
pub fn read(
    py: Python<'_>,
    car: &Car,
    trial: PathBuf,
    laps: Option<PathBuf>,
    times: Option<String>,
    logs: Vec<(PathBuf, String)>,
    track: Option<PathBuf>,
    keep: bool,
    into: Option<PathBuf>,
) -> PyResult<Answer> {
    let fitted = |(path, side): (PathBuf, String)| match side.as_str() {
        "A" | "a" => Ok((path, false)),
        "B" | "b" => Ok((path, true)),
        _ => Err(refused(py, &format!("logs: {}: A or B is due, not {side}", path.display()))),
    };
    let laps = match (laps, times, logs.is_empty()) {
        (Some(path), None, true) => readings::Given::Sheet(path),
        (None, Some(line), true) => readings::Given::Typed(line),
        (None, None, false) => readings::Given::Logs(logs.into_iter().map(fitted).collect::<PyResult<_>>()?),
        _ => return Err(refused(py, "one of laps, times and logs is due")),
    };
    let question = readings::Question { car: car.0.texts.path.clone(), trial, laps, track, today: today() };
    let found = long(py, move || question.ask(&Disk))?.map_err(|why| failure(py, &why))?;
    let said = Said {
        brief: read_text(&found, false),
        whole: read_text(&found, true),
        json: read_json(&found),
        picture: Some(short(py, || read_picture(&found))?),
        warnings: Vec::new(),
    };
    let answer = Answer::said(py, "trial read", said)?;
    if keep {
        let kept = found.keep(&Disk).map_err(|why| ask(py, &why))?;
        replace_whole(&kept.path, None, &kept.bytes).map_err(|e| unwritten(&e))?;
    }
    if let Some(path) = into.filter(|_| !found.learnt.is_empty()) {
        py.detach(|| learnt(&found, &path))?.map_err(|why| failure(py, &why))?;
    }
    Ok(answer)
}

/// What was learnt goes into a car's file, while nobody else edits it.
fn learnt(found: &readings::Answer, car: &Path) -> PyResult<Result<(), unladen_questions::Failure>> {
    let path = car_file(&Disk, car);
    let _lock = Lock::of(&path, || ()).map_err(|e| unwritten(&e))?;
    match found.into_car(&Disk, car) {
        Ok(write) => {
            replace_whole(&write.path, write.read.as_deref(), &write.bytes).map_err(|e| unwritten(&e))?;
            Ok(Ok(()))
        }
        Err(why) => Ok(Err(none(why, Vec::new()))),
    }
}

/// All trials of a car: see `unladen.trial.diary`.
#[pyfunction]
#[pyo3(name = "_diary")]
pub fn diary(py: Python<'_>, car: &Car) -> PyResult<Answer> {
    let entries = std::fs::read_dir(folder(&Disk, &car.0.texts.path));
    let mut trials: Vec<PathBuf> = entries.into_iter().flatten().filter_map(|e| Some(e.ok()?.path())).collect();
    trials.retain(|path| path.extension().is_some_and(|end| end == "toml"));
    trials.sort();
    Answer::asked(py, "trial diary", move || {
        let answer = diaries::Question { trials, today: today() }.ask(&Disk)?;
        let text = diary_text(&answer);
        let picture = answer.diary.as_ref().map(|_| reliability(&answer));
        let json = diary_json(&answer);
        Ok(Said { brief: text.clone(), whole: text, json, picture, warnings: Vec::new() })
    })
}
