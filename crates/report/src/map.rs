//! The track in plan, coloured by speed, with the names of places and the slowest speed of each corner.

use unladen_track::Pose;

use crate::font::Face;
use crate::header::Header;
use crate::look::{INK, LABEL, PAPER, RULE, SMALL, WIDTH, stroke};
use crate::map_key::{Shades, draw_scale};
use crate::number::{distance, kmh, lap_time};
use crate::picture::{Picture, PlotError};
use crate::place::Place;
use crate::place_labels::{Box2, Room, Spot};
use crate::plan::{Fitted, resampled};
use crate::svg::{Anchor, Canvas, Point, Text, centred, label, small};
use crate::trace::LapTrace;

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
/// Room for labels round the plan, px.
const SIDE: f64 = 110.0;
const ABOVE: f64 = 44.0;
const TALLEST: f64 = 560.0;
const FOOT: f64 = 62.0;
/// More names than this are not even tried, the shortest places first.
const MOST_NAMES: usize = 120;

/// Draws it.
pub fn map_picture(plot: &MapPlot) -> Result<Picture, PlotError> {
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
    let header = Header::plan(&title, &subtitle, WIDTH);
    let fitted = Fitted::new(plot.plan, WIDTH - 2.0 * SIDE, TALLEST);
    let top = header.height + ABOVE;
    let height = top + fitted.size.1 + ABOVE + FOOT;
    let left = 0.5 * (WIDTH - fitted.size.0);
    let plan = resampled(plot.plan, 3.0 / fitted.scale);
    let road: Vec<Point> = plan.iter().map(|p| fitted.at(p)).map(|(x, y)| (left + x, top + y)).collect();
    let speeds: Vec<f64> = plan.iter().map(|p| kmh(plot.lap.speed_at(p.s))).collect();
    let (top_mps, low_mps) = plot.lap.extremes();
    let shades = Shades::over(kmh(low_mps), kmh(top_mps));

    let mut canvas = Canvas::new("map", WIDTH, height);
    header.draw(&mut canvas);
    draw_road(&mut canvas, &road, &speeds, &shades, plot.closed);
    let marks = draw_marks(&mut canvas, &road, &plan, plot);
    let bounds = Box2 {
        centre: (0.5 * WIDTH, 0.5 * (header.height + height - FOOT)),
        half: (0.5 * WIDTH - 8.0, 0.5 * (height - FOOT - header.height) - 2.0),
    };
    let mut room = Room::new(bounds, road.clone(), 0.5 * CASING + 2.0);
    for mark in marks {
        room.take(mark);
    }
    let dropped = draw_names(&mut canvas, plot, &plan, &road, &mut room);
    let mut words = "speed, km/h; beside the corners their slowest".to_owned();
    if dropped > 0 {
        words += &format!("; {dropped} of {} names had no room", plot.places.len());
    }
    shades.draw_key(&mut canvas, height - FOOT + 18.0, &words);
    draw_scale(&mut canvas, fitted.scale, height - FOOT + 18.0);
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

/// A casing, then one line for each stretch of one shade; each shares a piece with the next, so that no gap shows. A circuit
/// that doesn't close as measured gets a thin line across.
fn draw_road(canvas: &mut Canvas, road: &[Point], speeds: &[f64], shades: &Shades, closed: bool) {
    canvas.part("road", |canvas| {
        let (first, last) = (road[0], road[road.len() - 1]);
        let gap = (last.0 - first.0).hypot(last.1 - first.1);
        if closed && gap <= ROAD {
            canvas.ring(road, stroke(INK, CASING));
        } else {
            if closed {
                canvas.line(&[last, first], stroke(RULE, 1.2));
            }
            canvas.line(road, stroke(INK, CASING));
        }
        let mut start = 0;
        for i in 1..=road.len() {
            let here = shades.of(speeds[start]);
            if i == road.len() || shades.of(speeds[i]) != here {
                let end = (i + 2).min(road.len());
                canvas.line(&road[start..end], stroke(shades.colour(here), ROAD));
                start = i;
            }
        }
    });
}

/// Direction of the road at a point of the plan.
fn heading(road: &[Point], i: usize) -> Point {
    let (a, b) = (road[i.saturating_sub(2)], road[(i + 2).min(road.len() - 1)]);
    let length = (b.0 - a.0).hypot(b.1 - a.1).max(1e-9);
    ((b.0 - a.0) / length, (b.1 - a.1) / length)
}

/// Where near `i` the road bends least: an arrow reads best there.
fn straightest(road: &[Point], i: usize, reach: usize) -> usize {
    let bend = |k: usize| {
        let (a, b) = (heading(road, k.saturating_sub(5)), heading(road, (k + 5).min(road.len() - 1)));
        // To three digits: of equally straight points the nearest is taken.
        ((1.0 - a.0 * b.0 - a.1 * b.1) * 1e3).round() as i64
    };
    let near = i.saturating_sub(reach.min(i))..=(i + reach).min(road.len() - 1);
    near.min_by_key(|k| (bend(*k), k.abs_diff(i))).unwrap_or(i)
}

fn index_at(plan: &[Pose], s: f64) -> usize {
    plan.partition_point(|p| p.s < s).min(plan.len() - 1)
}

/// Bars across the road at start and finish, and arrows that show the way round; returns where labels must not go.
fn draw_marks(canvas: &mut Canvas, road: &[Point], plan: &[Pose], plot: &MapPlot) -> Vec<Box2> {
    const BAR: f64 = 11.0;
    let length = plot.lap.length_m;
    let ends = if plot.closed { vec![0] } else { vec![0, road.len() - 1] };
    // The first arrow some px behind the start, two more where the road is straight.
    let first = index_at(plan, 0.0) + 7.min(road.len() / 5);
    let later = [length / 3.0, length / 1.5].map(|s| straightest(road, index_at(plan, s), road.len() / 16));
    canvas.part("marks", |canvas| {
        for i in &ends {
            let (p, (dx, dy)) = (road[*i], heading(road, *i));
            for (colour, width, reach) in [(PAPER, 5.5, BAR + 1.0), (INK, 3.0, BAR)] {
                let (nx, ny) = (-dy * reach, dx * reach);
                canvas.line(&[(p.0 - nx, p.1 - ny), (p.0 + nx, p.1 + ny)], stroke(colour, width));
            }
        }
        for i in [first, later[0], later[1]] {
            let (p, (dx, dy)) = (road[i], heading(road, i));
            let corner = |along: f64, across: f64| (p.0 + along * dx - across * dy, p.1 + along * dy + across * dx);
            let arrow = [corner(9.0, 0.0), corner(-6.0, 7.5), corner(-6.0, -7.5)];
            canvas.ring(&arrow, stroke(PAPER, 2.4));
            canvas.fill(&arrow, INK, 1.0);
        }
    });
    let taken = |i: usize, half: f64| Box2 { centre: road[i], half: (half, half) };
    let arrows = [first, later[0], later[1]].map(|i| taken(i, 5.0));
    ends.into_iter().map(|i| taken(i, BAR - 2.0)).chain(arrows).collect()
}

/// Words at a point of the road.
struct Wanted {
    name: String,
    figure: String,
    face: Face,
    at: usize,
    weight: f64,
}

fn draw_names(canvas: &mut Canvas, plot: &MapPlot, plan: &[Pose], road: &[Point], room: &mut Room) -> usize {
    let size = if plot.places.len() > 24 { SMALL } else { LABEL };
    let mut wanted: Vec<Wanted> = plot.places.iter().map(|p| place_words(plot, plan, p, size)).collect();
    let line =
        |name: &str, at| Wanted { name: name.into(), figure: String::new(), face: Face::Semibold, at, weight: 1e9 };
    if plot.closed {
        wanted.push(line("start and finish", 0));
    } else {
        wanted.push(line("start", 0));
        wanted.push(line("finish", road.len() - 1));
    }
    wanted.sort_by(|a, b| b.weight.total_cmp(&a.weight));
    let mut dropped = wanted.len().saturating_sub(MOST_NAMES);
    wanted.truncate(MOST_NAMES);
    let mut placed: Vec<(Spot, Wanted)> = Vec::new();
    for w in wanted {
        let space = if w.figure.is_empty() { 0.0 } else { 5.0 + Face::Regular.width(&w.figure, SMALL) };
        let half = (0.5 * (w.face.width(&w.name, size) + space), 0.5 * size);
        match room.place(road[w.at], outward(road, w.at), half) {
            Some(spot) => placed.push((spot, w)),
            None => dropped += 1,
        }
    }
    canvas.part("places", |canvas| {
        for (from, to) in placed.iter().filter_map(|(spot, _)| spot.leader) {
            canvas.line(&[from, to], stroke(RULE, 0.9));
        }
        for (spot, w) in &placed {
            let (left, base) = (spot.area.centre.0 - spot.area.half.0, spot.area.centre.1 + centred(size));
            canvas.text(Text { size, face: w.face, colour: INK, ..label(&w.name, (left, base)) });
            let end = (spot.area.centre.0 + spot.area.half.0, base);
            if !w.figure.is_empty() {
                canvas.text(Text { anchor: Anchor::End, ..small(&w.figure, end) });
            }
        }
    });
    dropped
}

fn place_words(plot: &MapPlot, plan: &[Pose], place: &Place, size: f64) -> Wanted {
    let figure = match plot.lap.slowest_in(place) {
        Some(row) if place.is_corner() => format!("{:.0}", kmh(row.v)),
        _ => String::new(),
    };
    let middle = (place.start_m + 0.5 * place.length_m) % plot.lap.length_m.max(1e-9);
    Wanted {
        name: Face::Regular.fit(&place.name, size, 150.0),
        figure,
        face: Face::Regular,
        at: index_at(plan, middle),
        weight: place.length_m,
    }
}

/// To the outside of a bend; on a straight away from the middle of the map.
fn outward(road: &[Point], i: usize) -> Point {
    let step = 8.min(road.len().saturating_sub(1));
    let (a, p, b) = (road[i.saturating_sub(step)], road[i], road[(i + step).min(road.len() - 1)]);
    let bend = (p.0 - 0.5 * (a.0 + b.0), p.1 - 0.5 * (a.1 + b.1));
    if bend.0.hypot(bend.1) > 0.4 {
        return bend;
    }
    let n = road.len() as f64;
    let middle = road.iter().fold((0.0, 0.0), |m, p| (m.0 + p.0 / n, m.1 + p.1 / n));
    let (dx, dy) = heading(road, i);
    let side = (p.0 - middle.0) * -dy + (p.1 - middle.1) * dx;
    if side >= 0.0 { (-dy, dx) } else { (dy, -dx) }
}
