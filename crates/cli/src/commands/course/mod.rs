//! `unladen course`: a track from positions or logged laps; a track looked at and drawn.

pub mod from;
mod log;
mod look;

use std::process::ExitCode;

use clap::Subcommand;
use unladen_garage::log::Mapping;
use unladen_questions::AskError;
use unladen_report::words::brief::Length;

use crate::error::CliError;

/// Examples beneath the help.
pub const HELP: &str = "Examples:\n  \
    unladen course from session.csv --out tracks/home.toml --plot home.svg\n  \
    unladen course from lap.gpx --out tracks/home.toml --start 52.0718,-1.0143\n  \
    unladen course check tracks/home.toml\n  \
    unladen course draw tracks/home.toml --plot home.png";

/// `unladen course`.
#[derive(Debug, clap::Args)]
pub struct CourseArgs {
    /// What about a course.
    #[command(subcommand)]
    pub what: What,
}

/// What about a course.
#[derive(Debug, Subcommand)]
pub enum What {
    /// Make a track from a map's line or from logged laps: GPX, GeoJSON, KML, NMEA or CSV
    From(from::FromArgs),
    /// Look a track over: does it close, its corners, banks, jumps of curvature, crossings
    Check(look::CheckArgs),
    /// Draw a track: its map coloured by curvature, curvature and height along it
    Draw(look::DrawArgs),
    /// Drive a synthetic log, for tests and demonstrations
    Log(log::LogArgs),
}

/// Runs the command.
pub fn run(args: &CourseArgs, length: Length) -> Result<ExitCode, CliError> {
    match &args.what {
        What::From(args) => from::run(args, length),
        What::Check(args) => look::check(args, length),
        What::Draw(args) => look::draw(args),
        What::Log(args) => log::run(args),
    }
}

/// What `--column` and `--unit` say.
pub fn told(column: &[String], unit: &[String]) -> Result<Mapping, CliError> {
    let mut mapping = Mapping::default();
    let told = column.iter().try_for_each(|c| mapping.set_column(c));
    told.and_then(|()| unit.iter().try_for_each(|u| mapping.set_unit(u))).map_err(AskError::from)?;
    Ok(mapping)
}
