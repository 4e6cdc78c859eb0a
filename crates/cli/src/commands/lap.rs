//! `unladen lap`.

use std::process::ExitCode;

use unladen_lap::{Course, Lap, Row};
use unladen_report::draw::picture::{Picture, PlotError, check_plot, save_plot};
use unladen_report::lap::gg::{GgPlot, gg_picture};
use unladen_report::lap::json::{LapSummary, lap_csv};
use unladen_report::lap::map::{MapPlot, map_picture};
use unladen_report::lap::place::{Place, places};
use unladen_report::lap::speed::{SpeedPlot, speed_picture};
use unladen_report::lap::text::lap_text;
use unladen_report::lap::trace::LapTrace;
use unladen_report::words::table::paragraph;
use unladen_report::worth::text::NOT_MODELLED;
use unladen_study::envelope::envelope;
use unladen_study::{Caveat, sound_lap};
use unladen_track::Track;
use unladen_vehicle::Car;

use crate::args::LapArgs;
use crate::error::CliError;
use crate::inputs::{course, read};
use crate::output::{check_outputs, deliver, note, same};
use crate::stack::stacked;

/// Laps the car and says how it went.
pub fn run(args: &LapArgs) -> Result<ExitCode, CliError> {
    check_outputs(&args.run)?;
    if let Some(path) = &args.gg {
        check_plot(path)?;
        if [&args.run.plot, &args.run.csv].into_iter().flatten().any(|other| same(path, other)) {
            return Err(CliError::SameOutput { path: path.clone() });
        }
    }
    let inputs = read(&args.car, &[(args.track.clone(), 1.0)], &args.run)?;
    let (car, track) = (&inputs.car, &inputs.tracks[0].0.track);
    let course = course(track, args.run.step)?;
    let lap = sound_lap(&course, &car.car)?;
    let rows = course.trace(&lap);
    let places = places(track);
    let trace = trace(&car.name, &rows, &lap, track);
    let summary = LapSummary::of(&trace, &places);
    let caveats = Caveat::of(&course, &lap);
    if args.run.json {
        caveats.iter().for_each(|caveat| note(&format!("warning: {caveat}\n")));
    }
    let text = || {
        let warned: String = caveats.iter().map(|c| paragraph(&format!("warning: {c}"))).collect();
        format!("{}\n{warned}{}", lap_text(&car.name, &track.name, &summary), paragraph(NOT_MODELLED))
    };
    if let Some(path) = &args.gg {
        save_plot(path, || cloud(lap.car(), trace, track))?;
    }
    deliver(
        &args.run,
        || Ok(lap_csv(&rows)?),
        || sheet(&course, trace, &places),
        || if args.run.json { Ok(summary.json()?) } else { Ok(text()) },
    )?;
    Ok(ExitCode::SUCCESS)
}

fn trace<'a>(name: &'a str, rows: &'a [Row], lap: &Lap, track: &Track) -> LapTrace<'a> {
    LapTrace { name, rows, length_m: track.length(), lap_time_s: lap.time, lap_time_error_s: lap.error }
}

/// Speed over distance, and the map below it.
fn sheet(course: &Course, lap: LapTrace, places: &[Place]) -> Result<Picture, PlotError> {
    let track = course.track();
    let speed = speed_picture(&SpeedPlot { track: &track.name, places, laps: &[lap] })?;
    let plan = track.outline(MAP_STEP_M);
    let map = map_picture(&MapPlot { track: &track.name, closed: track.closed, places, plan: &plan, lap })?;
    stacked(vec![speed, map])
}

/// Accelerations inside what the car can do at its slowest, in the middle and at its fastest.
fn cloud(car: &Car, lap: LapTrace, track: &Track) -> Result<Picture, PlotError> {
    let (slow, fast) = lap.rows.iter().fold((f64::INFINITY, 0.0f64), |(l, h), row| (l.min(row.v), h.max(row.v)));
    // A standing start is no speed to corner at.
    let slow = slow.max(0.3 * fast);
    let speeds = [slow, 0.5 * (slow + fast), fast];
    let limits: Vec<_> = speeds.into_iter().map(|v| (v, envelope(car, v).edge)).collect();
    gg_picture(&GgPlot { track: &track.name, lap, limits: &limits })
}

/// Points of the map, m apart at most.
const MAP_STEP_M: f64 = 2.0;
