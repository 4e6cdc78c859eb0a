//! `unladen keys`.

use std::process::ExitCode;

use clap::ValueEnum;
use unladen_questions::AskError;
use unladen_questions::keys::{File, Question};
use unladen_report::keys::{keys_json, keys_text};

use crate::error::CliError;
use crate::output::say;

/// `unladen keys`.
#[derive(Debug, clap::Args)]
pub struct KeysArgs {
    /// Only those with this word in their name, or else in what they mean
    pub word: Option<String>,
    /// Only those of this file
    #[arg(long, value_name = "FILE")]
    pub of: Option<Of>,
    /// Print JSON in place of text
    #[arg(long)]
    pub json: bool,
}

/// A kind of file.
#[derive(Clone, Copy, Debug, ValueEnum)]
pub enum Of {
    /// car.toml
    Car,
    /// A track's TOML file
    Track,
    /// ledger.csv
    Ledger,
    /// areas.csv
    Areas,
    /// Scale readings
    Readings,
}

/// Shown with `--help`.
pub const HELP: &str = "Examples:\n  unladen keys wheelbase\n  unladen keys --of ledger";

/// Lists keys and columns.
pub fn run(args: &KeysArgs) -> Result<ExitCode, CliError> {
    let file = args.of.map(|of| match of {
        Of::Car => File::Car,
        Of::Track => File::Track,
        Of::Ledger => File::Ledger,
        Of::Areas => File::Areas,
        Of::Readings => File::Readings,
    });
    let rows = Question { file, word: args.word.clone() }.answer().map_err(AskError::from)?;
    say(&if args.json { keys_json(&rows) } else { keys_text(&rows) })?;
    Ok(ExitCode::SUCCESS)
}
