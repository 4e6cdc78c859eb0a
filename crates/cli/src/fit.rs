//! `unladen fit`: the model brought to a logged drive.

use std::fmt::Write;
use std::path::PathBuf;
use std::process::ExitCode;

use unladen_garage::log::{Log, Note, Quantity, read_log};
use unladen_garage::{Ask, Overrides, Survey, read_car, read_track, survey};
use unladen_report::fit::{FitPlot, fit_picture};
use unladen_report::number::with_sd;
use unladen_report::picture::{check_plot, save_plot};
use unladen_study::fit::{Fit, Found, Knob, LoggedLap, Prediction, fit};
use unladen_track::{Alignment, Line, Run, Wish};

use crate::course::{beside, read, told};
use crate::error::CliError;
use crate::inputs::{car_file, course};
use crate::output::{note, say, warn};

/// Example beneath the help.
pub const HELP: &str = "Example:  unladen fit vehicles/saloon-awd tracks/home.toml session.csv --set driver.on_track=82kg --plot fit.svg\n\
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
    /// Which lap of the log is held out; left out, the last
    #[arg(long, value_name = "LAP")]
    pub hold_out: Option<usize>,
    /// Which column of a CSV holds what; repeatable
    #[arg(long, value_name = "WHAT=COLUMN")]
    pub column: Vec<String>,
    /// The unit of a column; repeatable
    #[arg(long, value_name = "WHAT=UNIT")]
    pub unit: Vec<String>,
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
    let overrides = Overrides::parse(&args.set).map_err(|e| CliError::Files(vec![e]))?;
    let car = read_car(car_file(&args.car), &overrides).map_err(|e| CliError::Files(vec![e]))?;
    let track = read_track(&args.track, &overrides, args.grip).map_err(|e| CliError::Files(vec![e]))?;
    warn(&car.warnings);
    warn(&track.warnings);
    let bytes = read(&args.log)?;
    let mapping = beside(&args.log)?.overridden_by(&told(&args.column, &args.unit)?);
    let name = args.log.display().to_string();
    let log = read_log(&bytes, &mapping).map_err(|what| CliError::Log { file: name.clone(), what })?.log;
    let ask = Ask { closed: Some(track.track.closed), start: None, mappings: vec![mapping] };
    let found = survey(&[(name, bytes)], &ask)?;
    let line = Line::through(&found.runs, Wish { closed: found.closed, noise_m: None, height_noise_m: None })?;
    let lies = track.track.align(&line)?;
    let laps = laps(&found, &line, &lies, &log);
    let held = args.hold_out.unwrap_or(laps.len());
    if !(1..=laps.len()).contains(&held) {
        return Err(CliError::NoSuchLap { given: held, laps: laps.len() });
    }
    let mut used = laps.clone();
    let out = used.remove(held - 1);
    let course = course(&track.track, unladen_lap::STEP_M)?;
    let fitted = fit(&course, &car.car, &used)?;
    let prediction = fitted.predict(&course, &car.car, &out).map_err(|source| CliError::NoLapHere { source })?;
    let before = course.lap(&car.car).map_err(|source| CliError::NoLapHere { source })?.time;
    if let Some(plot) = &args.plot {
        let picture = FitPlot {
            car: &car.name,
            track: &track.track.name,
            length_m: track.track.length(),
            s_m: &fitted.s_m,
            residual_kmh: &fitted.residuals_mps.iter().map(|r| 3.6 * r).collect::<Vec<_>>(),
            model_kmh: &fitted.model_mps.iter().map(|v| 3.6 * v).collect::<Vec<_>>(),
            laps: used.len(),
            sd_kmh: 3.6 * fitted.residual_mps,
        };
        save_plot(plot, || fit_picture(&picture))?;
    }
    if args.json {
        return say(&json(&fitted, &prediction, used.len(), held)).map(|()| ExitCode::SUCCESS);
    }
    found.notes.iter().for_each(|n: &Note| note(&format!("{n}\n")));
    say(&text(&fitted, &prediction, (used.len(), held), before, &lies))?;
    Ok(ExitCode::SUCCESS)
}

/// Every lap as speed over the track's distance: the speed channel where there is one, the positions' own otherwise.
fn laps(found: &Survey, line: &Line, lies: &Alignment, log: &Log) -> Vec<LoggedLap> {
    found.runs.iter().zip(&found.times).map(|(run, times)| lap(run, times, line, lies, log)).collect()
}

