//! The track in plan, coloured by speed, with the names of places and the slowest speed of each corner.

use unladen_track::Pose;

use crate::draw::header::Header;
use crate::draw::look::{INK, Paper, stroke};
use crate::draw::map_key::{Shades, draw_scale};
use crate::draw::picture::{Picture, PlotError};
use crate::draw::svg::Canvas;
use crate::lap::map_road::{Sheet, Words, letters};
use crate::lap::place::Place;
use crate::lap::trace::LapTrace;
use crate::words::number::{distance, kmh, lap_time};

/// What to draw.
#[derive(Clone, Copy, Debug)]
pub struct MapPlot<'a> {
    /// The track's name.
    pub track: &'a str,
    /// A circuit.
    pub closed: bool,
    /// Its named places.
    pub places: &'a [Place],
    /// The middle of the road, in driving order, close enough together that bends look round.
    pub plan: &'a [Pose],
    /// The lap whose speed colours it.
    pub lap: LapTrace<'a>,
}

const ROAD: f64 = 8.0;
const CASING: f64 = 10.4;

/// Draws it.
pub fn map_picture(plot: &MapPlot, paper: Paper) -> Result<Picture, PlotError> {
    if plot.plan.is_empty() || plot.lap.rows.is_empty() {
        return Err(PlotError::Empty { what: "the plan or the lap's trace" });
    }
    let title = finding(plot);
    let subtitle = format!(
        "{} on {}, {}, in {}",
        plot.lap.name,
        plot.track,
        distance(plot.lap.length_m),
        lap_time(plot.lap.lap_time_s, 3)
    );
    let header = Header::plan(&title, &subtitle, paper);
    let sheet = Sheet::new(plot.plan, plot.closed, plot.lap.length_m, header.height, paper);
    let speeds: Vec<f64> = sheet.plan.iter().map(|p| kmh(plot.lap.speed_at(p.s))).collect();
    let (top_mps, low_mps) = plot.lap.extremes();
    let shades = Shades::over(kmh(low_mps), kmh(top_mps));

    let mut canvas = Canvas::new("map", paper.width, sheet.height);
    header.draw(&mut canvas);
    draw_road(&mut canvas, &sheet, &speeds, &shades);
    let mut room = sheet.room(CASING);
    for mark in sheet.draw_marks(&mut canvas) {
        room.take(mark);
    }
    let size = letters(plot.places.len());
    let wanted = plot.places.iter().map(|p| Words::of(p, slowest(plot, p), size, p.length_m, &sheet)).collect();
    let dropped = sheet.draw_words(&mut canvas, wanted, size, &mut room);
    let mut words = "speed, km/h; beside the corners their slowest".to_owned();
    if dropped > 0 {
        words += &format!("; {dropped} of {} names had no room", plot.places.len());
    }
    shades.draw_key(&mut canvas, sheet.foot, &words, paper);
    draw_scale(&mut canvas, sheet.scale, sheet.foot, paper);
    let alt = format!("Plan of {}, coloured from slow, dark, to fast, light. {title}.", plot.track);
    canvas.finish(&title, &alt)
}

fn finding(plot: &MapPlot) -> String {
    let length = plot.lap.length_m;
    let corners = plot.places.iter().filter(|p| p.is_corner());
    let slow = corners.filter_map(|p| Some((plot.lap.slowest_in(p)?.v, p))).min_by(|a, b| a.0.total_cmp(&b.0));
    let fast = plot.lap.rows.iter().max_by(|a, b| a.v.total_cmp(&b.v));
    let mut said: Vec<String> = slow.map(|(v, p)| format!("{:.0} km/h {}", kmh(v), p.phrase())).into_iter().collect();
    if let Some(row) = fast {
        let here = |p: &&Place| p.pieces(length).iter().any(|(from, to)| row.s >= *from && row.s <= *to);
        let at = plot.places.iter().find(here).map_or_else(String::new, |p| format!(" {}", p.phrase()));
        said.push(format!("{:.0} km/h{at}", kmh(row.v)));
    }
    format!("{} {}", if said.len() > 1 { "From" } else { "Up to" }, said.join(" to "))
}

fn slowest(plot: &MapPlot, place: &Place) -> String {
    match plot.lap.slowest_in(place) {
        Some(row) if place.is_corner() => format!("{:.0}", kmh(row.v)),
        _ => String::new(),
    }
}

/// A casing, then one line for each stretch of one shade.
fn draw_road(canvas: &mut Canvas, sheet: &Sheet, speeds: &[f64], shades: &Shades) {
    canvas.part("road", |canvas| {
        sheet.bridge(canvas, ROAD);
        if sheet.meets(ROAD) {
            canvas.ring(&sheet.road, stroke(INK, CASING));
        } else {
            canvas.line(&sheet.road, stroke(INK, CASING));
        }
        for (run, shade) in sheet.runs(|i| shades.of(speeds[i])) {
            canvas.line(&sheet.road[run], stroke(shades.colour(shade), ROAD));
        }
    });
}
