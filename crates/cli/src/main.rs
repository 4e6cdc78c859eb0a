//! The binary `unladen`: arguments, messages, exit codes. What it computes is in the other crates.

mod args;
mod check;
mod compare;
mod course;
mod error;
mod fit;
mod fit_car;
mod fit_laps;
mod inputs;
mod kilogram;
mod lap;
mod ledger;
mod ledger_edit;
mod moving;
mod new;
mod output;
mod rank;
mod reconcile;
mod report;
mod report_decisions;
mod report_plan;
mod report_sources;
mod reset;
mod roads;
mod schema;
mod shell;
mod stack;
mod standing;
mod sweep;
mod weigh;
mod worth;

use std::process::ExitCode;

use clap::Parser;

use args::{Args, Command};

fn main() -> ExitCode {
    let args = Args::parse();
    let done = match &args.command {
        Command::Lap(args) => lap::run(args),
        Command::Worth(args) => worth::run(args),
        Command::Sweep(args) => sweep::run(args),
        Command::Rank(args) => rank::run(args),
        Command::Move(args) => moving::run(args),
        Command::Compare(args) => compare::run(args),
        Command::Ledger(args) => ledger::run(args),
        Command::Weigh(args) => weigh::run(args),
        Command::Reset(args) => reset::run(args),
        Command::New(args) => new::run(args),
        Command::Course(args) => course::run(args),
        Command::Fit(args) => fit::run(args),
        Command::Report(args) => report::run(args),
        Command::Check(args) => check::run(args),
        Command::Completions(args) => shell::completions(args),
        Command::Man(args) => shell::man(args),
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
