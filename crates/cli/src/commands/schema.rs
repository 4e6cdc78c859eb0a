//! `unladen schema`.

use std::process::ExitCode;

use unladen_questions::schema::{Document, schema};

use crate::args::{Kind, SchemaArgs};
use crate::error::CliError;
use crate::output::say;

/// Prints the JSON Schema.
pub fn run(args: &SchemaArgs) -> Result<ExitCode, CliError> {
    say(&schema(match args.kind {
        Kind::Car => Document::Car,
        Kind::Track => Document::Track,
        Kind::Readings => Document::Readings,
    }))?;
    Ok(ExitCode::SUCCESS)
}
