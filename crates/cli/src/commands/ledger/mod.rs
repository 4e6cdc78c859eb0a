//! `unladen ledger`: where the mass budget stands.

pub mod edit;

use std::path::PathBuf;
use std::process::ExitCode;

use unladen_questions::ledger::Question;
use unladen_report::draw::look::Paper;
use unladen_report::draw::picture::{check_plot, save_plot};
use unladen_report::files::write::{check_destination, write_whole};
use unladen_report::ledger::brief::budget_brief;
use unladen_report::ledger::dated::burn_down;
use unladen_report::ledger::json::{budget_csv, budget_json};
use unladen_report::ledger::text::budget_text;
use unladen_report::ledger::waterfall::waterfall;
use unladen_report::words::brief::Length;

use crate::commands::ledger::edit::{AddArgs, DoneArgs, UndoArgs};
use crate::disk::DISK;
use crate::error::CliError;
use crate::output::{failed, say, warn};

/// `unladen ledger`.
#[derive(Debug, clap::Args)]
#[command(args_conflicts_with_subcommands = true, subcommand_negates_reqs = true)]
pub struct LedgerArgs {
    #[command(subcommand)]
    pub edit: Option<Edits>,
    /// A car: its car.toml, or the folder that holds one; its ledger.csv is beside it
    #[arg(required = true)]
    pub car: Option<PathBuf>,
    /// Change a value of the car's file for this run, with its unit; repeatable
    #[arg(long = "set", value_name = "KEY=VALUE")]
    pub set: Vec<String>,
    /// Print JSON, SI, in place of text
    #[arg(long)]
    pub json: bool,
    /// Write the way there, row by row, to this file
    #[arg(long, value_name = "FILE")]
    pub csv: Option<PathBuf>,
    /// Draw kilograms against dates to this file, .svg or .png
    #[arg(long, value_name = "FILE")]
    pub plot: Option<PathBuf>,
    /// Draw the way from the car as it stands to the target, plan by plan, to this file, .svg or .png
    #[arg(long, value_name = "FILE")]
    pub waterfall: Option<PathBuf>,
}

/// Edits of a ledger.
#[derive(Debug, clap::Subcommand)]
pub enum Edits {
    /// Add a row at the end of the ledger
    Add(Box<AddArgs>),
    /// Mark a row done
    Done(DoneArgs),
    /// Take back the last edit, to the byte; or, with an item, mark that planned again
    Undo(UndoArgs),
}

/// Shown with `--help`.
pub const HELP: &str = "Examples:\n  unladen ledger vehicles/saloon-awd --plot burn.svg\n  \
    unladen ledger done vehicles/saloon-awd \"bonnet pins\" --date 2026-05-01\n  \
    unladen ledger add vehicles/saloon-awd \"horn\" --before \"0.9 kg\" --before-at=-600,0,400 --area nose\n  \
    unladen ledger add vehicles/saloon-awd \"light wheels\" --before 76kg --after 66kg --turning-radius 210mm --area wheels\n  \
    unladen ledger undo vehicles/saloon-awd";

/// Says where the budget stands, or edits it.
pub fn run(args: &LedgerArgs, length: Length) -> Result<ExitCode, CliError> {
    match (&args.edit, &args.car) {
        (Some(Edits::Add(add)), _) => edit::add(add),
        (Some(Edits::Done(done)), _) => edit::done(done),
        (Some(Edits::Undo(undo)), _) => edit::undo(undo),
        (None, Some(car)) => report(args, car, length),
        // clap asks for one of them.
        (None, None) => Ok(ExitCode::from(2)),
    }
}

fn report(args: &LedgerArgs, car: &std::path::Path, length: Length) -> Result<ExitCode, CliError> {
    if let Some(path) = &args.csv {
        check_destination(path)?;
    }
    for path in [&args.plot, &args.waterfall].into_iter().flatten() {
        check_plot(path)?;
    }
    let question = Question { car: car.to_owned(), set: args.set.clone() };
    let ready = question.read(&DISK).map_err(failed)?;
    warn(&ready.warnings);
    let answer = ready.answer()?;
    let printed = match length {
        _ if args.json => budget_json(&answer)?,
        Length::Brief => budget_brief(&answer),
        Length::Whole => budget_text(&answer),
    };
    if let Some(path) = &args.csv {
        write_whole(path, &budget_csv(&answer)?)?;
    }
    if let Some(path) = &args.plot {
        save_plot(path, || burn_down(&answer, Paper::FILE))?;
    }
    if let Some(path) = &args.waterfall {
        save_plot(path, || waterfall(&answer, Paper::FILE))?;
    }
    say(&printed)?;
    Ok(ExitCode::SUCCESS)
}