fn lap(run: &Run, &(from_s, time_s): &(f64, f64), line: &Line, lies: &Alignment, log: &Log) -> LoggedLap {
    let s = lies.distances(line, run);
    let speed = log.channel(Quantity::Speed);
    let mut pairs: Vec<(f64, f64)> = Vec::new();
    for i in 0..run.points.len() {
        let v = match speed {
            Some(channel) => {
                let t = from_s + run.t[i];
                let row = log.t.partition_point(|x| *x < t - 1e-6).min(log.t.len() - 1);
                channel[row]
            }
            None => {
                let (a, b) = (i.saturating_sub(3), (i + 3).min(run.points.len() - 1));
                let d = (run.points[b][0] - run.points[a][0]).hypot(run.points[b][1] - run.points[a][1]);
                d / (run.t[b] - run.t[a]).max(1e-6)
            }
        };
        if v.is_finite() {
            pairs.push((s[i], v));
        }
    }
    // From the track's start line on, wherever the log's laps begin.
    pairs.sort_by(|a, b| a.0.total_cmp(&b.0));
    LoggedLap { s_m: pairs.iter().map(|p| p.0).collect(), v_mps: pairs.iter().map(|p| p.1).collect(), time_s }
}

fn words(knob: Knob) -> &'static str {
    match knob {
        Knob::GripLong => "grip along the car",
        Knob::GripLat => "grip across the car",
        Knob::Power => "power",
        Knob::Drag => "drag area",
        Knob::Rolling => "rolling resistance",
        Knob::UseCornering => "use of it in corners",
        Knob::UseBraking => "use of it under braking",
        Knob::UseTraction => "use of it under power",
    }
}

/// Below this share told by the log a factor is held at its prior.
const TOLD: f64 = 0.5;

fn line(f: &Found) -> String {
    let verdict = if f.told < TOLD {
        format!("held at its prior: the log tells {:.0} % of it", 100.0 * f.told.max(0.0))
    } else {
        format!("the log tells {:.0} %", 100.0 * f.told)
    };
    format!("  {:24} × {:15}  {verdict}\n", words(f.knob), with_sd(f.factor, f.sd))
}

fn text(fit: &Fit, p: &Prediction, (used, held): (usize, usize), before_s: f64, lies: &Alignment) -> String {
    let mut out = format!(
        "Fitted to {used} laps; the log lies on the track with a correlation of {:.3}. Factors on the car's file:\n",
        lies.correlation
    );
    fit.found.iter().for_each(|f| out += &line(f));
    for a in &fit.alike {
        let kind = if a.correlation < 0.0 { "only their product is known" } else { "only their ratio is known" };
        let _ = writeln!(
            out,
            "  {} and {} can't be told apart here ({kind}; correlation {:+.2})",
            words(a.a),
            words(a.b),
            a.correlation
        );
    }
    let _ = writeln!(
        out,
        "Speed about the model: {:.2} km/h (one standard deviation), alike over {:.1} stations; {} rounds{}",
        3.6 * fit.residual_mps,
        fit.repeats,
        fit.rounds,
        if fit.settled { "" } else { ", NOT settled" }
    );
    let _ = writeln!(
        out,
        "Held out, lap {held}: the model says {:.3} s, the log {:.3} s ({:+.3} s; before the fit {:.3} s); speed differs by {:.2} km/h.",
        p.model_s,
        p.logged_s,
        p.model_s - p.logged_s,
        before_s,
        3.6 * p.speed_mps
    );
    out += "That lap is of the same day, car and driver: it speaks for this fit, and is no validation of the model elsewhere.\n";
    out
}

fn json(fit: &Fit, p: &Prediction, used: usize, held: usize) -> String {
    let mut out = String::from("{\"factors\": {");
    for (i, f) in fit.found.iter().enumerate() {
        let comma = if i > 0 { ", " } else { "" };
        let _ = write!(
            out,
            "{comma}\"{}\": {{\"factor\": {}, \"sd\": {}, \"told\": {}}}",
            f.knob.key(),
            f.factor,
            f.sd,
            f.told
        );
    }
    out += "}, \"not_told_apart\": [";
    for (i, a) in fit.alike.iter().enumerate() {
        let comma = if i > 0 { ", " } else { "" };
        let _ = write!(out, "{comma}[\"{}\", \"{}\", {}]", a.a.key(), a.b.key(), a.correlation);
    }
    let _ = writeln!(
        out,
        "], \"speed_residual_mps\": {}, \"laps\": {used}, \"held_out_lap\": {held}, \"held_out_model_s\": {}, \"held_out_logged_s\": {}, \"settled\": {}}}",
        fit.residual_mps, p.model_s, p.logged_s, fit.settled
    );
    out
}
