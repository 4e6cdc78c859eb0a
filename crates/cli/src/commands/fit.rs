//! `unladen fit`: the model brought to a logged drive.

use std::path::{Path, PathBuf};
use std::process::ExitCode;

use unladen_questions::fit::Question;
use unladen_questions::fit::car::Copy;
use unladen_questions::read::project::car_file;
use unladen_report::draw::picture::{check_plot, save_plot};
use unladen_report::files::write::{check_destination, write_whole};
use unladen_report::fit::brief::fit_brief;
use unladen_report::fit::json::fit_json;
use unladen_report::fit::picture::fitted;
use unladen_report::fit::text::{above_one, fit_text};
use unladen_report::words::brief::Length;

use crate::args::InState;
use crate::commands::course::told;
use crate::disk::DISK;
use crate::error::{CliError, Usage};
use crate::output::{failed, note, say, unmade, warn};
use crate::progress::Working;

/// Example beneath the help.
pub const HELP: &str = "Example:  unladen fit vehicles/saloon-awd tracks/home.toml session.csv --set driver.on_track=82kg \\\n    --out fitted.toml --plot fit.svg\n\
    One lap is held out and predicted: a model is never validated by the laps that it was fitted to.";

/// `unladen fit`.
#[derive(Debug, clap::Args)]
pub struct FitArgs {
    /// A car: its car.toml, or the folder that holds one
    pub car: PathBuf,
    /// A track: its TOML file
    pub track: PathBuf,
    /// The log: CSV, GPX, GeoJSON, KML or a receiver's NMEA sentences, with times
    pub log: PathBuf,
    #[command(flatten)]
    pub stands: InState,
    /// Change a value of the car's or the track's file, with its unit: the mass that day, say; KEY+=, KEY-=, KEY*= shift
    /// it; repeatable
    #[arg(long = "set", value_name = "KEY=VALUE")]
    pub set: Vec<String>,
    /// The day's grip in place of the track's, to start from
    #[arg(long, value_name = "FACTOR")]
    pub grip: Option<f64>,
    /// Which lap of the log is held out; left out, the last flying one with laps before and after it
    #[arg(long, value_name = "LAP")]
    pub hold_out: Option<usize>,
    /// Which column of a CSV holds what, by its name or its number, or `none`; repeatable
    #[arg(long, value_name = "WHAT=COLUMN")]
    pub column: Vec<String>,
    /// The unit of a column, with a minus before it to turn the column round; repeatable
    #[arg(long, value_name = "WHAT=UNIT")]
    pub unit: Vec<String>,
    /// Write a copy of the car's file with what was found, its comments kept
    #[arg(long, value_name = "FILE.toml")]
    pub out: Option<PathBuf>,
    /// Draw to this file, .svg or .png
    #[arg(long, value_name = "FILE")]
    pub plot: Option<PathBuf>,
    /// Print JSON, SI, in place of text
    #[arg(long)]
    pub json: bool,
}

/// Runs the command.
pub fn run(args: &FitArgs, length: Length) -> Result<ExitCode, CliError> {
    if let Some(plot) = &args.plot {
        check_plot(plot)?;
    }
    if let Some(out) = &args.out {
        check(out)?;
    }
    let question = Question {
        car: args.car.clone(),
        track: args.track.clone(),
        log: args.log.clone(),
        told: told(&args.column, &args.unit)?,
        state: args.stands.state()?,
        set: args.set.clone(),
        grip: args.grip,
        hold_out: args.hold_out,
    };
    let ready = question.read(&DISK).map_err(failed)?;
    warn(&ready.warnings);
    let working = Working::on("fitting, laps of the model");
    let answer = ready.answer().map_err(unmade)?;
    drop(working);
    let printed = match length {
        _ if args.json => fit_json(&answer)?,
        Length::Brief => fit_brief(&answer),
        Length::Whole => fit_text(&answer),
    };
    if let Some(plot) = &args.plot {
        save_plot(plot, || fitted(&answer))?;
    }
    let written = match &args.out {
        Some(path) => {
            let mut notes = write(&answer.copy(&DISK, &question, path)?, !args.set.is_empty())?;
            let folder = |path: &Path| path.parent().unwrap_or(Path::new("")).to_owned();
            if !answer.state.on.is_empty() && folder(path) != folder(&car_file(&DISK, &args.car)) {
                let say = "the copy has no ledger beside it and laps as weighed: write it beside ledger.csv to go on from there";
                notes.push(say.into());
            }
            notes
        }
        None => Vec::new(),
    };
    if !args.json {
        answer.notes.iter().for_each(|n| note(&format!("{n}\n")));
    }
    written.iter().for_each(|words| note(&format!("{words}\n")));
    say(&printed)?;
    Ok(ExitCode::SUCCESS)
}

/// A car's file; one that is there stays.
fn check(path: &Path) -> Result<(), CliError> {
    if path.extension().is_none_or(|e| !e.eq_ignore_ascii_case("toml")) {
        return Err(Usage::TrackName { path: path.to_owned() }.into());
    }
    Ok(check_destination(path)?)
}

/// Writes the copy; says what it could not take.
fn write(copy: &Copy, set: bool) -> Result<Vec<String>, CliError> {
    write_whole(&copy.write.path, &copy.write.bytes)?;
    let mut notes = vec![format!("written: {}", copy.write.path.display())];
    notes.extend(copy.above_one.iter().map(above_one));
    notes.extend(copy.left.iter().map(|key| format!("{key}: no table of the file takes it; not written")));
    if set {
        notes.push("what --set changed for the fit (the mass that day, say) is not in the copy".into());
    }
    Ok(notes)
}
