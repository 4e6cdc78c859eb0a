//! A log's laps as speed and gear over the track's distance.

use unladen_garage::Survey;
use unladen_garage::log::{Log, Quantity};
use unladen_positions::{Alignment, Line, Run};
use unladen_study::fit::{LoggedLap, gear_of};
use unladen_vehicle::Car;

/// Every lap: the speed channel where there is one, the positions' own otherwise; gears as logged, or by engine and
/// road speed.
pub fn laps(found: &Survey, line: &Line, lies: &Alignment, log: &Log, car: &Car) -> Vec<LoggedLap> {
    found.runs.iter().zip(&found.times).map(|(run, times)| lap(run, times, line, lies, (log, car))).collect()
}

struct Sample {
    s: f64,
    v: f64,
    gear: u8,
}

fn lap(
    run: &Run,
    &(from_s, time_s): &(f64, f64),
    line: &Line,
    lies: &Alignment,
    (log, car): (&Log, &Car),
) -> LoggedLap {
    let s = lies.distances(line, run);
    let speed = log.channel(Quantity::Speed);
    let mut all: Vec<Sample> = Vec::new();
    for i in 0..run.points.len() {
        let row = log.t.partition_point(|x| *x < from_s + run.t[i] - 1e-6).min(log.t.len() - 1);
        let v = match speed {
            Some(channel) => channel[row],
            None => {
                let (a, b) = (i.saturating_sub(3), (i + 3).min(run.points.len() - 1));
                let d = (run.points[b][0] - run.points[a][0]).hypot(run.points[b][1] - run.points[a][1]);
                d / (run.t[b] - run.t[a]).max(1e-6)
            }
        };
        if v.is_finite() {
            all.push(Sample { s: s[i], v, gear: gear(log, row, v, car) });
        }
    }
    // From the track's start line on, wherever the log's laps begin.
    all.sort_by(|a, b| a.s.total_cmp(&b.s));
    LoggedLap {
        s_m: all.iter().map(|p| p.s).collect(),
        v_mps: all.iter().map(|p| p.v).collect(),
        gear: if all.iter().any(|p| p.gear > 0) { all.iter().map(|p| p.gear).collect() } else { Vec::new() },
        time_s,
    }
}

/// The gear of a row, 0 for not known.
fn gear(log: &Log, row: usize, v: f64, car: &Car) -> u8 {
    if let Some(gear) = log.channel(Quantity::Gear) {
        return if (1.0..20.0).contains(&gear[row]) { gear[row].round() as u8 } else { 0 };
    }
    log.channel(Quantity::EngineSpeed).map_or(0, |omega| gear_of(car, omega[row], v))
}

/// Engine speed, road speed and gear of every row that has the first two.
pub fn gear_samples(log: &Log) -> Vec<(f64, f64, u8)> {
    let (Some(omega), Some(v)) = (log.channel(Quantity::EngineSpeed), log.channel(Quantity::Speed)) else {
        return Vec::new();
    };
    let gear = log.channel(Quantity::Gear);
    let of = |i: usize| {
        (omega[i], v[i], gear.map_or(0, |g| if (1.0..20.0).contains(&g[i]) { g[i].round() as u8 } else { 0 }))
    };
    (0..v.len()).map(of).filter(|s| s.0.is_finite() && s.1.is_finite()).collect()
}
