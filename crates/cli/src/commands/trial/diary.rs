//! `unladen trial diary`.

use std::fs;
use std::path::PathBuf;
use std::process::ExitCode;

use unladen_questions::trial::diary::Question;
use unladen_questions::trial::folder;
use unladen_report::draw::picture::{check_plot, save_plot};
use unladen_report::trial::diary_text::diary_text;
use unladen_report::trial::json::diary_json;
use unladen_report::trial::reliability::reliability;

use crate::commands::trial::today;
use crate::disk::DISK;
use crate::error::CliError;
use crate::output::{failed, say};

/// `unladen trial diary`.
#[derive(Debug, clap::Args)]
pub struct DiaryArgs {
    /// A car: its car.toml, or the folder that holds one
    pub car: PathBuf,
    /// Print JSON, SI, in place of text
    #[arg(long)]
    pub json: bool,
    /// Draw how many of the intervals held to this file, .svg or .png
    #[arg(long, value_name = "FILE")]
    pub plot: Option<PathBuf>,
}

/// Shown with `--help`.
pub const HELP: &str = "Example:  unladen trial diary vehicles/saloon-awd --plot diary.svg";

/// Looks all of them over.
pub fn run(args: &DiaryArgs) -> Result<ExitCode, CliError> {
    if let Some(path) = &args.plot {
        check_plot(path)?;
    }
    let entries = fs::read_dir(folder(&DISK, &args.car));
    let mut trials: Vec<PathBuf> = entries.into_iter().flatten().filter_map(|e| Some(e.ok()?.path())).collect();
    trials.retain(|p| p.extension().is_some_and(|e| e == "toml"));
    trials.sort();
    let answer = Question { trials, today: today() }.ask(&DISK).map_err(failed)?;
    if let Some(path) = &args.plot {
        save_plot(path, || reliability(&answer))?;
    }
    say(&if args.json { diary_json(&answer)? } else { diary_text(&answer) })?;
    Ok(ExitCode::SUCCESS)
}
