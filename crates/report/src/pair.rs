//! Two laps of one track side by side: speed with the gap between them, and the map of where it comes from.

use unladen_questions::compare::{self, Day, LETTERS};
use unladen_questions::relocate;
use unladen_study::compare::builds::OnTrack;
use unladen_track::Track;

use crate::draw::look::Paper;
use crate::draw::picture::{Picture, PlotError};
use crate::lap::gain_map::{GainPlot, gain_picture};
use crate::lap::place::places;
use crate::lap::speed::{SpeedPlot, speed_picture};
use crate::lap::trace::LapTrace;
use crate::words::number::fixed;

/// Points of the map, m apart at most.
const MAP_STEP_M: f64 = 2.0;

/// Speed and map of two laps, the first the one compared with; `name` says where and when.
pub fn pair_pictures(name: &str, track: &Track, laps: [LapTrace; 2], paper: Paper) -> Result<[Picture; 2], PlotError> {
    let (places, plan) = (places(track), track.outline(MAP_STEP_M));
    let speed = speed_picture(&SpeedPlot { track: name, places: &places, laps: &laps }, paper)?;
    let plot = GainPlot { track: name, closed: track.closed, places: &places, plan: &plan, laps };
    Ok([speed, gain_picture(&plot, paper)?])
}

fn of(
    name: &str,
    names: [&str; 2],
    track: &Track,
    found: &OnTrack,
    error_s: f64,
    paper: Paper,
) -> Result<[Picture; 2], PlotError> {
    let lap = |i: usize| LapTrace {
        name: names[i],
        rows: &found.rows[i],
        length_m: track.length(),
        lap_time_s: found.times_s[i],
        // The two have most of their errors in common; that of the difference is known.
        lap_time_error_s: 0.5 * error_s,
    };
    pair_pictures(name, track, [lap(0), lap(1)], paper)
}

/// Both builds on a day on each track, set as in the verdict.
pub fn of_day(day: &Day, tracks: &[Track], paper: Paper) -> Result<Vec<[Picture; 2]>, PlotError> {
    let all = tracks.iter().zip(&day.found.tracks);
    all.map(|(track, found)| {
        let set = if day.found.retuned.is_some() { "re-tuned" } else { "as set" };
        let name = format!("{}, {}, {set}", found.track, day.name);
        of(&name, LETTERS, track, found, compare::Answer::counts(&day.found).error_s, paper)
    })
    .collect()
}

/// All days of a comparison, one after the other.
pub fn of_days(v: &compare::Answer, paper: Paper) -> Result<Vec<Picture>, PlotError> {
    let days = v.days.iter().map(|day| of_day(day, &v.roads, paper)).collect::<Result<Vec<_>, _>>()?;
    Ok(days.into_iter().flatten().flatten().collect())
}

/// Before and after a move on each track, half of the stint's fuel aboard.
pub fn of_move(v: &relocate::Answer, paper: Paper) -> Result<Vec<[Picture; 2]>, PlotError> {
    let fuel = v.relocation.fuel.map(|_| format!(", {} L of fuel", fixed(0.5e3 * (v.stint[0] + v.stint[1]), 0)));
    let tuned = if v.answer.retuned.is_some() { ", re-tuned" } else { "" };
    let all = v.roads.iter().zip(&v.answer.tracks);
    all.map(|(track, found)| {
        let name = format!("{}{}{tuned}", found.track, fuel.as_deref().unwrap_or_default());
        of(&name, ["the old place", "the new place"], track, found, v.counts().error_s, paper)
    })
    .collect()
}
