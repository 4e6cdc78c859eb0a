//! `unladen trial plan` and `seal`.

use std::fs;
use std::path::PathBuf;
use std::process::ExitCode;

use clap::ArgGroup;
use unladen_garage::argument::SCATTER;
use unladen_garage::trial::sealed::order_of;
use unladen_garage::{Measured, argument};
use unladen_questions::Scene;
use unladen_questions::trial::Stamp;
use unladen_questions::trial::change::Change;
use unladen_questions::trial::plan::{Answer, Driver, Question};
use unladen_report::files::write::{check_destination, replace_whole, write_whole};
use unladen_report::page::trial::plan_page;
use unladen_report::trial::json::plan_json;
use unladen_report::trial::plan_text::{plan_text, verdict};
use unladen_study::trial::scatter::Scatter;
use unladen_study::uncertainty::paired::Sampling;

use crate::commands::trial::{date, today};
use crate::disk::DISK;
use crate::error::{CliError, Output, Usage};
use crate::output::{failed, note, say, warn};

/// What is tested, and the day.
#[derive(Debug, clap::Args)]
#[command(group(ArgGroup::new("what").required(true).args(["change", "with", "item", "ballast"])))]
pub struct What {
    /// A car: its car.toml, or the folder that holds one
    pub car: PathBuf,
    /// The track: its TOML file
    pub track: PathBuf,
    /// Test a row of the ledger; repeatable, for rows that go together
    #[arg(long, value_name = "ROW")]
    pub change: Vec<String>,
    /// Test another value of the car's file, with its unit; repeatable
    #[arg(long, value_name = "KEY=VALUE")]
    pub with: Vec<String>,
    /// Test moving this: `fuel tank`, or an item of the ledger that is in the car
    #[arg(long, value_name = "NAME", requires = "to")]
    pub item: Option<String>,
    /// Where it goes, mm behind the front axle, right of the middle, above ground
    #[arg(long, value_name = "X,Y,Z", allow_hyphen_values = true, requires = "item")]
    pub to: Option<String>,
    /// Test the scale: this much ballast, "60 kg"
    #[arg(long, value_name = "MASS")]
    pub ballast: Option<String>,
    /// Where it is tied down, mm [default: where a passenger sits]
    #[arg(long, value_name = "X,Y,Z", allow_hyphen_values = true, requires = "ballast")]
    pub at: Option<String>,
    /// Scatter of your laps, one standard deviation, in s; assumed where left out, no source
    #[arg(long, value_name = "SECONDS", default_value_t = 0.3, value_parser = spread, allow_negative_numbers = true)]
    pub lap_spread: f64,
    /// From so many laps it is known [default: exactly]
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(2..=100_000))]
    pub spread_laps: Option<u32>,
    /// Take the scatter from logged laps instead; repeatable, a run a log
    #[arg(long, value_name = "LOG", conflicts_with_all = ["lap_spread", "spread_laps"])]
    pub spread_from: Vec<PathBuf>,
    /// How long the track is yours
    #[arg(long, value_name = "HOURS", default_value_t = 4.0, value_parser = hours)]
    pub hours: f64,
    /// Minutes to fit or take off the change
    #[arg(long, value_name = "MINUTES", default_value_t = 20.0, value_parser = minutes)]
    pub change_takes: f64,
    /// Minutes of a stop without a change
    #[arg(long, value_name = "MINUTES", default_value_t = 5.0, value_parser = minutes)]
    pub stop_takes: f64,
    /// What is fitted, run by run, A without the change, B with it [default: what shows it in the least time]
    #[arg(long, value_name = "A-B-B-A", value_parser = order)]
    pub order: Option<Order>,
    /// Flying laps a run [default: as many as it takes]
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=200))]
    pub laps: Option<u16>,
    /// Fuel burnt a lap [default: by the work of a lap]
    #[arg(long, value_name = "MASS", value_parser = burn)]
    pub burn: Option<f64>,
    /// Draws at most, where slopes do not hold
    #[arg(long, value_name = "N", default_value_t = 500, value_parser = clap::value_parser!(u32).range(16..=1_000_000))]
    pub samples: u32,
    /// The same seed gives the same draws
    #[arg(long, value_name = "N", default_value_t = 1)]
    pub seed: u64,
    /// Change a value of the car's or the track's file for both sides, with its unit; repeatable
    #[arg(long = "set", value_name = "KEY=VALUE")]
    pub set: Vec<String>,
    /// The day's grip in place of the track's: 1 dry, about 0.6 wet
    #[arg(long, value_name = "FACTOR", allow_negative_numbers = true)]
    pub grip: Option<f64>,
    /// Distance between the solver's stations, about
    #[arg(long, value_name = "METRES", default_value_t = unladen_lap::STEP_M, value_parser = crate::args::step, allow_negative_numbers = true)]
    pub step: f64,
    /// Write the run sheet to this file, to be printed
    #[arg(long, value_name = "FILE.html")]
    pub sheet: Option<PathBuf>,
    /// Print JSON, SI, in place of text
    #[arg(long)]
    pub json: bool,
}

