//! `unladen fit`: the model brought to a logged drive.

pub mod car;
pub mod laps;

use std::path::PathBuf;
use std::process::ExitCode;

use unladen_garage::log::Note;
use unladen_garage::{Ask, Overrides, flying, read_car, read_track, survey_telling};
use unladen_positions::{Line, Wish};
use unladen_report::draw::picture::{check_plot, save_plot};
use unladen_report::fit::picture::{FitPlot, fit_picture};
use unladen_report::fit::text::FitReport;
use unladen_report::lap::place::places;
use unladen_study::fit::{Fit, LoggedLap, fit_told_apart, gearing, predict};

use crate::commands::course::from::at_cell;
use crate::commands::course::{beside, read, told as said};
use crate::commands::fit::laps::{gear_samples, laps};
use crate::error::CliError;
use crate::inputs::{car_file, course};
use crate::output::{note, say, warn};

/// Example beneath the help.
pub const HELP: &str = "Example:  unladen fit vehicles/saloon-awd tracks/home.toml session.csv --set driver.on_track=82kg \\\n    --out fitted.toml --plot fit.svg\n\
    One lap is held out and predicted: a model is never validated by the laps that it was fitted to.";

/// `unladen fit`.
#[derive(Debug, clap::Args)]
pub struct FitArgs {
    /// A car: its car.toml, or the folder that holds one
    pub car: PathBuf,
    /// A track: its TOML file
    pub track: PathBuf,
    /// The log
    pub log: PathBuf,
    /// Change a value of the car's or the track's file, with its unit: the mass that day, say; repeatable
    #[arg(long = "set", value_name = "KEY=VALUE")]
    pub set: Vec<String>,
    /// The day's grip in place of the track's, to start from
    #[arg(long, value_name = "FACTOR")]
    pub grip: Option<f64>,
    /// Which lap of the log is held out; left out, the last flying one
    #[arg(long, value_name = "LAP")]
    pub hold_out: Option<usize>,
    /// Which column of a CSV holds what; repeatable
    #[arg(long, value_name = "WHAT=COLUMN")]
    pub column: Vec<String>,
    /// The unit of a column; repeatable
    #[arg(long, value_name = "WHAT=UNIT")]
    pub unit: Vec<String>,
    /// Write a copy of the car's file with what was found, its comments kept; never over a file that is there
    #[arg(long, value_name = "FILE.toml")]
    pub out: Option<PathBuf>,
    /// Draw to this file, .svg or .png
    #[arg(long, value_name = "FILE")]
    pub plot: Option<PathBuf>,
    /// Print JSON, SI, in place of text
    #[arg(long)]
    pub json: bool,
}

/// Runs the command.
pub fn run(args: &FitArgs) -> Result<ExitCode, CliError> {
    if let Some(plot) = &args.plot {
        check_plot(plot)?;
    }
    if let Some(out) = &args.out {
        crate::commands::fit::car::check(out)?;
    }
    let overrides = Overrides::parse(&args.set).map_err(|e| CliError::Files(vec![e]))?;
    let car = read_car(car_file(&args.car), &overrides).map_err(|e| CliError::Files(vec![e]))?;
    let track = read_track(&args.track, &overrides, args.grip).map_err(|e| CliError::Files(vec![e]))?;
    warn(&car.warnings);
    warn(&track.warnings);
    let bytes = read(&args.log)?;
    let mapping = beside(&args.log)?.overridden_by(&said(&args.column, &args.unit)?);
    let name = args.log.display().to_string();
    let ask = Ask { closed: Some(track.track.closed), start: None, mappings: vec![mapping] };
    let files = [(name, bytes)];
    let mut told = Vec::new();
    let found = survey_telling(&files, &ask, &mut told).map_err(|e| {
        told.iter().for_each(|n| note(&format!("{n}\n")));
        at_cell(e, &files)
    })?;
    let log = found
        .logs
        .first()
        .filter(|log| !log.t.is_empty())
        .ok_or_else(|| CliError::NoTimes { path: args.log.clone() })?;
    let wish = Wish { closed: found.closed, noise_m: None, height_noise_m: None };
    let line = Line::through_at_least(&found.runs, wish, found.least_noise)?;
    let lies = line.align(&track.track)?;
    let all = laps(&found, &line, &lies, log, &car.car);
    let flies = flying(&all.iter().map(|l| l.time_s).collect::<Vec<_>>());
    let held = args.hold_out.unwrap_or(flies.iter().rposition(|f| *f).map_or(all.len(), |i| i + 1));
    if args.hold_out.is_none() && held < all.len() {
        note(&format!(
            "lap {held} is held out, the last flying one: what comes after is slower by more than 3 %  (otherwise: --hold-out LAP)\n"
        ));
    }
    if !(1..=all.len()).contains(&held) || all.len() < 2 {
        return Err(CliError::NoSuchLap { given: held, laps: all.len() });
    }
    let mut used = all.clone();
    let out = used.remove(held - 1);
    let numbers: Vec<usize> = (1..=all.len()).filter(|n| *n != held).collect();
    let course = course(&track.track, unladen_lap::STEP_M)?;
    let (free, fitted) = fit_told_apart(&course, &car.car, &used)?;
    let no_lap = |source| CliError::NoLapHere { source };
    let report = FitReport {
        car: &car.name,
        track: &track.track.name,
        length_m: track.track.length(),
        places: &places(&track.track),
        all: &free,
        fit: &fitted,
        prediction: predict(&fitted, &course, &car.car, &out).map_err(no_lap)?,
        used: &numbers,
        held,
        before_s: course.time(&car.car).map_err(no_lap)?,
        scatter_s: scatter(&all),
        correlation: lies.correlation,
        gearing: gearing(&car.car, &gear_samples(log)),
    };
    let printed = if args.json { report.json()? } else { report.text() };
    if let Some(plot) = &args.plot {
        save_plot(plot, || draw(&report, &fitted))?;
    }
    let written = match &args.out {
        Some(path) => Some(crate::commands::fit::car::write(path, args, &car.car, &report)?),
        None => None,
    };
    if !args.json {
        found.notes.iter().for_each(|n: &Note| note(&format!("{n}\n")));
    }
    written.iter().flatten().for_each(|words| note(&format!("{words}\n")));
    say(&printed)?;
    Ok(ExitCode::SUCCESS)
}

/// Standard deviation of the laps' own times.
fn scatter(laps: &[LoggedLap]) -> f64 {
    let times: Vec<f64> = laps.iter().map(|l| l.time_s).filter(|t| t.is_finite()).collect();
    let n = times.len() as f64;
    let mean = times.iter().sum::<f64>() / n;
    (times.iter().map(|t| (t - mean).powi(2)).sum::<f64>() / (n - 1.0)).sqrt()
}

fn draw(
    report: &FitReport,
    fit: &Fit,
) -> Result<unladen_report::draw::picture::Picture, unladen_report::draw::picture::PlotError> {
    fit_picture(&FitPlot {
        car: report.car,
        track: report.track,
        length_m: report.length_m,
        places: report.places,
        s_m: &fit.s_m,
        residual_kmh: &fit.residuals_mps.iter().map(|r| 3.6 * r).collect::<Vec<_>>(),
        model_kmh: &fit.model_mps.iter().map(|v| 3.6 * v).collect::<Vec<_>>(),
        laps: report.used.len(),
        sd_kmh: 3.6 * fit.residual_mps,
    })
}
