//! `unladen ledger`: where the mass budget stands.

pub mod edit;

use std::path::PathBuf;
use std::process::ExitCode;

use unladen_garage::written;
use unladen_report::draw::picture::{check_plot, save_plot};
use unladen_report::files::write::{check_destination, write_whole};
use unladen_report::ledger::burn::{BurnPlot, burn_picture};
use unladen_report::ledger::json::{budget_csv, budget_json};
use unladen_report::ledger::text::{BudgetView, budget_text};
use unladen_report::ledger::waterfall::{WaterPlot, waterfall_picture};
use unladen_study::ledger::summary::{Budget, stand};

use crate::commands::ledger::edit::{AddArgs, DoneArgs, UndoArgs};
use crate::error::CliError;
use crate::output::say;
use crate::standing::{self, Project, aboard, as_weighed, carrying};

/// `unladen ledger`.
#[derive(Debug, clap::Args)]
#[command(args_conflicts_with_subcommands = true, subcommand_negates_reqs = true)]
pub struct LedgerArgs {
    #[command(subcommand)]
    pub edit: Option<Edits>,
    /// A car: its car.toml, or the folder that holds one; its ledger.csv is beside it
    #[arg(required = true)]
    pub car: Option<PathBuf>,
    /// Change a value of the car's file for this run, with its unit; repeatable
    #[arg(long = "set", value_name = "KEY=VALUE")]
    pub set: Vec<String>,
    /// Print JSON, SI, in place of text
    #[arg(long)]
    pub json: bool,
    /// Write the way there, row by row, to this file
    #[arg(long, value_name = "FILE")]
    pub csv: Option<PathBuf>,
    /// Draw kilograms against dates to this file, .svg or .png
    #[arg(long, value_name = "FILE")]
    pub plot: Option<PathBuf>,
    /// Draw the way from the car as it stands to the target, plan by plan, to this file, .svg or .png
    #[arg(long, value_name = "FILE")]
    pub waterfall: Option<PathBuf>,
}

/// Edits of a ledger.
#[derive(Debug, clap::Subcommand)]
pub enum Edits {
    /// Add a row at the end of the ledger
    Add(Box<AddArgs>),
    /// Mark a row done
    Done(DoneArgs),
    /// Take back the last edit, to the byte; or, with an item, mark that planned again
    Undo(UndoArgs),
}

/// Shown with `--help`.
pub const HELP: &str = "Examples:\n  unladen ledger vehicles/saloon-awd --plot burn.svg\n  \
    unladen ledger done vehicles/saloon-awd \"bonnet pins\" --date 2026-05-01\n  \
    unladen ledger add vehicles/saloon-awd \"horn\" --before \"0.9 kg\" --before-at=-600,0,400 --area nose\n  \
    unladen ledger undo vehicles/saloon-awd";

/// Says where the budget stands, or edits it.
pub fn run(args: &LedgerArgs) -> Result<ExitCode, CliError> {
    match (&args.edit, &args.car) {
        (Some(Edits::Add(add)), _) => edit::add(add),
        (Some(Edits::Done(done)), _) => edit::done(done),
        (Some(Edits::Undo(undo)), _) => edit::undo(undo),
        (None, Some(car)) => report(args, car),
        // clap asks for one of them.
        (None, None) => Ok(ExitCode::from(2)),
    }
}

fn report(args: &LedgerArgs, car: &std::path::Path) -> Result<ExitCode, CliError> {
    if let Some(path) = &args.csv {
        check_destination(path)?;
    }
    for path in [&args.plot, &args.waterfall].into_iter().flatten() {
        check_plot(path)?;
    }
    let project = standing::read(car, &args.set)?;
    let (fuel, driver) = load(&project);
    let base = carrying(&project.car, fuel, driver)?;
    let (entries, shop) = (&project.ledger.entries, &project.car.shop);
    let budget = stand(&base, entries, &shop.scales, shop.weighed_on)?;
    let aboard = aboard(fuel, driver);
    let weighed_on = shop.weighed_on.map(written);
    let otherwise = otherwise(&project, &budget, &base.car.m)?;
    let view = BudgetView {
        car: &project.car.name,
        aboard: &aboard,
        weighed_on: weighed_on.as_deref(),
        entries,
        budget: &budget,
        target_kg: shop.target.map(|t| t.mass),
        otherwise: &otherwise,
        filled_in: standing::filled_in(&project.ledger),
    };
    let printed = if args.json { budget_json(&view)? } else { budget_text(&view) };
    if let Some(path) = &args.csv {
        write_whole(path, &budget_csv(&view, written)?)?;
    }
    if let Some(path) = &args.plot {
        let names: Vec<String> = entries.iter().map(|e| e.item.clone()).collect();
        let dates = months(&budget);
        let plot = BurnPlot {
            car: &project.car.name,
            aboard: &aboard,
            steps: &budget.steps,
            names: &names,
            target_kg: view.target_kg,
            dates: &dates,
        };
        save_plot(path, || burn_picture(&plot))?;
    }
    if let Some(path) = &args.waterfall {
        let (car, steps, target_kg) = (project.car.name.as_str(), budget.steps.as_slice(), view.target_kg);
        save_plot(path, || waterfall_picture(&WaterPlot { car, aboard: &aboard, entries, steps, target_kg }))?;
    }
    say(&printed)?;
    Ok(ExitCode::SUCCESS)
}

/// What the budget is stated for: the target's fuel and driver, or those of the weighing.
pub fn load(project: &Project) -> (f64, f64) {
    project.car.shop.target.map_or_else(|| as_weighed(&project.car), |t| (t.fuel, t.driver))
}

/// The same car now with something else aboard.
pub fn otherwise(project: &Project, budget: &Budget, stated: &f64) -> Result<Vec<(String, f64)>, CliError> {
    let loads = &project.car.loads;
    let mut all = vec![("dry: no driver, no fuel".to_owned(), 0.0, 0.0)];
    let (fuel, driver) = (loads.fuel.map_or(0.0, |f| f.on_track), loads.driver.map_or(0.0, |d| d.on_track));
    if fuel > 0.0 {
        all.push((
            format!("wet, without driver ({} L)", unladen_report::words::number::fixed(fuel * 1e3, 0)),
            fuel,
            0.0,
        ));
    }
    all.push((format!("as it laps ({})", aboard(fuel, driver)), fuel, driver));
    let change = budget.now.part.m - stated;
    all.into_iter()
        .map(|(what, fuel, driver)| Ok((what, carrying(&project.car, fuel, driver)?.car.m + change)))
        .collect()
}

/// The first of each month between the first row and the last, every second or third where there are many.
pub fn months(budget: &Budget) -> Vec<(i64, String)> {
    const NAMES: [&str; 12] = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];
    let days: Vec<i64> = budget.steps.iter().filter(|s| s.done).filter_map(|s| s.day).collect();
    let (Some(first), Some(last)) = (days.iter().min(), days.iter().max()) else { return Vec::new() };
    let starts: Vec<i64> = (*first..=*last).filter(|d| written(*d).ends_with("-01")).collect();
    let every = starts.len().div_ceil(8).max(1);
    let name = |day: i64| {
        let date = written(day);
        let month = date.get(5..7).and_then(|m| m.parse::<usize>().ok()).unwrap_or(1);
        format!("{} {}", NAMES[(month - 1).min(11)], &date[..4])
    };
    starts.into_iter().step_by(every).map(|day| (day, name(day))).collect()
}
