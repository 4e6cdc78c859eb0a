//! The binary `unladen`: arguments, messages, exit codes. What it computes is in the other crates.

mod args;
mod commands;
mod disk;
mod error;
mod inputs;
mod output;
mod progress;

use std::process::ExitCode;

use clap::{CommandFactory, Parser, Subcommand};
use unladen_report::files::write::force;
use unladen_report::words::brief::Length;

use commands::{
    check, compare, course, fit, keys, lap, ledger, live, moving, new, rank, report, reset, schema, shell, sweep,
    trial, weigh, worth,
};

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
    /// Replace files that are there, whoever wrote them: without it only results of unladen are replaced
    #[arg(long, global = true)]
    pub force: bool,
    /// Print all that is known about the answer: how it was found, every table, every caution in full
    #[arg(long, global = true)]
    pub detail: bool,
}

/// The commands.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// A lap: its time, which limit rules where, and a trace
    #[command(after_help = LAP)]
    Lap(args::LapArgs),
    /// Seconds a kilogram and a millimetre of CG; what a kilogram costs at places of the car
    #[command(after_help = WORTH)]
    Worth(args::WorthArgs),
    /// Mass, height, split, fuel and grip: a lap for every cell of a grid
    #[command(after_help = commands::sweep::HELP)]
    Sweep(commands::sweep::SweepArgs),
    /// Planned changes by time gained: seconds, per kilogram, money and hour; the best set within a budget
    #[command(after_help = commands::rank::HELP)]
    Rank(Box<commands::rank::RankArgs>),
    /// Is moving something worth it: the fuel tank, the battery, a seat; over the fuel load
    #[command(after_help = commands::moving::HELP)]
    Move(commands::moving::MoveArgs),
    /// Two builds: which is quicker, why, where, dry and wet, and where it turns over power and grip
    #[command(after_help = commands::compare::HELP)]
    Compare(commands::compare::CompareArgs),
    /// Where the mass budget stands; add a row, mark it done, take it back
    #[command(after_help = commands::ledger::HELP)]
    Ledger(commands::ledger::LedgerArgs),
    /// Scale readings to mass, centre of gravity and their uncertainty; the ledger against the scales
    #[command(after_help = commands::weigh::HELP)]
    Weigh(commands::weigh::WeighArgs),
    /// What must be set again: loads, ride height, brakes
    #[command(after_help = commands::reset::HELP)]
    Reset(commands::reset::ResetArgs),
    /// Start a car of your own: a whole car from the ten numbers that you know, all else assumed with its ±
    #[command(after_help = commands::new::HELP)]
    New(commands::new::NewArgs),
    /// A track from positions or logged laps
    #[command(after_help = commands::course::HELP)]
    Course(commands::course::CourseArgs),
    /// Bring the model to a logged drive: grip, power, drag and the driver's use of it, with what can't be told apart
    #[command(after_help = commands::fit::HELP)]
    Fit(commands::fit::FitArgs),
    /// A prediction tested on the track: planned, sealed before the laps, read from them, kept in a diary
    #[command(after_help = commands::trial::HELP)]
    Trial(commands::trial::TrialArgs),
    /// One page to share: the answer, pictures, tables, what went in and what is left out
    #[command(after_help = commands::report::HELP)]
    Report(commands::report::ReportArgs),
    /// A page that answers while one drags: what sits where, what is done, what is turned
    #[command(after_help = commands::live::HELP)]
    Live(commands::live::LiveArgs),
    /// Look for faults in the files of cars and tracks; of a car's folder in all of them
    #[command(after_help = CHECK)]
    Check(args::CheckArgs),
    /// Print what makes a shell complete commands, options and files
    #[command(after_help = commands::shell::COMPLETIONS)]
    Completions(commands::shell::CompletionsArgs),
    /// Write the manual pages of all commands into a folder
    #[command(after_help = commands::shell::MAN)]
    Man(commands::shell::ManArgs),
    /// Keys and columns of the files: unit, what is possible, what each means; for `--set` as well
    #[command(after_help = commands::keys::HELP)]
    Keys(commands::keys::KeysArgs),
    /// Print the JSON Schema of a file, for an editor that completes its keys
    #[command(after_help = SCHEMA)]
    Schema(args::SchemaArgs),
}

const LAP: &str = "Example:  unladen lap vehicles/mid-engine tracks/valley.toml --grip 0.6 --plot wet.svg";
const WORTH: &str = "Example, a year of three airfield days to one in the hills, with the fuel of a short race:\n  \
    unladen worth vehicles/saloon-rwd tracks/airfield.toml=3 tracks/valley.toml=1 --set fuel.on_track=15L";
const CHECK: &str = "Example:  unladen check vehicles/saloon-awd tracks/*.toml";
const SCHEMA: &str = "Example:  unladen schema car > car.schema.json, and as the first line of a car.toml:\n  \
    #:schema car.schema.json";

fn main() -> ExitCode {
    let args = Args::parse();
    if args.force {
        force();
    }
    let length = if args.detail { Length::Whole } else { Length::Brief };
    let done = match &args.command {
        Command::Lap(args) => lap::run(args, length),
        Command::Worth(args) => worth::run(args, length),
        Command::Sweep(args) => sweep::run(args, length),
        Command::Rank(args) => rank::run(args, length),
        Command::Move(args) => moving::run(args, length),
        Command::Compare(args) => compare::run(args, length),
        Command::Ledger(args) => ledger::run(args, length),
        Command::Weigh(args) => weigh::run(args, length),
        Command::Reset(args) => reset::run(args, length),
        Command::New(args) => new::run(args),
        Command::Course(args) => course::run(args, length),
        Command::Fit(args) => fit::run(args, length),
        Command::Trial(args) => trial::run(args),
        Command::Report(args) => report::run(args),
        Command::Live(args) => live::run(args),
        Command::Check(args) => check::run(args, length),
        Command::Completions(args) => shell::completions(args, Args::command()),
        Command::Man(args) => shell::man(args, Args::command()),
        Command::Keys(args) => keys::run(args),
        Command::Schema(args) => schema::run(args),
    };
    match done {
        Ok(code) => code,
        Err(error) => {
            output::complain(&error);
            error.exit_code()
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

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
}
