//! `unladen trial`: a test planned, sealed before the laps, read from them, and the diary of all.

mod diary;
mod plan;
mod read;

use std::process::ExitCode;
use std::time::{SystemTime, UNIX_EPOCH};

use clap::Subcommand;
use unladen_garage::day;

use crate::error::CliError;

/// `unladen trial`.
#[derive(Debug, clap::Args)]
pub struct TrialArgs {
    /// What
    #[command(subcommand)]
    pub command: TrialCommand,
}

/// What is done with a trial.
#[derive(Debug, Subcommand)]
pub enum TrialCommand {
    /// Can a day show what a change is worth? The order to drive, a run sheet, else a scale test that shows
    #[command(after_help = plan::PLAN)]
    Plan(Box<plan::PlanArgs>),
    /// Seal the prediction before the laps, in the car's folder of trials
    #[command(after_help = plan::SEAL)]
    Seal(Box<plan::SealArgs>),
    /// Read the laps against the sealed prediction
    #[command(after_help = read::HELP)]
    Read(read::ReadArgs),
    /// All trials of a car: how many predictions held, and whether they are too sure
    #[command(after_help = diary::HELP)]
    Diary(diary::DiaryArgs),
}

/// Shown with `--help`.
pub const HELP: &str = "Example, a season's first:\n  \
    unladen trial plan vehicles/saloon-awd tracks/airfield.toml --change bonnet --change \"bonnet pins\" --sheet sheet.html\n  \
    unladen trial seal vehicles/saloon-awd tracks/airfield.toml --ballast 60kg --name scale\n  \
    unladen trial read vehicles/saloon-awd 2026-03-14-scale --times \"A 76.1 76.3 76.0 | B 76.8 76.6 76.9 | B 76.7 76.8 76.6 | A 76.2 76.0 76.1\"";

/// Does it.
pub fn run(args: &TrialArgs) -> Result<ExitCode, CliError> {
    match &args.command {
        TrialCommand::Plan(args) => plan::plan(args),
        TrialCommand::Seal(args) => plan::seal(args),
        TrialCommand::Read(args) => read::run(args),
        TrialCommand::Diary(args) => diary::run(args),
    }
}

/// Today, days since 1970-01-01, by the machine's clock (UTC).
pub(crate) fn today() -> i64 {
    SystemTime::now().duration_since(UNIX_EPOCH).map_or(0, |t| (t.as_secs() / 86_400) as i64)
}

/// A date that was typed.
fn date(text: &str) -> Result<i64, String> {
    day(text).ok_or_else(|| "a date is due, for example 2026-03-14".into())
}
