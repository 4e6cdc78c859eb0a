//! An invented drive, written as loggers write one, and what must come out of it whatever its dialect.

mod copies;
mod dialects;
mod laps;
mod mirrored;

use std::f64::consts::PI;
use std::fmt::Write;

use unladen_positions::{Noise, Plane};

use super::{Ask, Survey, SurveyError, survey, survey_telling};
use crate::log::Mapping;

/// Somewhere in the middle of an ocean, west and north.
pub(super) const WEST: (f64, f64) = (47.2, -30.4);

/// A row of the drive.
#[derive(Clone, Copy, Debug)]
pub(super) struct Row {
    /// s.
    pub(super) t: f64,
    /// m east and north.
    pub(super) at: [f64; 2],
    /// m/s.
    pub(super) v: f64,
    /// m.
    pub(super) height: f64,
    /// To the left, rad/s.
    pub(super) yaw: f64,
    /// From 0.
    pub(super) lap: usize,
}

/// Where the road is at this angle about the middle, rad: a limaçon driven to the left.
fn road(angle: f64) -> [f64; 2] {
    let reach = 150.0 + 50.0 * angle.cos();
    [reach * angle.cos(), reach * angle.sin()]
}

/// Area of the limaçon r = a + b cos θ: π (a² + b²/2).
const AREA: f64 = PI * (150.0 * 150.0 + 50.0 * 50.0 / 2.0);

/// So many laps, each in so many seconds, at so many rows a second; begun a radian behind the start line, with the time
/// since it.
pub(super) fn drive(lap_s: &[f64], rate: f64) -> Vec<Row> {
    let (mut rows, mut lap, mut angle) = (Vec::new(), 0usize, 1.0f64);
    let mut t = lap_s[0] / (2.0 * PI);
    while lap < lap_s.len() {
        let d_angle = 2.0 * PI / lap_s[lap];
        let [p, q, r] = [-1e-3, 0.0, 1e-3].map(|d| road(angle + d));
        let (a, b) = ([(r[0] - p[0]) / 2e-3, (r[1] - p[1]) / 2e-3], [0, 1].map(|k| (r[k] - 2.0 * q[k] + p[k]) / 1e-6));
        let v = a[0].hypot(a[1]) * d_angle;
        let yaw = (a[0] * b[1] - a[1] * b[0]) / (a[0] * a[0] + a[1] * a[1]) * d_angle;
        rows.push(Row { t, at: q, v, height: 40.0 + 3.0 * angle.sin(), yaw, lap });
        t += 1.0 / rate;
        angle += d_angle / rate;
        if angle >= 2.0 * PI {
            angle -= 2.0 * PI;
            lap += 1;
        }
    }
    rows
}

/// Three laps and a half of 40 s at 10 Hz, each like the others.
pub(super) fn exact() -> Vec<Row> {
    let mut rows = drive(&[40.0; 4], 10.0);
    rows.truncate(1400);
    rows
}

/// The same, a little off.
pub(super) fn usual() -> Vec<Row> {
    noisy(exact(), 0.05, 1)
}

/// With positions off by so much, m.
pub(super) fn noisy(mut rows: Vec<Row>, sd_m: f64, seed: u64) -> Vec<Row> {
    let mut noise = Noise::new(seed);
    rows.iter_mut().for_each(|r| r.at = r.at.map(|x| x + sd_m * noise.normal()));
    rows
}

impl Row {
    /// Latitude and longitude.
    pub(super) fn degrees(&self) -> (f64, f64) {
        Plane::about(WEST.0, WEST.1).to_degrees(self.at)
    }

    /// A time of day from 10:58:30 on, over the full hour.
    pub(super) fn clock(&self) -> (u32, u32, f64) {
        // In whole hundredths, so that no second rounds up to 60.
        let hundredths = ((10.0 * 3600.0 + 58.0 * 60.0 + 30.0 + self.t) * 100.0).round() as u32;
        (hundredths / 360_000, hundredths / 6000 % 60, f64::from(hundredths % 6000) / 100.0)
    }

    /// The same with a date.
    pub(super) fn instant(&self) -> String {
        let (h, m, s) = self.clock();
        format!("2001-09-09T{h:02}:{m:02}:{s:05.2}Z")
    }
}

/// A CSV of these rows.
pub(super) fn csv(head: &str, rows: &[Row], line: impl Fn(&Row) -> String) -> String {
    let mut text = format!("{head}\n");
    rows.iter().for_each(|r| {
        let _ = writeln!(text, "{}", line(r));
    });
    text
}

/// A plain one.
pub(super) fn plain(rows: &[Row]) -> String {
    csv("time (s),latitude (deg),longitude (deg)", rows, |r| {
        let (lat, lon) = r.degrees();
        format!("{:.2},{lat:.8},{lon:.8}", r.t)
    })
}

/// Degrees and minutes run together, and the letter of the half.
pub(super) fn minutes(degrees: f64, letters: [char; 2]) -> (String, char) {
    let size = degrees.abs();
    let text = format!("{:.6}", size.floor() * 100.0 + (size - size.floor()) * 60.0);
    (text, letters[usize::from(degrees < 0.0)])
}

pub(super) fn surveyed(text: &str, ask: &Ask) -> Result<Survey, SurveyError> {
    survey(&[("drive".into(), text.as_bytes().to_vec())], ask)
}

pub(super) fn saying(columns: &[&str], units: &[&str]) -> Ask {
    let mut mapping = Mapping::default();
    columns.iter().for_each(|c| mapping.set_column(c).unwrap());
    units.iter().for_each(|u| mapping.set_unit(u).unwrap());
    Ask { mappings: vec![mapping], ..Ask::default() }
}

/// Everything that was told, a line each.
pub(super) fn told(found: &Survey) -> String {
    found.notes.iter().map(|n| format!("{n}\n")).collect()
}

/// What a failed import said: what it took for what, and the fault.
pub(super) fn failed(text: &str, ask: &Ask) -> (String, String) {
    let mut notes = Vec::new();
    let fault = survey_telling(&[("drive".into(), text.as_bytes().to_vec())], ask, &mut notes).unwrap_err();
    (notes.iter().map(|n| format!("{n}\n")).collect(), fault.to_string())
}

/// Area within a run, m², positive where it turns left.
pub(super) fn area(points: &[[f64; 2]]) -> f64 {
    (0..points.len())
        .map(|i| {
            let (p, q) = (points[i], points[(i + 1) % points.len()]);
            0.5 * (p[0] * q[1] - p[1] * q[0])
        })
        .sum()
}

/// Two whole laps of 40 s, each round the limaçon's area to the left.
pub(super) fn holds(what: &str, found: &Survey) {
    let all = told(found);
    assert!(found.closed && found.runs.len() == 2, "{what}: {} runs\n{all}", found.runs.len());
    for (run, (_, time_s)) in found.runs.iter().zip(&found.times) {
        assert!((time_s - 40.0).abs() < 0.05, "{what}: a lap in {time_s} s\n{all}");
        assert!((area(&run.points) / AREA - 1.0).abs() < 0.01, "{what}: area {}\n{all}", area(&run.points));
    }
}
