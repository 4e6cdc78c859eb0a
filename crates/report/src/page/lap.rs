//! The laps: speed, which limit rules where, the map, and the time in each place.

use maud::{Markup, html};

use unladen_questions::lap::Answer;

use crate::draw::picture::{Drawn, PlotError};
use crate::lap::answer::{MAP_STEP_M, trace};
use crate::lap::json::LapSummary;
use crate::lap::map::{MapPlot, map_picture};
use crate::lap::place::places;
use crate::lap::speed::{SpeedPlot, speed_picture};
use crate::lap::text::{ruling, time_with_error};
use crate::page::parts::{Table, figure, number, words};
use crate::page::{Section, slug};
use crate::words::number::{distance, fixed, kmh};

/// A heading, the pictures and the sectors of each track; beside each lap its 90 % interval from the uncertain
/// inputs, s.
pub fn section(laps: &[(&Answer, Option<[f64; 2]>)]) -> Result<Section, PlotError> {
    let each = laps.iter().enumerate().map(|(i, lap)| one(i, lap.0, lap.1)).collect::<Result<Vec<_>, _>>()?;
    Ok(Section {
        id: "laps".into(),
        title: "The laps as it stands".into(),
        body: html! {
            p { "The fastest lap that physics allows this car and driver, solved for each track." }
            @for lap in each { (lap) }
        },
    })
}

fn one(i: usize, v: &Answer, interval_s: Option<[f64; 2]>) -> Result<Markup, PlotError> {
    let (track, lap, places) = (&v.track, trace(&v.name, v), places(&v.track));
    let plan = track.outline(MAP_STEP_M);
    let speed = SpeedPlot { track: &track.name, places: &places, laps: &[lap] };
    let speed = Drawn::of(|paper| speed_picture(&speed, paper))?;
    let map = MapPlot { track: &track.name, closed: track.closed, places: &places, plan: &plan, lap };
    let map = Drawn::of(|paper| map_picture(&map, paper))?;
    let summary = LapSummary::of(&lap, &places, &v.along);
    let mut sectors = Table::new(
        &format!("Time in each place of {}", track.name),
        &[("place", false), ("from, m", true), ("length, m", true), ("time, s", true)],
    );
    for s in &summary.sectors {
        sectors.row(vec![
            words(&s.place),
            number(fixed(s.s_m, 0), s.s_m),
            number(fixed(s.length_m, 0), s.length_m),
            number(fixed(s.time_s, 3), s.time_s),
        ]);
    }
    let id = format!("lap-{i}-{}", slug(&track.name));
    Ok(html! {
        h3 id=(id) { (track.name) }
        p {
            (time_with_error(summary.lap_time_s, summary.lap_time_error_s, interval_s)) ", "
            (fixed(kmh(summary.min_speed_mps), 0)) " to " (fixed(kmh(summary.top_speed_mps), 0)) " km/h over "
            (distance(summary.length_m)) ". Ruled by " (ruling(&summary.limits.0)) "."
        }
        (figure(&speed, "Speed along the lap; beneath it which limit rules where."))
        (figure(&map, "The track in plan, coloured by speed."))
        @if !summary.sectors.is_empty() { (sectors.html()) }
    })
}
