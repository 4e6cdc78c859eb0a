//! `unladen schema`.

use std::process::ExitCode;

use unladen_garage::{car_schema, readings_schema, track_schema};

use crate::args::{Kind, SchemaArgs};
use crate::error::CliError;
use crate::output::say;

/// Prints the JSON Schema.
pub fn run(args: &SchemaArgs) -> Result<ExitCode, CliError> {
    let schema = match args.kind {
        Kind::Car => car_schema(),
        Kind::Track => track_schema(),
        Kind::Readings => readings_schema(),
    };
    say(&format!("{schema:#}\n"))?;
    Ok(ExitCode::SUCCESS)
}
