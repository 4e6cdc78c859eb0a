//! `unladen course log`: a synthetic log of the model on a track, marked as invented.

use std::fmt::Write;
use std::path::PathBuf;
use std::process::ExitCode;

use unladen_garage::argument::{MADE_NOISE, RATE, SHARE};
use unladen_garage::{Overrides, argument, read_car, read_track};
use unladen_positions::Plane;
use unladen_report::files::write::{check_destination, write_whole};
use unladen_study::course::synthetic::{Logger, Sample, drive};

use crate::error::CliError;
use crate::inputs::{car_file, course};
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
    /// With semicolons, decimal commas, lines before the table, other units, a clock that passes midnight and positions at a
    /// fifth of the rate
    #[arg(long)]
    pub quirks: bool,
    /// Change a value of the car's or the track's file for this run, with its unit; repeatable
    #[arg(long = "set", value_name = "KEY=VALUE")]
    pub set: Vec<String>,
    /// The day's grip in place of the track's
    #[arg(long, value_name = "FACTOR")]
    pub grip: Option<f64>,
}

/// Where the invented tracks lie: in the middle of an ocean, where no road is.
const NOWHERE: (f64, f64) = (47.0, -30.0);
/// Longest log, rows.
const ROWS: f64 = 2e6;

/// Runs the command.
pub fn run(args: &LogArgs) -> Result<ExitCode, CliError> {
    check_destination(&args.out)?;
    let sound = (0.1..=1000.0).contains(&args.rate) && (1..=1000).contains(&args.laps);
    let sound = sound && args.noise >= 0.0 && args.wander >= 0.0 && (0.0..0.9).contains(&args.dropouts);
    if !sound {
        return Err(CliError::Logger);
    }
    let overrides = Overrides::parse(&args.set).map_err(|e| CliError::Files(vec![e]))?;
    let car = read_car(car_file(&args.car), &overrides).map_err(|e| CliError::Files(vec![e]))?;
    let track = read_track(&args.track, &overrides, args.grip).map_err(|e| CliError::Files(vec![e]))?;
    let course = course(&track.track, unladen_lap::STEP_M)?;
    let lap = course.lap(&car.car).map_err(|source| CliError::NoLapHere { source })?;
    if lap.time * (args.laps as f64 + 1.0) * args.rate > ROWS {
        return Err(CliError::Logger);
    }
    let logger = Logger {
        rate_hz: args.rate,
        laps: args.laps,
        position_noise_m: args.noise,
        wander_m: args.wander,
        dropouts: args.dropouts,
        seed: args.seed,
        ..Logger::default()
    };
    let samples = drive(&track.track, &course.trace(&lap), &logger);
    let text = if args.quirks { quirky(&samples) } else { plain(&samples) };
    write_whole(&args.out, text.as_bytes())?;
    say(&format!(
        "{}: {} rows, invented: {} on {}, {:.3} s a lap, seed {}\n",
        args.out.display(),
        samples.len(),
        car.name,
        track.track.name,
        lap.time,
        args.seed
    ))?;
    Ok(ExitCode::SUCCESS)
}

fn plain(samples: &[Sample]) -> String {
    let plane = Plane::about(NOWHERE.0, NOWHERE.1);
    let mut out = String::from(
        "Time (s),Latitude (deg),Longitude (deg),Altitude (m),Speed (km/h),Lateral acceleration (g),Longitudinal acceleration (g),Yaw rate (deg/s),Gear\n",
    );
    for p in samples {
        let at = p.position.map_or(",,".into(), |[x, y, z]| {
            let (lat, lon) = plane.to_degrees([x, y]);
            format!("{lat:.8},{lon:.8},{z:.2}")
        });
        let g = 9.80665;
        let _ = writeln!(
            out,
            "{:.3},{at},{:.3},{:.4},{:.4},{:.3},{}",
            p.t,
            3.6 * p.speed,
            p.ay / g,
            p.ax / g,
            p.yaw_rate.to_degrees(),
            p.gear
        );
    }
    out
}

fn quirky(samples: &[Sample]) -> String {
    let plane = Plane::about(NOWHERE.0, NOWHERE.1);
    let mut out =
        String::from("Invented log;not of a real drive\r\nComment;positions come at a fifth of the rate\r\n\r\n");
    out += "Clock;Lat;Lon;Height;GPS speed;Acc lat;Acc long\r\nhh:mm:ss;1e-7 deg;1e-7 deg;ft;mph;m/s2;m/s2\r\n";
    let mut last = (0.0, 0.0, 0.0);
    for (i, p) in samples.iter().enumerate() {
        if let (true, Some([x, y, z])) = (i % 5 == 0, p.position) {
            let (lat, lon) = plane.to_degrees([x, y]);
            last = ((lat * 1e7).round(), (lon * 1e7).round(), z / 0.3048);
        }
        let clock = (86_400.0 - 60.0 + p.t).rem_euclid(86_400.0);
        let (h, m, s) = ((clock / 3600.0).floor(), (clock / 60.0).floor() % 60.0, clock % 60.0);
        // To the right positive, as some mount it.
        let row = format!(
            "{h:02.0}:{m:02.0}:{s:06.3};{:.0};{:.0};{:.2};{:.3};{:.3};{:.3}\r\n",
            last.0,
            last.1,
            last.2,
            p.speed / 0.44704,
            -p.ay,
            p.ax
        );
        out += &row.replace('.', ",");
    }
    out
}