/// `unladen trial plan`.
#[derive(Debug, clap::Args)]
pub struct PlanArgs {
    #[command(flatten)]
    pub what: What,
    /// All of it: where on the lap, how to drive, what is left out
    #[arg(long)]
    pub detail: bool,
}

/// `unladen trial seal`.
#[derive(Debug, clap::Args)]
pub struct SealArgs {
    #[command(flatten)]
    pub what: What,
    /// What the trial is called
    #[arg(long)]
    pub name: String,
    /// The day of the laps, 2026-03-14 [default: today]
    #[arg(long, value_parser = date)]
    pub date: Option<i64>,
}

/// Shown with `--help`.
pub const PLAN: &str = "Examples:\n  \
    unladen trial plan vehicles/saloon-awd tracks/airfield.toml --change bonnet --change \"bonnet pins\" --sheet sheet.html\n  \
    unladen trial plan vehicles/saloon-awd tracks/airfield.toml --with \"aero.drag_area=0.65 m2\" --hours 6 --lap-spread 0.2\n  \
    unladen trial plan vehicles/saloon-awd tracks/airfield.toml --ballast 60kg";
/// Shown with `--help`.
pub const SEAL: &str = "Example:  unladen trial seal vehicles/saloon-awd tracks/airfield.toml --ballast 60kg --name scale --date 2030-03-14";

/// An order of runs.
#[derive(Clone, Debug)]
pub struct Order(Vec<bool>);

fn order(text: &str) -> Result<Order, String> {
    order_of(text).map(Order).ok_or_else(|| "both A and B with hyphens between are due, for example A-B-B-A".into())
}

fn spread(text: &str) -> Result<f64, String> {
    argument(text, SCATTER).map_err(|why| format!("seconds are due, for example 0.4: {why}"))
}

fn number(text: &str, unit: &str, least: f64, most: f64) -> Result<f64, String> {
    let bare = text.trim().trim_end_matches(unit).trim_end();
    let found = bare.parse::<f64>().ok().filter(|x| (least..=most).contains(x));
    found.ok_or_else(|| format!("{least} to {most} {unit} are possible"))
}

fn hours(text: &str) -> Result<f64, String> {
    number(text, "h", 0.1, 100.0)
}

fn minutes(text: &str) -> Result<f64, String> {
    number(text, "min", 0.0, 2000.0)
}

fn burn(text: &str) -> Result<f64, String> {
    number(text, "kg", 0.0, 200.0)
}

