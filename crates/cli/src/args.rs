//! What may be typed.

use std::path::PathBuf;

use clap::ValueEnum;
use unladen_lap::STEP_M;
use unladen_questions::AskError;
use unladen_questions::stands::state::{As, Moved, State};

use crate::error::{CliError, Usage};

/// `unladen lap`.
#[derive(Debug, clap::Args)]
pub struct LapArgs {
    /// A car: its car.toml, or the folder that holds one
    pub car: PathBuf,
    /// A track: its TOML file
    pub track: PathBuf,
    /// Draw the lap's accelerations inside what the car can do (the g-g cloud) to this file, .svg or .png
    #[arg(long, value_name = "FILE")]
    pub gg: Option<PathBuf>,
    /// The order of the places: as on the road, or where 10 kg cost most first
    #[arg(long, value_name = "ORDER", value_enum, default_value_t = Sort::Road)]
    pub sort: Sort,
    #[command(flatten)]
    pub run: Run,
}

/// The order of places.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum Sort {
    /// As on the road
    Road,
    /// Where 10 kg cost most first
    Worth,
}

/// `unladen worth`.
#[derive(Debug, clap::Args)]
pub struct WorthArgs {
    /// A car: its car.toml, or the folder that holds one
    pub car: PathBuf,
    /// Tracks: their TOML files, each with a weight in the mix if it is not 1
    #[arg(required = true, value_name = "TRACK[=WEIGHT]")]
    pub tracks: Vec<String>,
    /// Ask what a kilogram costs at one more place: mm behind the front axle, right of the middle, above ground;
    /// repeatable
    #[arg(long, value_name = "[NAME=]X,Y,Z", allow_hyphen_values = true)]
    pub at: Vec<String>,
    /// Draw the kilogram map to this file, .svg or .png: the car with what a kilogram costs at each place of it, and
    /// what its ledger has taken out and plans to
    #[arg(long, value_name = "FILE")]
    pub map: Option<PathBuf>,
    /// Which rows of the ledger the map counts as coming: `planned`, `measured` (planned, and weighed already), `ideas`
    /// (these as well), `none`, or the name of a row; repeatable with names [default: planned]
    #[arg(long, value_name = "ROWS", requires = "map")]
    pub plan: Vec<String>,
    #[command(flatten)]
    pub run: Run,
}

/// In which state the car is asked about.
#[derive(Clone, Debug, clap::Args)]
pub struct InState {
    /// The car as it was `weighed`, as it stands `now` (with the ledger's rows done since), as `planned`, or
    /// `planned+ideas`
    #[arg(long = "as", value_name = "STATE", default_value = As::Now.word())]
    pub of: String,
    /// A row or group of the ledger that is in the car too, with what it can't be without, or somebody of [aboard];
    /// repeatable
    #[arg(long, value_name = "ROW")]
    pub with: Vec<String>,
    /// The same that is not in the car, whatever its state says; repeatable
    #[arg(long, value_name = "ROW")]
    pub without: Vec<String>,
    /// What sits elsewhere, by how many mm back, right, up: "fuel tank=-600,0,-60", or an item of the ledger that is in
    /// the car; the tank takes its fuel along; repeatable
    #[arg(long, value_name = "ITEM=X,Y,Z")]
    pub moved: Vec<String>,
}

impl Default for InState {
    fn default() -> Self {
        Self { of: As::Now.word().into(), with: Vec::new(), without: Vec::new(), moved: Vec::new() }
    }
}

impl InState {
    /// For a question.
    pub fn state(&self) -> Result<State, CliError> {
        let moved = self.moved.iter().map(|given| moved(given)).collect::<Result<_, _>>()?;
        let of = As::parse(&self.of).map_err(AskError::from)?;
        Ok(State { of, with: self.with.clone(), without: self.without.clone(), moved })
    }
}

/// `fuel tank=-600,0,-60`.
pub fn moved(given: &str) -> Result<Moved, Usage> {
    let wrong = |why: String| Usage::MovedGiven { given: given.into(), why };
    let (item, by) = given.rsplit_once('=').ok_or_else(|| wrong("ITEM=X,Y,Z is due".into()))?;
    let by = unladen_garage::position(by).map_err(&wrong)?;
    Ok(Moved { item: item.trim().to_owned(), by })
}

/// Which car laps, and on which day.
#[derive(Clone, Debug, clap::Args)]
pub struct Lapping {
    #[command(flatten)]
    pub stands: InState,
    /// Change a value of the car's or the track's file for this run, with its unit, or shift it: KEY+=, KEY-=, KEY*=;
    /// repeatable
    #[arg(long = "set", value_name = "KEY=VALUE")]
    pub set: Vec<String>,
    /// The day's grip in place of the track's: 1 dry, about 0.6 wet
    #[arg(long, value_name = "FACTOR", allow_negative_numbers = true)]
    pub grip: Option<f64>,
    /// Distance between the solver's stations, about; half of it takes twice as long and leaves a quarter of the
    /// numerical error or less
    #[arg(long, value_name = "METRES", default_value_t = STEP_M, value_parser = step, allow_negative_numbers = true)]
    pub step: f64,
}

/// What laps have in common.
#[derive(Debug, clap::Args)]
pub struct Run {
    #[command(flatten)]
    pub lapping: Lapping,
    /// Print JSON, SI, in place of text
    #[arg(long)]
    pub json: bool,
    /// Write rows to this file: the numbers along the lap, or one row a result
    #[arg(long, value_name = "FILE")]
    pub csv: Option<PathBuf>,
    /// Draw to this file, .svg or .png
    #[arg(long, value_name = "FILE")]
    pub plot: Option<PathBuf>,
}

/// `unladen check`.
#[derive(Debug, clap::Args)]
pub struct CheckArgs {
    /// Cars (files or folders), tracks, segments
    #[arg(required = true)]
    pub files: Vec<PathBuf>,
}

/// `unladen schema`.
#[derive(Debug, clap::Args)]
pub struct SchemaArgs {
    /// Which file
    pub kind: Kind,
}

/// A kind of file.
#[derive(Clone, Copy, Debug, ValueEnum)]
pub enum Kind {
    /// car.toml
    Car,
    /// A track's TOML file
    Track,
    /// Scale readings
    Readings,
}

/// Steps that are accepted, m.
const STEPS: std::ops::RangeInclusive<f64> = 0.05..=50.0;

/// A distance between stations, m.
pub fn step(text: &str) -> Result<f64, String> {
    let number = text.trim().strip_suffix('m').unwrap_or(text).trim_end();
    match number.parse() {
        Ok(step) if STEPS.contains(&step) => Ok(step),
        Ok(step) => Err(format!("{step} m is outside {} to {} m", STEPS.start(), STEPS.end())),
        Err(_) => Err("a number of metres is due, for example 1".into()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bad_input_steps_that_are_none() {
        assert_eq!((step("1"), step("0.5 m"), step("2m")), (Ok(1.0), Ok(0.5), Ok(2.0)));
        for text in ["", "x", "nan", "0", "-1", "inf", "51", "1 km"] {
            assert!(step(text).is_err(), "{text}");
        }
    }
}
