//! The answer to "how does it lap": its text and its pictures.

use unladen_questions::advised;
use unladen_questions::lap::Answer;
use unladen_study::envelope::envelope;
use unladen_vehicle::Model;

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
    gg_picture(&GgPlot { track: &v.track.name, lap: trace(&v.name, v), limits: &limits })
}