/// Ballast, kg where no unit is written.
fn mass(given: &str) -> Result<Measured, Usage> {
    let text = given.trim();
    let bare = text.chars().all(|c| !c.is_alphabetic());
    let read = Measured::read(&if bare { format!("{text} kg") } else { text.to_owned() }, "kg");
    let wrong = |why: String| Usage::MassGiven { given: given.into(), why };
    match read {
        Ok(m) if m.value > 0.0 && m.value <= 500.0 => Ok(m),
        Ok(_) => Err(wrong("more than 0, 500 kg at most".into())),
        Err(why) => Err(wrong(why.to_string())),
    }
}

fn position(given: &str) -> Result<[f64; 3], Usage> {
    unladen_garage::position(given).map_err(|why| Usage::Position { given: given.into(), why })
}

impl What {
    fn question(&self) -> Result<Question, CliError> {
        let change = match (&self.item, &self.to, &self.ballast) {
            (Some(item), Some(to), _) => Change::Moved { item: item.clone(), to: position(to)? },
            (_, _, Some(kg)) => Change::Ballast { mass: mass(kg)?, at: self.at.as_deref().map(position).transpose()? },
            _ if self.with.is_empty() => Change::Rows(self.change.clone()),
            _ => Change::Set(self.with.clone()),
        };
        let scene = Scene {
            set: self.set.clone(),
            grip: self.grip,
            step_m: self.step,
            ..Scene::new(self.car.clone(), [self.track.clone()])
        };
        Ok(Question {
            scene,
            change,
            driver: match self.spread_from.is_empty() {
                true => Driver::Said(Scatter::said(self.lap_spread, self.spread_laps)),
                false => Driver::Logged(self.spread_from.clone()),
            },
            day_s: 3600.0 * self.hours,
            change_s: 60.0 * self.change_takes,
            stop_s: 60.0 * self.stop_takes,
            order: self.order.as_ref().map(|o| o.0.clone()),
            laps: self.laps.map(usize::from),
            burn_kg: self.burn,
            sampling: Sampling { seed: self.seed, samples: self.samples as usize, all: false },
        })
    }

    /// Plans, and writes the run sheet.
    fn answer(&self) -> Result<Answer, CliError> {
        if let Some(path) = &self.sheet {
            if path.extension().is_none_or(|e| !e.eq_ignore_ascii_case("html")) {
                return Err(Usage::PageName { path: path.clone() }.into());
            }
            check_destination(path)?;
        }
        let ready = self.question()?.read(&DISK).map_err(failed)?;
        warn(&ready.warnings);
        let answer = ready.answer()?;
        answer.notes.iter().for_each(|n| note(&format!("{n}\n")));
        if let Some(path) = &self.sheet {
            write_whole(path, plan_page(&answer, VERSION).html().as_bytes())?;
            note(&format!("{} is written\n", path.display()));
        }
        Ok(answer)
    }
}

const VERSION: &str = env!("CARGO_PKG_VERSION");

/// Plans.
pub fn plan(args: &PlanArgs) -> Result<ExitCode, CliError> {
    let answer = args.what.answer()?;
    say(&if args.what.json { plan_json(&answer)? } else { plan_text(&answer, args.detail) })?;
    Ok(ExitCode::SUCCESS)
}

/// Plans and seals.
pub fn seal(args: &SealArgs) -> Result<ExitCode, CliError> {
    let answer = args.what.answer()?;
    let today = today();
    let stamp = Stamp { name: args.name.clone(), day: args.date.unwrap_or(today), today, version: VERSION.into() };
    let file = answer.seal(&DISK, &args.what.car, &stamp)?;
    if let Some(folder) = file.path.parent() {
        fs::create_dir_all(folder).map_err(|source| Output::NoFolder { path: folder.to_owned(), source })?;
    }
    replace_whole(&file.path, None, &file.bytes)?;
    note(&format!("{}: the prediction is sealed; any edit will be seen\n", file.path.display()));
    say(&if args.what.json { plan_json(&answer)? } else { format!("{}\n", verdict(&answer)) })?;
    Ok(ExitCode::SUCCESS)
}
