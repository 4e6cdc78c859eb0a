//! The answer to "how does it lap": its text and its pictures.

use unladen_lap::Row;
use unladen_questions::advised;
use unladen_questions::lap::Answer;
use unladen_study::envelope::envelope;
use unladen_track::Pose;
use unladen_vehicle::Model;
use unladen_vehicle::car::G;

use crate::draw::look::Paper;
use crate::draw::picture::{Picture, PlotError, stacked};
use crate::lap::gg::{GgPlot, gg_picture};
use crate::lap::json::LapSummary;
use crate::lap::map::{MapPlot, map_picture};
use crate::lap::place::places;
use crate::lap::speed::{SpeedPlot, speed_picture};
use crate::lap::text::lap_text;
use crate::lap::trace::LapTrace;
use crate::words::said::NOT_MODELLED;
use crate::words::state;
use crate::words::table::paragraph;

/// Points of the map, m apart at most.
pub const MAP_STEP_M: f64 = 2.0;

/// The lap as tables and pictures take it, under a name of its own.
pub fn trace<'a>(name: &'a str, v: &'a Answer) -> LapTrace<'a> {
    LapTrace { name, rows: &v.rows, length_m: v.track.length(), lap_time_s: v.time_s, lap_time_error_s: v.error_s }
}

/// The lap in figures.
pub fn summary(v: &Answer) -> LapSummary {
    let interval = v.range.as_ref().map(|r| r.interval_s);
    LapSummary {
        lap_time_interval_90_s: interval,
        state: Some(state::json(&v.state)),
        ..LapSummary::of(&trace(&v.name, v), &places(&v.track), &v.along)
    }
}

/// The whole text.
pub fn answer_text(v: &Answer) -> String {
    let warned: String = v.caveats.iter().map(|c| paragraph(&format!("warning: {}", advised(c)))).collect();
    let stands = paragraph(&state::state(&v.state));
    format!("{}\n{stands}{warned}{}", lap_text(&v.name, &v.track.name, &summary(v)), paragraph(NOT_MODELLED))
}

/// Speed over distance, and the map below it.
pub fn sheet(v: &Answer) -> Result<Picture, PlotError> {
    let paper = Paper::FILE;
    let (track, places) = (&v.track, places(&v.track));
    let lap = trace(&v.name, v);
    let speed = speed_picture(&SpeedPlot { track: &track.name, places: &places, laps: &[lap] }, paper)?;
    let plan = track.outline(MAP_STEP_M);
    let map = MapPlot { track: &track.name, closed: track.closed, places: &places, plan: &plan, lap };
    let map = map_picture(&map, paper)?;
    stacked(vec![speed, map])
}

/// Accelerations inside what the car can do at its slowest, in the middle and at its fastest.
pub fn cloud(v: &Answer) -> Result<Picture, PlotError> {
    let (slow, fast) = v.rows.iter().fold((f64::INFINITY, 0.0f64), |(l, h), row| (l.min(row.v), h.max(row.v)));
    // A standing start is no speed to corner at.
    let slow = slow.max(0.3 * fast);
    let model = Model::new(&v.car, v.day);
    let speeds = [slow, 0.5 * (slow + fast), fast];
    let limits: Vec<_> = speeds.into_iter().map(|speed| (speed, envelope(&model, speed).edge)).collect();
    let plan = v.track.outline(MAP_STEP_M);
    let level: Vec<Row> = v.rows.iter().map(|row| levelled(v, row, &plan)).collect();
    gg_picture(&GgPlot { track: &v.track.name, lap: trace(&v.name, v), level: &level, limits: &limits })
}

/// What the tyres did there as it would look on a level road, which the edges are of: with the pull of the slope, and in
/// proportion to the load that bank, crests and dips put on them (`docs/model.md` §2: N = m A_n + downforce).
fn levelled(v: &Answer, row: &Row, plan: &[Pose]) -> Row {
    let (car, load) = (&v.car, row.load.iter().sum::<f64>());
    let down = 0.5 * v.day.rho * row.v * row.v * (car.aero.cf_a + car.aero.cr_a);
    let level = (car.mass.m * G + down) / load;
    let level = if level.is_finite() && level > 0.0 { level } else { 1.0 };
    let ahead = plan.partition_point(|p| p.s <= row.s).clamp(1, plan.len().max(2) - 1);
    let slope = match (plan.get(ahead - 1), plan.get(ahead)) {
        (Some(a), Some(b)) if b.s > a.s => (b.z - a.z) / (b.s - a.s),
        _ => 0.0,
    };
    let pull = G * slope.atan().sin();
    Row { a_x: (row.a_x + pull) * level, a_y: row.a_y * level, ..*row }
}
