//! `unladen trial read`.

use std::path::{Path, PathBuf};
use std::process::ExitCode;

use clap::ArgGroup;
use unladen_questions::read::project::car_file;
use unladen_questions::trial::read::{Given, Question};
use unladen_report::draw::picture::{check_plot, save_plot};
use unladen_report::files::lock::Lock;
use unladen_report::files::write::replace_whole;
use unladen_report::trial::json::read_json;
use unladen_report::trial::picture::read_picture;
use unladen_report::trial::read_text::read_text;

use crate::commands::trial::today;
use crate::disk::DISK;
use crate::error::{CliError, Usage};
use crate::output::{failed, note, say, waiting};

/// `unladen trial read`.
#[derive(Debug, clap::Args)]
#[command(group(ArgGroup::new("given").required(true).args(["laps", "times", "log"])))]
pub struct ReadArgs {
    /// A car: its car.toml, or the folder that holds one
    pub car: PathBuf,
    /// The sealed trial: its file, or its name in the car's folder of trials
    pub trial: PathBuf,
    /// Laps as a CSV file, a row a lap in the order driven: run, fitted (A or B), lap_time_s; driver, weather, date, clock,
    /// fuel_kg, lap (out, in) where they are known
    #[arg(long, value_name = "FILE.csv")]
    pub laps: Option<PathBuf>,
    /// Laps typed in one line, runs between bars: "A 82.1 82.4 | B 81.9 in 95 | B … | A …"
    #[arg(long, value_name = "LAPS")]
    pub times: Option<String>,
    /// A log of a run, and what was fitted; repeatable, in the order driven
    #[arg(long, value_name = "FILE=A|B")]
    pub log: Vec<String>,
    /// The track's file: where on the lap the difference arose; with logs
    #[arg(long, value_name = "TRACK", requires = "log")]
    pub track: Option<PathBuf>,
    /// Keep the result for the diary, beside the trial
    #[arg(long)]
    pub keep: bool,
    /// Write what the laps teach into this car's file
    #[arg(long, value_name = "CAR")]
    pub into: Option<PathBuf>,
    /// All of it: every lap that counts less, all that is learnt
    #[arg(long)]
    pub detail: bool,
    /// Print JSON, SI, in place of text
    #[arg(long)]
    pub json: bool,
    /// Draw prediction, measurement and laps to this file, .svg or .png
    #[arg(long, value_name = "FILE")]
    pub plot: Option<PathBuf>,
}

/// Shown with `--help`.
pub const HELP: &str = "Examples:\n  \
    unladen trial read vehicles/saloon-awd 2026-03-14-scale --laps laps.csv --plot scale.svg --keep\n  \
    unladen trial read vehicles/saloon-awd 2026-03-14-scale --times \"A 76.1 76.3 76.0 | B 76.8 76.6 76.9 | B 76.7 76.8 76.6 | A 76.2 76.0 76.1\"\n  \
    unladen trial read vehicles/saloon-awd 2026-03-14-scale --log one.csv=A --log two.csv=B --log three.csv=A --track tracks/airfield.toml";

/// `FILE=A`.
fn logged(given: &str) -> Result<(PathBuf, bool), Usage> {
    let wrong = || Usage::LogSide { given: given.into() };
    let (path, side) = given.rsplit_once('=').ok_or_else(wrong)?;
    match side {
        "A" | "a" => Ok((path.into(), false)),
        "B" | "b" => Ok((path.into(), true)),
        _ => Err(wrong()),
    }
}

/// Reads, draws, keeps, writes.
pub fn run(args: &ReadArgs) -> Result<ExitCode, CliError> {
    if let Some(path) = &args.plot {
        check_plot(path)?;
    }
    let laps = match (&args.laps, &args.times) {
        (Some(path), _) => Given::Sheet(path.clone()),
        (_, Some(line)) => Given::Typed(line.clone()),
        _ => Given::Logs(args.log.iter().map(|l| logged(l)).collect::<Result<_, _>>()?),
    };
    let (car, trial, track) = (args.car.clone(), args.trial.clone(), args.track.clone());
    let ready = Question { car, trial, laps, track, today: today() }.read(&DISK).map_err(failed)?;
    let answer = ready.answer(&DISK)?;
    answer.notes.iter().for_each(|n| note(&format!("{n}\n")));
    let printed = if args.json { read_json(&answer)? } else { read_text(&answer, args.detail) };
    if let Some(path) = &args.plot {
        save_plot(path, || read_picture(&answer))?;
    }
    if args.keep {
        let kept = answer.keep(&DISK)?;
        replace_whole(&kept.path, None, &kept.bytes)?;
        note(&format!("{}: the result is kept\n", kept.path.display()));
    }
    if let Some(car) = &args.into {
        into(car, &answer)?;
    }
    say(&printed)?;
    Ok(ExitCode::SUCCESS)
}

/// Writes what was learnt into a car's file.
fn into(car: &Path, answer: &unladen_questions::trial::read::Answer) -> Result<(), CliError> {
    let path = car_file(&DISK, car);
    if answer.learnt.is_empty() {
        note(&format!("note: {}: nothing was learnt of its numbers; left as it is\n", path.display()));
        return Ok(());
    }
    let _lock = Lock::of(&path, || waiting(&path))?;
    let write = answer.into_car(&DISK, car)?;
    replace_whole(&write.path, write.read.as_deref(), &write.bytes)?;
    let keys: Vec<&str> = answer.learnt.iter().map(|m| m.key.as_str()).collect();
    note(&format!("note: {}: {} moved to what the laps say\n", path.display(), keys.join(", ")));
    Ok(())
}
