//! `unladen course log`: a synthetic log of the model on a track, marked as invented.

use std::path::PathBuf;
use std::process::ExitCode;

use unladen_garage::argument;
use unladen_garage::argument::{MADE_NOISE, RATE, SHARE};
use unladen_questions::course::log::Question;
use unladen_report::files::write::{check_destination, write_whole};
use unladen_study::made_track::synthetic::Logger;

use crate::args::InState;
use crate::disk::DISK;
use crate::error::CliError;
use crate::output::say;

/// `unladen course log`.
#[derive(Debug, clap::Args)]
pub struct LogArgs {
    /// A car: its car.toml, or the folder that holds one
    pub car: PathBuf,
    /// A track: its TOML file
    pub track: PathBuf,
    /// The log
    #[arg(long, value_name = "FILE.csv")]
    pub out: PathBuf,
    /// The same seed gives the same log
    #[arg(long, default_value_t = 1)]
    pub seed: u64,
    /// Samples a second
    #[arg(long, value_name = "HZ", default_value_t = 10.0, allow_negative_numbers = true, value_parser = |t: &str| argument(t, RATE))]
    pub rate: f64,
    /// Whole laps; half a lap before and after comes on top
    #[arg(long, default_value_t = 5)]
    pub laps: usize,
    /// Standard deviation of a position, m
    #[arg(long, value_name = "METRES", default_value_t = 0.5, allow_negative_numbers = true, value_parser = |t: &str| argument(t, MADE_NOISE))]
    pub noise: f64,
    /// Standard deviation of a slow wander of positions, m
    #[arg(long, value_name = "METRES", default_value_t = 0.0, allow_negative_numbers = true, value_parser = |t: &str| argument(t, MADE_NOISE))]
    pub wander: f64,
    /// Share of positions that are missing
    #[arg(long, value_name = "SHARE", default_value_t = 0.0, allow_negative_numbers = true, value_parser = |t: &str| argument(t, SHARE))]
    pub dropouts: f64,
    /// With semicolons, decimal commas, lines before the table, other units, a clock that passes midnight and positions
    /// at a fifth of the rate
    #[arg(long)]
    pub quirks: bool,
    #[command(flatten)]
    pub stands: InState,
    /// Change a value of the car's or the track's file for this run, with its unit; repeatable
    #[arg(long = "set", value_name = "KEY=VALUE")]
    pub set: Vec<String>,
    /// The day's grip in place of the track's
    #[arg(long, value_name = "FACTOR")]
    pub grip: Option<f64>,
}

/// Runs the command.
pub fn run(args: &LogArgs) -> Result<ExitCode, CliError> {
    check_destination(&args.out)?;
    let logger = Logger {
        rate_hz: args.rate,
        laps: args.laps,
        position_noise_m: args.noise,
        wander_m: args.wander,
        dropouts: args.dropouts,
        seed: args.seed,
        ..Logger::default()
    };
    let question = Question {
        car: args.car.clone(),
        track: args.track.clone(),
        state: args.stands.state()?,
        set: args.set.clone(),
        grip: args.grip,
        logger,
        quirks: args.quirks,
    };
    let answer = question.read(&DISK).map_err(|failure| *failure.why)?.answer()?;
    write_whole(&args.out, answer.text.as_bytes())?;
    say(&format!(
        "{}: {} rows, invented: {} on {}, {:.3} s a lap, seed {}\n",
        args.out.display(),
        answer.rows,
        answer.car,
        answer.track,
        answer.lap_time_s,
        args.seed
    ))?;
    Ok(ExitCode::SUCCESS)
}
