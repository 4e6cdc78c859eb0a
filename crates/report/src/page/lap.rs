//! The laps: speed, which limit rules where, the map, and the time in each place.

use maud::{Markup, html};

use crate::draw::picture::PlotError;
use crate::lap::json::LapSummary;
use crate::lap::map::{MapPlot, map_picture};
use crate::lap::place::Place;
use crate::lap::speed::{SpeedPlot, speed_picture};
use crate::lap::text::{ruling, time_with_error};
use crate::lap::trace::LapTrace;
use crate::page::parts::{Table, figure, number, words};
use crate::page::{Section, slug};
use crate::words::number::{distance, fixed, kmh};
use unladen_track::Pose;

/// A lap on one track.
#[derive(Clone, Debug)]
pub struct LapView<'a> {
    /// The track's name.
    pub track: &'a str,
    /// A circuit.
    pub closed: bool,
    /// Its named places.
    pub places: &'a [Place],
    /// The middle of the road.
    pub plan: &'a [Pose],
    /// The lap.
    pub lap: LapTrace<'a>,
    /// Its standard deviation from the uncertain inputs, s.
    pub sd_s: Option<f64>,
    /// What to know besides.
    pub warnings: &'a [String],
}

/// A heading, the pictures and the sectors of each track.
pub fn section(laps: &[LapView]) -> Result<Section, PlotError> {
    let each = laps.iter().enumerate().map(|(i, lap)| one(i, lap)).collect::<Result<Vec<_>, _>>()?;
    Ok(Section {
        id: "laps".into(),
        title: "The laps as it stands".into(),
        body: html! {
            p { "The fastest lap that physics allows this car and driver, solved for each track." }
            @for lap in each { (lap) }
        },
    })
}

fn one(i: usize, v: &LapView) -> Result<Markup, PlotError> {
    let speed = speed_picture(&SpeedPlot { track: v.track, places: v.places, laps: &[v.lap] })?;
    let map = map_picture(&MapPlot { track: v.track, closed: v.closed, places: v.places, plan: v.plan, lap: v.lap })?;
    let summary = LapSummary::of(&v.lap, v.places);
    let mut sectors = Table::new(
        &format!("Time in each place of {}", v.track),
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
    let id = format!("lap-{i}-{}", slug(v.track));
    Ok(html! {
        h3 id=(id) { (v.track) }
        p {
            (time_with_error(summary.lap_time_s, summary.lap_time_error_s, v.sd_s)) ", "
            (fixed(kmh(summary.min_speed_mps), 0)) " to " (fixed(kmh(summary.top_speed_mps), 0)) " km/h over "
            (distance(summary.length_m)) ". Ruled by " (ruling(&summary.limits.0)) "."
        }
        @for warning in v.warnings { p.caution { "Warning: " (warning) } }
        (figure(&speed, &format!("s{i}-"), "Speed along the lap; beneath it which limit rules where."))
        (figure(&map, &format!("m{i}-"), "The track in plan, coloured by speed."))
        @if !summary.sectors.is_empty() { (sectors.html()) }
    })
}
