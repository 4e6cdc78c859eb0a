//! A synthetic log of the model on a track, marked as invented.

use std::fmt::Write;
use std::path::PathBuf;

use unladen_garage::{Files, Overrides, TrackFile, Warning};
use unladen_positions::Plane;
use unladen_study::made_track::synthetic::{Logger, Sample, drive};

use crate::error::{AskError, Asked, Failure, NoResult};
use crate::read::Reader;
use crate::roads::course;
use crate::stands::standing::Standing;
use crate::stands::state::State;

/// A car on a track, and how it is logged.
#[derive(Clone, Debug, PartialEq)]
pub struct Question {
    /// A car: its car.toml, or the folder that holds one.
    pub car: PathBuf,
    /// The state in which it is driven.
    pub state: State,
    /// A track: its TOML file.
    pub track: PathBuf,
    /// Values of these files to be changed, as `KEY=VALUE` with a unit.
    pub set: Vec<String>,
    /// The day's grip in place of the track's.
    pub grip: Option<f64>,
    /// How it logs.
    pub logger: Logger,
    /// With semicolons, decimal commas, lines before the table, other units, a clock that passes midnight and positions
    /// at a fifth of the rate.
    pub quirks: bool,
}

/// The question with its files read.
#[derive(Clone, Debug)]
pub struct Ready {
    /// What is unlikely in them.
    pub warnings: Vec<Warning>,
    car: Standing,
    track: TrackFile,
    logger: Logger,
    quirks: bool,
}

/// A log, invented.
#[derive(Clone, Debug)]
#[must_use = "it is to be written"]
pub struct Answer {
    /// The car's name.
    pub car: String,
    /// The track's name.
    pub track: String,
    /// How many rows.
    pub rows: usize,
    /// The model's lap time, s.
    pub lap_time_s: f64,
    /// The log, as CSV.
    pub text: String,
    /// What is unlikely in the files.
    pub warnings: Vec<Warning>,
}

/// Where the invented tracks lie: in the middle of an ocean, where no road is.
const NOWHERE: (f64, f64) = (47.0, -30.0);
/// Longest log, rows.
const ROWS: f64 = 2e6;

impl Question {
    /// Reads the files.
    ///
    /// # Errors
    /// [`Failure`] with [`Asked::Logger`], or with every fault of the car or the track.
    pub fn read(&self, files: &dyn Files) -> Result<Ready, Failure> {
        Reader::run(files, |r| {
            let logger = self.logger;
            let sound = (0.1..=1000.0).contains(&logger.rate_hz) && (1..=1000).contains(&logger.laps);
            let sound = sound && logger.position_noise_m >= 0.0 && logger.wander_m >= 0.0;
            if !(sound && (0.0..0.9).contains(&logger.dropouts)) {
                return Err(Asked::Logger.into());
            }
            let files = r.files();
            let overrides = Overrides::parse(&self.set)?;
            let car = r.standing(&self.car, &self.set, &self.state)?;
            let track = files.track(&self.track, &overrides, self.grip)?;
            r.warn(track.warnings.iter().cloned());
            Ok(Ready { warnings: r.warnings(), car, track, logger, quirks: self.quirks })
        })
    }
}

impl Ready {
    /// Drives it.
    ///
    /// # Errors
    /// [`AskError`] where there is no lap, or where the log would be too long.
    pub fn answer(&self) -> Result<Answer, AskError> {
        let (track, logger) = (&self.track.track, &self.logger);
        let course = course(track, unladen_lap::STEP_M)?;
        let lap = course.lap(&self.car.car).map_err(|source| NoResult::NoLapHere { source })?;
        if lap.time * (logger.laps as f64 + 1.0) * logger.rate_hz > ROWS {
            return Err(Asked::Logger.into());
        }
        let samples = drive(track, &lap.trace(), logger);
        Ok(Answer {
            car: self.car.file.name.clone(),
            track: track.name.clone(),
            rows: samples.len(),
            lap_time_s: lap.time,
            text: if self.quirks { quirky(&samples) } else { plain(&samples) },
            warnings: self.warnings.clone(),
        })
    }
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
