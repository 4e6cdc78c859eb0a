//! The lap in stretches, and what is predicted to be gained on each; the fuel that a lap burns.

use unladen_lap::{Course, Row};
use unladen_study::sound_lap;
use unladen_track::Track;
use unladen_vehicle::Car;

use crate::error::AskError;

/// A stretch of the lap.
#[derive(Clone, Debug, PartialEq)]
pub struct Stretch {
    /// The places of the track on it, where it has names.
    pub name: Option<String>,
    /// From and to along the lap, m.
    pub span_m: [f64; 2],
    /// What is predicted to be gained on it, s.
    pub gain_s: f64,
}

/// As many as a log of 10 Hz tells apart.
const COUNT: usize = 8;

/// The lap in eight, and what the second car gains on each.
pub(crate) fn stretches(course: &Course, before: &Car, after: &Car) -> Result<Vec<Stretch>, AskError> {
    let [before, after] = [sound_lap(course, before)?.trace(), sound_lap(course, after)?.trace()];
    let track = course.track();
    let length = before.last().map_or(0.0, |r| r.s);
    let of = |i: usize| {
        let span_m = [i, i + 1].map(|k| length * k as f64 / COUNT as f64);
        let takes = |rows: &[Row]| time_at(rows, span_m[1]) - time_at(rows, span_m[0]);
        Stretch { name: names(track, span_m), span_m, gain_s: takes(&before) - takes(&after) }
    };
    Ok((0..COUNT).map(of).collect())
}

/// When a lap passes a distance.
fn time_at(rows: &[Row], s: f64) -> f64 {
    let k = rows.partition_point(|r| r.s < s).clamp(1, rows.len() - 1);
    let (a, b) = (&rows[k - 1], &rows[k]);
    if b.s > a.s { a.t + (b.t - a.t) * ((s - a.s) / (b.s - a.s)).clamp(0.0, 1.0) } else { b.t }
}

/// Named places whose middle lies on it.
fn names(track: &Track, [from, to]: [f64; 2]) -> Option<String> {
    let mut at = 0.0;
    let mut found: Vec<&str> = Vec::new();
    for segment in &track.segments {
        let middle = at + 0.5 * segment.length;
        at += segment.length;
        if let Some(name) = segment.place.as_deref().filter(|n| (from..to).contains(&middle) && !found.contains(n)) {
            found.push(name);
        }
    }
    (!found.is_empty()).then(|| found.join(", "))
}

/// What a spark-ignited engine at full load makes of its fuel at the wheels, and what a kilogram holds, J: 42.5 MJ.
/// Judgement and the usual lower heating value of petrol, from memory.
const EFFICIENCY: f64 = 0.23;
const HEATING_J_KG: f64 = 42.5e6;
const G: f64 = 9.806_65;

/// Fuel that a lap burns, kg, from the work that it takes: a first guess.
pub(crate) fn burnt_kg(course: &Course, car: &Car) -> Result<f64, AskError> {
    let rows = sound_lap(course, car)?.trace();
    let force = |r: &Row| {
        let drag = 0.5 * course.day().rho * car.aero.cd_a * r.v * r.v;
        (car.mass.m * (r.a_x + car.aero.c_rr * G) + drag).max(0.0)
    };
    let work: f64 = rows.windows(2).map(|w| 0.5 * (force(&w[0]) + force(&w[1])) * (w[1].s - w[0].s)).sum();
    Ok(work / (EFFICIENCY * HEATING_J_KG))
}
