//! `unladen reset`: what must be set again.

use std::path::PathBuf;
use std::process::ExitCode;

use unladen_garage::written;
use unladen_report::draw::picture::{check_plot, save_plot};
use unladen_report::reset::picture::reset_picture;
use unladen_report::reset::text::{Checked, ResetView, reset_json, reset_text};
use unladen_study::ledger::reset::{Springs, Stage, stage};
use unladen_study::ledger::summary::{Budget, stand};
use unladen_vehicle::car::AntiLock;

use crate::error::CliError;
use crate::output::say;
use crate::standing::{self, Project, aboard, as_weighed, carrying};

/// `unladen reset`.
#[derive(Debug, clap::Args)]
pub struct ResetArgs {
    /// A car: its car.toml, or the folder that holds one; its ledger.csv is beside it
    pub car: PathBuf,
    /// Change a value of the car's file for this run, with its unit; repeatable
    #[arg(long = "set", value_name = "KEY=VALUE")]
    pub set: Vec<String>,
    /// Print JSON, SI, in place of text
    #[arg(long)]
    pub json: bool,
    /// Draw the adhesion that each axle asks for to this file, .svg or .png
    #[arg(long, value_name = "FILE")]
    pub plot: Option<PathBuf>,
}

/// Shown with `--help`.
pub const HELP: &str = "Example:  unladen reset vehicles/saloon-awd --set brakes.front_share=0.72 --plot brakes.svg";

const NAMES: [&str; 3] = ["as weighed", "now", "planned"];

/// Says what must be set again.
pub fn run(args: &ResetArgs) -> Result<ExitCode, CliError> {
    if let Some(path) = &args.plot {
        check_plot(path)?;
    }
    let project = standing::read(&args.car, &args.set)?;
    let car = &project.car;
    let (fuel, driver) = (car.loads.fuel.map_or(0.0, |f| f.on_track), car.loads.driver.map_or(0.0, |d| d.on_track));
    let budget = budget(&project, fuel, driver)?;
    let springs =
        car.shop.springs.map(|s| Springs { wheel_rate: s.wheel_rate, tyre_rate: s.tyre_rate, unsprung: s.unsprung });
    let standings = [&budget.weighed, &budget.now, &budget.planned];
    let stages: Vec<Stage> = NAMES
        .into_iter()
        .zip(standings)
        .map(|(name, s)| stage(name, &car.car, &budget.weighed, s, springs.as_ref()))
        .collect();
    let limits = limits(&project, &stages)?;
    let aboard = aboard(fuel, driver);
    let view = ResetView {
        car: &car.name,
        aboard: &aboard,
        stages: &stages,
        anti_lock: car.car.brakes.anti_lock != AntiLock::None,
        limits: &limits,
    };
    let printed = if args.json { reset_json(&view)? } else { reset_text(&view) };
    if let Some(path) = &args.plot {
        save_plot(path, || reset_picture(&view, &car.car.brakes, car.car.chassis.l))?;
    }
    say(&printed)?;
    Ok(ExitCode::SUCCESS)
}

fn budget(project: &Project, fuel: f64, driver: f64) -> Result<Budget, CliError> {
    let base = carrying(&project.car, fuel, driver)?;
    let shop = &project.car.shop;
    Ok(stand(&base, &project.ledger.entries, &shop.scales, shop.weighed_on)?)
}

/// Loads against the limits that the owner has entered. A tyre carries half its axle, or the heavier corner where those
/// are known.
fn limits(project: &Project, stages: &[Stage]) -> Result<Vec<Checked>, CliError> {
    let limits = &project.car.shop.limits;
    let mut all = Vec::new();
    for (i, axle) in ["front", "rear"].into_iter().enumerate() {
        for s in stages {
            if let Some(most) = limits.tyre_load[i] {
                let load = s.corners.map_or(0.5 * s.axles[i], |c| c[2 * i].max(c[2 * i + 1]));
                let what = format!("{axle} tyres, the heavier");
                all.push(Checked { what, stage: s.name, load, least: None, most, document: None });
            }
            if let Some(most) = limits.axle_load[i] {
                let what = format!("{axle} axle");
                all.push(Checked { what, stage: s.name, load: s.axles[i], least: None, most, document: None });
            }
        }
    }
    if let Some(r) = &limits.registered {
        let (fuel, driver) = as_weighed(&project.car);
        let budget = budget(project, r.fuel.unwrap_or(fuel), r.driver.unwrap_or(driver))?;
        let document = format!("{} ({})", r.document, written(r.day));
        for (name, s) in NAMES.into_iter().zip([&budget.weighed, &budget.now, &budget.planned]) {
            all.push(Checked {
                what: "mass by the papers".into(),
                stage: name,
                load: s.part.m,
                least: Some(r.mass - r.tolerance),
                most: r.mass + r.tolerance,
                document: Some(document.clone()),
            });
        }
    }
    Ok(all)
}
