//! What may be typed.

use std::path::PathBuf;

use clap::{Parser, Subcommand, ValueEnum};
use unladen_lap::STEP_M;

/// What every kilogram and every millimetre of centre of gravity is worth in lap time.
#[derive(Debug, Parser)]
#[command(
    name = "unladen",
    version,
    after_help = "Start with:  unladen worth vehicles/saloon-awd tracks/airfield.toml tracks/valley.toml",
    subcommand_required = true,
    arg_required_else_help = true
)]
pub struct Args {
    /// Which command.
    #[command(subcommand)]
    pub command: Command,
}

/// The commands.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// A lap: its time, which limit rules where, and a trace
    #[command(after_help = LAP)]
    Lap(LapArgs),
    /// Seconds a kilogram and a millimetre of CG; what a kilogram costs at places of the car
    #[command(after_help = WORTH)]
    Worth(WorthArgs),
    /// Mass, height, split, fuel and grip: a lap for every cell of a grid
    #[command(after_help = crate::sweep::HELP)]
    Sweep(crate::sweep::SweepArgs),
    /// Planned changes by time gained: seconds, per kilogram, money and hour; the best set within a budget
    #[command(after_help = crate::rank::HELP)]
    Rank(Box<crate::rank::RankArgs>),
    /// Is moving something worth it: the fuel tank, the battery, a seat; over the fuel load
    #[command(after_help = crate::moving::HELP)]
    Move(crate::moving::MoveArgs),
    /// Two builds: which is quicker, why, where, dry and wet, and where it turns over power and grip
    #[command(after_help = crate::compare::HELP)]
    Compare(crate::compare::CompareArgs),
    /// Where the mass budget stands; add a row, mark it done, take it back
    #[command(after_help = crate::ledger::HELP)]
    Ledger(crate::ledger::LedgerArgs),
    /// Scale readings to mass, centre of gravity and their uncertainty; the ledger against the scales
    #[command(after_help = crate::weigh::HELP)]
    Weigh(crate::weigh::WeighArgs),
    /// What must be set again: loads, ride height, brakes
    #[command(after_help = crate::reset::HELP)]
    Reset(crate::reset::ResetArgs),
    /// Start a car of your own: commented files to fill in
    #[command(after_help = crate::new::HELP)]
    New(crate::new::NewArgs),
    /// A track from positions or logged laps
    #[command(after_help = crate::course::HELP)]
    Course(crate::course::CourseArgs),
    /// Bring the model to a logged drive: grip, power, drag and the driver's use of it, with what can't be told apart
    #[command(after_help = crate::fit::HELP)]
    Fit(crate::fit::FitArgs),
    /// One page to share: the answer, pictures, tables, what went in and what is left out
    #[command(after_help = crate::report::HELP)]
    Report(crate::report::ReportArgs),
    /// Look for faults in the files of cars and tracks
    #[command(after_help = CHECK)]
    Check(CheckArgs),
    /// Print what makes a shell complete commands, options and files
    #[command(after_help = crate::shell::COMPLETIONS)]
    Completions(crate::shell::CompletionsArgs),
    /// Write the manual pages of all commands into a folder
    #[command(after_help = crate::shell::MAN)]
    Man(crate::shell::ManArgs),
    /// Print the JSON Schema of a file, for an editor that completes its keys
    #[command(after_help = SCHEMA)]
    Schema(SchemaArgs),
}

const LAP: &str = "Example:  unladen lap vehicles/mid-engine tracks/valley.toml --grip 0.6 --plot wet.svg";
const WORTH: &str = "Example, a year of three airfield days to one in the hills, with the fuel of a short race:\n  \
    unladen worth vehicles/saloon-rwd tracks/airfield.toml=3 tracks/valley.toml=1 --set fuel.on_track=15L";
const CHECK: &str = "Example:  unladen check vehicles/*/car.toml tracks/*.toml";
const SCHEMA: &str = "Example:  unladen schema car > car.schema.json, and as the first line of a car.toml:\n  \
    #:schema car.schema.json";

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
    #[command(flatten)]
    pub run: Run,
}

/// `unladen worth`.
#[derive(Debug, clap::Args)]
pub struct WorthArgs {
    /// A car: its car.toml, or the folder that holds one
    pub car: PathBuf,
    /// Tracks: their TOML files, each with a weight in the mix if it is not 1
    #[arg(required = true, value_name = "TRACK[=WEIGHT]")]
    pub tracks: Vec<String>,
    /// Ask what a kilogram costs at one more place: mm behind the front axle, right of the middle, above ground; repeatable
    #[arg(long, value_name = "[NAME=]X,Y,Z", allow_hyphen_values = true)]
    pub at: Vec<String>,
    /// Draw the kilogram map to this file, .svg or .png: the car with what a kilogram costs at each place of it, and what
    /// its ledger has taken out and plans to
    #[arg(long, value_name = "FILE")]
    pub map: Option<PathBuf>,
    /// Which rows of the ledger the map counts as coming: `planned`, `measured` (planned, and weighed already), `ideas`
    /// (these as well), `none`, or the name of a row; repeatable with names [default: planned]
    #[arg(long, value_name = "ROWS", requires = "map")]
    pub plan: Vec<String>,
    #[command(flatten)]
    pub run: Run,
}

/// What laps have in common.
#[derive(Debug, clap::Args)]
pub struct Run {
    /// Change a value of the car's or the track's file for this run, with its unit; repeatable
    #[arg(long = "set", value_name = "KEY=VALUE")]
    pub set: Vec<String>,
    /// The day's grip in place of the track's: 1 dry, about 0.6 wet
    #[arg(long, value_name = "FACTOR", allow_negative_numbers = true)]
    pub grip: Option<f64>,
    /// Distance between the solver's stations, about; half of it takes twice as long and leaves a quarter of the
    /// numerical error or less
    #[arg(long, value_name = "METRES", default_value_t = STEP_M, value_parser = step, allow_negative_numbers = true)]
    pub step: f64,
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
    use clap::CommandFactory;

    #[test]
    fn property_the_arguments_are_consistent() {
        Args::command().debug_assert();
    }

    /// Help teaches by an example that names the command.
    #[test]
    fn property_each_command_has_an_example() {
        for command in Args::command().get_subcommands() {
            let help = command.get_after_help().map(ToString::to_string).unwrap_or_default();
            let name = command.get_name();
            assert!(help.contains("Example") && help.contains(&format!("unladen {name}")), "{name}: {help}");
        }
    }

    #[test]
    fn bad_input_steps_that_are_none() {
        assert_eq!((step("1"), step("0.5 m"), step("2m")), (Ok(1.0), Ok(0.5), Ok(2.0)));
        for text in ["", "x", "nan", "0", "-1", "inf", "51", "1 km"] {
            assert!(step(text).is_err(), "{text}");
        }
    }
}
