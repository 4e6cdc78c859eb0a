//! `unladen reset`: what must be set again.

use std::path::PathBuf;
use std::process::ExitCode;

use unladen_questions::AskError;
use unladen_questions::reset::Question;
use unladen_questions::stands::state::{As, State};
use unladen_report::draw::picture::{check_plot, save_plot};
use unladen_report::reset::brief::reset_brief;
use unladen_report::reset::picture::reset_picture;
use unladen_report::reset::text::{reset_json, reset_text};
use unladen_report::words::brief::Length;

use crate::disk::DISK;
use crate::error::CliError;
use crate::inputs::weighted;
use crate::output::{failed, say, warn};

/// `unladen reset`.
#[derive(Debug, clap::Args)]
pub struct ResetArgs {
    /// A car: its car.toml, or the folder that holds one; its ledger.csv is beside it
    pub car: PathBuf,
    /// Track TOML files for which roll stiffness and brakes are set as [limits] allow, each perhaps with its weight,
    /// `a.toml=2`
    pub tracks: Vec<String>,
    #[command(flatten)]
    pub stands: Besides,
    /// Change a value of the car's file for this run, with its unit, or shift it: KEY+=, KEY-=, KEY*=; repeatable
    #[arg(long = "set", value_name = "KEY=VALUE")]
    pub set: Vec<String>,
    /// Print JSON, SI, in place of text
    #[arg(long)]
    pub json: bool,
    /// Draw the adhesion that each axle asks for to this file, .svg or .png
    #[arg(long, value_name = "FILE")]
    pub plot: Option<PathBuf>,
}

/// The state that is shown besides the car as weighed and as it stands.
#[derive(Clone, Debug, clap::Args)]
pub struct Besides {
    /// What to show besides the car as weighed and as it stands: `planned`, `planned+ideas`; `now` or `weighed`: no more
    #[arg(long = "as", value_name = "STATE", default_value = "planned")]
    pub of: String,
    /// A row or group of the ledger that is in the car too, or somebody of [aboard]; repeatable
    #[arg(long, value_name = "ROW")]
    pub with: Vec<String>,
    /// The same that is not in the car; repeatable
    #[arg(long, value_name = "ROW")]
    pub without: Vec<String>,
}

impl Besides {
    fn state(&self) -> Result<State, AskError> {
        Ok(State {
            of: As::parse(&self.of)?,
            with: self.with.clone(),
            without: self.without.clone(),
            ..State::default()
        })
    }
}

/// Shown with `--help`.
pub const HELP: &str = "Examples:
  unladen reset vehicles/saloon-awd --set brakes.front_share=0.72 --plot brakes.svg
  unladen reset vehicles/saloon-awd tracks/airfield.toml tracks/valley.toml";

/// Says what must be set again.
pub fn run(args: &ResetArgs, length: Length) -> Result<ExitCode, CliError> {
    if let Some(path) = &args.plot {
        check_plot(path)?;
    }
    let tracks = args.tracks.iter().map(|given| weighted(given)).collect::<Result<Vec<_>, _>>()?;
    let question = Question { car: args.car.clone(), state: args.stands.state()?, set: args.set.clone(), tracks };
    let ready = question.read(&DISK).map_err(failed)?;
    warn(&ready.warnings);
    let answer = ready.answer()?;
    let printed = match length {
        _ if args.json => reset_json(&answer)?,
        Length::Brief => reset_brief(&answer),
        Length::Whole => reset_text(&answer),
    };
    if let Some(path) = &args.plot {
        save_plot(path, || reset_picture(&answer))?;
    }
    say(&printed)?;
    Ok(ExitCode::SUCCESS)
}
