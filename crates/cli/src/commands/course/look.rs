//! `unladen course check` and `unladen course draw`: a track looked over, and its picture.

use std::path::PathBuf;
use std::process::ExitCode;

use unladen_questions::course::look::Question;
use unladen_report::course::brief::look_brief;
use unladen_report::course::drawn::as_filed;
use unladen_report::course::text::look_text;
use unladen_report::draw::picture::{check_plot, save_plot};
use unladen_report::words::brief::Length;

use crate::disk::DISK;
use crate::error::CliError;
use crate::output::{complain, say, warn};

/// `unladen course check`.
#[derive(Debug, clap::Args)]
pub struct CheckArgs {
    /// Tracks: their TOML files
    #[arg(required = true)]
    pub tracks: Vec<PathBuf>,
}

/// `unladen course draw`.
#[derive(Debug, clap::Args)]
pub struct DrawArgs {
    /// A track: its TOML file
    pub track: PathBuf,
    /// The picture, .svg or .png
    #[arg(long, value_name = "FILE")]
    pub plot: PathBuf,
}

/// Reads each track and says what it finds.
pub fn check(args: &CheckArgs, length: Length) -> Result<ExitCode, CliError> {
    let mut faulty = false;
    for (i, path) in args.tracks.iter().enumerate() {
        match (Question { track: path.clone() }).answer(&DISK) {
            Ok(answer) => {
                let text = if length == Length::Brief { look_brief(&answer) } else { look_text(&answer) };
                say(&format!("{}{text}", if i > 0 { "\n" } else { "" }))?;
                warn(&answer.warnings);
            }
            Err(error) => {
                faulty = true;
                complain(&error.into());
            }
        }
    }
    Ok(ExitCode::from(if faulty { 2 } else { 0 }))
}

/// Draws it.
pub fn draw(args: &DrawArgs) -> Result<ExitCode, CliError> {
    check_plot(&args.plot)?;
    let answer = Question { track: args.track.clone() }.answer(&DISK)?;
    warn(&answer.warnings);
    save_plot(&args.plot, || as_filed(&answer.file.track))?;
    say(&format!("written: {}\n", args.plot.display()))?;
    Ok(ExitCode::SUCCESS)
}
