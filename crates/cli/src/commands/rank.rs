//! `unladen rank`.

use std::path::PathBuf;
use std::process::ExitCode;

use unladen_garage::argument;
use unladen_garage::argument::{AMOUNT, SCATTER};
use unladen_questions::rank;
use unladen_report::draw::look::Paper;
use unladen_report::rank::brief::rank_brief;
use unladen_report::rank::json::{rank_csv, rank_json};
use unladen_report::rank::picture::rank_picture;
use unladen_report::rank::text::rank_text;
use unladen_report::words::brief::Length;
use unladen_study::uncertainty::paired::Sampling;

use crate::args::Run;
use crate::disk::DISK;
use crate::error::CliError;
use crate::inputs::scene;
use crate::output::{check_outputs, deliver, failed, warn};
use crate::progress::Working;

/// `unladen rank`.
#[derive(Debug, clap::Args)]
pub struct RankArgs {
    /// A car: its car.toml, or the folder that holds one; its ledger.csv is beside it
    pub car: PathBuf,
    /// Tracks: their TOML files, each with a weight in the mix if it is not 1
    #[arg(required = true, value_name = "TRACK[=WEIGHT]")]
    pub tracks: Vec<String>,
    /// Rank only this item or group, and what it needs; repeatable
    #[arg(long = "item", value_name = "NAME")]
    pub items: Vec<String>,
    /// Pick the best set that costs no more than this, in the ledger's money
    #[arg(long, value_name = "MONEY", value_parser = amount)]
    pub budget: Option<f64>,
    /// Pick the best set that takes no more hours than this
    #[arg(long, value_name = "HOURS", value_parser = amount)]
    pub hours: Option<f64>,
    /// Pick the best set that brings the car to this mass, with what the target of car.toml has aboard: 1150kg
    #[arg(long, value_name = "MASS")]
    pub target: Option<String>,
    /// This item or group must be in the best set; repeatable
    #[arg(long, value_name = "NAME")]
    pub keep: Vec<String>,
    /// Spread the best set over months with this much money each, what gains most for it first
    #[arg(long, value_name = "MONEY", value_parser = amount)]
    pub month_budget: Option<f64>,
    /// Spread it over months with this many hours each
    #[arg(long, value_name = "HOURS", value_parser = amount)]
    pub month_hours: Option<f64>,
    /// Leave roll stiffness and brakes as they are set; without it each change is shown re-tuned too
    #[arg(long)]
    pub as_set: bool,
    /// Draws at most, where slopes don't hold
    #[arg(long, value_name = "N", default_value_t = 500, value_parser = clap::value_parser!(u32).range(32..=100_000))]
    pub samples: u32,
    /// Of the draws: the same seed gives the same numbers
    #[arg(long, value_name = "N", default_value_t = 1)]
    pub seed: u64,
    /// How far laps of one driver in one car scatter, one standard deviation in seconds
    #[arg(long, value_name = "SECONDS", value_parser = spread)]
    pub lap_spread: Option<f64>,
    #[command(flatten)]
    pub run: Run,
}

/// Shown with `--help`.
pub const HELP: &str = "Examples:\n  unladen rank vehicles/saloon-awd tracks/airfield.toml tracks/valley.toml\n  \
    unladen rank vehicles/saloon-awd tracks/airfield.toml --budget 2000 --hours 40 --target 1175kg --plot rank.svg";

impl RankArgs {
    fn question(&self) -> Result<rank::Question, CliError> {
        Ok(rank::Question {
            scene: scene(&self.car, &self.tracks, &self.run.lapping)?,
            items: self.items.clone(),
            budget: self.budget,
            hours: self.hours,
            target: self.target.clone(),
            keep: self.keep.clone(),
            month: [self.month_budget, self.month_hours],
            retune: !self.as_set,
            sampling: Sampling { seed: self.seed, samples: self.samples as usize, all: false },
            lap_spread_s: self.lap_spread,
        })
    }
}

/// Ranks what the ledger plans.
pub fn run(args: &RankArgs, length: Length) -> Result<ExitCode, CliError> {
    check_outputs(&args.run)?;
    let ready = args.question()?.read(&DISK).map_err(failed)?;
    warn(&ready.warnings);
    let working = Working::on("laps of drawn cars, change by change");
    let answer = ready.answer()?;
    drop(working);
    deliver(
        &args.run,
        || Ok(rank_csv(&answer)?),
        || rank_picture(&answer, Paper::FILE),
        || match length {
            _ if args.run.json => Ok(rank_json(&answer)?),
            Length::Brief => Ok(rank_brief(&answer)),
            Length::Whole => Ok(rank_text(&answer)),
        },
    )?;
    Ok(ExitCode::SUCCESS)
}

fn amount(text: &str) -> Result<f64, String> {
    argument(text, AMOUNT).map_err(|why| format!("a number that is not negative is due, for example 2000: {why}"))
}

fn spread(text: &str) -> Result<f64, String> {
    argument(text, SCATTER).map_err(|why| format!("a number of seconds is due, for example 0.3: {why}"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bad_input_amounts_and_spreads() {
        assert_eq!((amount("2000"), spread("0.3 s"), spread("1s")), (Ok(2000.0), Ok(0.3), Ok(1.0)));
        for text in ["", "x", "-1", "nan", "inf"] {
            assert!(amount(text).is_err() && spread(text).is_err(), "{text}");
        }
        assert!(spread("0").is_err() && spread("61").is_err());
    }
}
