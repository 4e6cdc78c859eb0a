//! `unladen weigh`: scale readings to mass, CG and their uncertainty.

use std::path::{Path, PathBuf};
use std::process::ExitCode;

use unladen_questions::read::project::car_file;
use unladen_questions::weigh::{Answer, Question, reconcile};
use unladen_report::draw::picture::{check_plot, save_plot};
use unladen_report::files::lock::Lock;
use unladen_report::files::write::replace_whole;
use unladen_report::weigh::brief::weigh_brief;
use unladen_report::weigh::picture::weigh_picture;
use unladen_report::weigh::reconcile::{reconcile_brief, reconcile_json, reconcile_text};
use unladen_report::weigh::text::{weigh_json, weigh_text};
use unladen_report::words::brief::Length;

use crate::disk::DISK;
use crate::error::CliError;
use crate::output::{failed, note, say, waiting, warn};

/// `unladen weigh`.
#[derive(Debug, clap::Args)]
pub struct WeighArgs {
    /// Scale readings: a TOML file
    pub readings: PathBuf,
    /// Compare with the car's ledger: what it says against what the scales say
    #[arg(long, value_name = "CAR", conflicts_with_all = ["into", "plot"])]
    pub against: Option<PathBuf>,
    /// Write the result into the `[mass]` block of this car
    #[arg(long, value_name = "CAR")]
    pub into: Option<PathBuf>,
    /// Print JSON, SI, in place of text
    #[arg(long)]
    pub json: bool,
    /// Draw the error budget to this file, .svg or .png
    #[arg(long, value_name = "FILE")]
    pub plot: Option<PathBuf>,
}

/// Shown with `--help`.
pub const HELP: &str = "Examples:\n  unladen weigh vehicles/saloon-awd/readings.toml --plot weighing.svg\n  \
    unladen weigh vehicles/saloon-awd/reweigh.toml --against vehicles/saloon-awd";

/// Solves, prints, draws, writes.
pub fn run(args: &WeighArgs, length: Length) -> Result<ExitCode, CliError> {
    if let Some(path) = &args.plot {
        check_plot(path)?;
    }
    if let Some(car) = &args.against {
        return against(&args.readings, car, args.json, length);
    }
    let ready = Question { readings: args.readings.clone() }.read(&DISK).map_err(failed)?;
    warn(&ready.warnings);
    let answer = ready.answer()?;
    let printed = match length {
        _ if args.json => weigh_json(&answer)?,
        Length::Brief => weigh_brief(&answer),
        Length::Whole => weigh_text(&answer),
    };
    if let Some(path) = &args.plot {
        save_plot(path, || weigh_picture(&answer))?;
    }
    if let Some(car) = &args.into {
        into(car, &answer)?;
    }
    say(&printed)?;
    Ok(ExitCode::SUCCESS)
}

/// The ledger against the scales.
fn against(readings: &Path, car: &Path, json: bool, length: Length) -> Result<ExitCode, CliError> {
    let question = reconcile::Question { readings: readings.to_owned(), car: car.to_owned() };
    let ready = question.read(&DISK).map_err(failed)?;
    warn(&ready.warnings);
    let answer = ready.answer()?;
    say(&match length {
        _ if json => reconcile_json(&answer)?,
        Length::Brief => reconcile_brief(&answer),
        Length::Whole => reconcile_text(&answer),
    })?;
    Ok(ExitCode::SUCCESS)
}

/// Writes the result into a car's file.
fn into(car: &Path, answer: &Answer) -> Result<(), CliError> {
    if answer.found.height.is_none() {
        note("note: no axle was raised, so mass.cg_height is left as it was; it belongs to the weighing before\n");
    }
    let path = car_file(&DISK, car);
    let _lock = Lock::of(&path, || waiting(&path))?;
    let into = answer.into_car(&DISK, car)?;
    let path = &into.write.path;
    replace_whole(path, into.write.read.as_deref(), &into.write.bytes)?;
    if !into.left.is_empty() {
        note(&format!("note: {} has no table for {}; left out\n", path.display(), into.left.join(", ")));
    }
    note(&format!(
        "note: {}: the new weighing is written; rows of the ledger done until then are in it\n",
        path.display()
    ));
    Ok(())
}
