//! The g-g cloud: the accelerations of a lap, evenly in time, inside what the car can do at some speeds.

use unladen_lap::Row;

use crate::draw::colour::Colour;
use crate::draw::frame::{Frame, TICKS_LEFT};
use crate::draw::header::Header;
use crate::draw::labels::spread;
use crate::draw::look::{GRID, INK, INK_SOFT, MARGIN, Paper, RULE, SMALL, WIDTH, stroke};
use crate::draw::map_key::Shades;
use crate::draw::measure::ticks::Axis;
use crate::draw::picture::{Picture, PlotError};
use crate::draw::svg::{Anchor, Canvas, Point, Text, centred, label, small};
use crate::lap::trace::LapTrace;
use crate::words::number::{distance, fixed, kmh, lap_time};

/// What to draw.
#[derive(Clone, Copy, Debug)]
pub struct GgPlot<'a> {
    /// The track's name.
    pub track: &'a str,
    /// The lap.
    pub lap: LapTrace<'a>,
    /// Its rows as they would be on a level road, which the edges are of.
    pub level: &'a [Row],
    /// What the car can do: a speed, m/s, and the edge (a_y left +, a_x), m/s².
    pub limits: &'a [(f64, Vec<Point>)],
}

const G: f64 = 9.80665;
/// Points of the cloud, evenly in time.
const POINTS: usize = 900;
const SIZE: f64 = 560.0;
const DOT: f64 = 1.9;

/// Draws it.
pub fn gg_picture(plot: &GgPlot) -> Result<Picture, PlotError> {
    if plot.lap.rows.is_empty() {
        return Err(PlotError::Empty { what: "the lap's trace" });
    }
    let title = finding(&cloud(&plot.lap));
    let rows = if plot.level.is_empty() { plot.lap.rows } else { plot.level };
    let cloud = cloud(&LapTrace { rows, ..plot.lap });
    let off = |(a, b): (&Row, &Row)| (a.a_y - b.a_y).abs().max((a.a_x - b.a_x).abs());
    let hilly = rows.iter().zip(plot.lap.rows).map(off).fold(0.0, f64::max) > 0.02 * G;
    let how = if hilly { ", its slope and load brought to a level road's" } else { "" };
    let subtitle = format!(
        "{} on {}, {}, in {}; each dot is {} s{how}, coloured by speed; lines: what the car can do on a level road",
        plot.lap.name,
        plot.track,
        distance(plot.lap.length_m),
        lap_time(plot.lap.lap_time_s, 3),
        fixed(plot.lap.lap_time_s / cloud.len() as f64, 2)
    );
    let header = Header::plan(&title, &subtitle, Paper::FILE);
    let edges = plot.limits.iter().flat_map(|(_, edge)| edge.iter().map(|p| (p.0 / G, p.1 / G)));
    let all: Vec<Point> = cloud.iter().map(|c| c.at).chain(edges).collect();
    let wide = all.iter().map(|p| p.0.abs()).fold(0.5, f64::max) * 1.06;
    let (low, high) = all.iter().fold((-0.3f64, 0.3f64), |(l, h), p| (l.min(p.1), h.max(p.1)));
    let (low, high) = (low - 0.06 * (high - low), high + 0.08 * (high - low));
    // One scale for both: a circle must look like one.
    let scale = (SIZE / (2.0 * wide)).min(SIZE / (high - low));
    let (width, height) = (2.0 * wide * scale, (high - low) * scale);
    let top = header.height + 22.0;
    let left = (0.5 * (WIDTH - width)).max(MARGIN + TICKS_LEFT + 90.0);
    let (x, y) = (Axis::over(-wide, wide, 6), Axis::over(low, high, 6));
    let frame = Frame { left, top, width, height, x, y };
    let mut canvas = Canvas::new("gg", WIDTH, frame.bottom() + 92.0);
    header.draw(&mut canvas);
    grid(&mut canvas, &frame);
    let speeds = cloud.iter().map(|c| c.kmh);
    let (slow, fast) = speeds.fold((f64::INFINITY, 0.0f64), |(l, h), v| (l.min(v), h.max(v)));
    let shades = Shades::over(slow, fast);
    canvas.part("cloud", |canvas| {
        for c in &cloud {
            canvas.disc((frame.px(-c.at.0), frame.py(c.at.1)), DOT, shades.colour(shades.of(c.kmh)));
        }
    });
    canvas.part("limits", |canvas| limits(canvas, plot, &frame, &shades));
    shades.draw_key(&mut canvas, frame.bottom() + 46.0, "km/h", Paper::FILE);
    let alt = format!(
        "{title}. Lateral and longitudinal acceleration of {} on {}, in g{how}. Lines show what the car can do at {} km/h.",
        plot.lap.name,
        plot.track,
        plot.limits.iter().map(|(v, _)| fixed(kmh(*v), 0)).collect::<Vec<_>>().join(", ")
    );
    canvas.finish(&title, &alt)
}

/// A moment of the lap: (a_y, a_x) in g, and the speed.
struct Moment {
    at: Point,
    kmh: f64,
}

fn cloud(lap: &LapTrace) -> Vec<Moment> {
    let n = POINTS.min(lap.rows.len().max(2) * 4);
    let moment = |i: usize| {
        let t = lap.lap_time_s * (i as f64 + 0.5) / n as f64;
        let after = lap.rows.partition_point(|r| r.t <= t).clamp(1, lap.rows.len());
        let (a, b) = (&lap.rows[after - 1], lap.rows.get(after).unwrap_or(&lap.rows[after - 1]));
        let w = if b.t > a.t { ((t - a.t) / (b.t - a.t)).clamp(0.0, 1.0) } else { 0.0 };
        let mix = |of: fn(&Row) -> f64| of(a) + w * (of(b) - of(a));
        Moment { at: (mix(|r| r.a_y) / G, mix(|r| r.a_x) / G), kmh: kmh(mix(|r| r.v)) }
    };
    (0..n).map(moment).collect()
}

fn finding(cloud: &[Moment]) -> String {
    let most = |of: &dyn Fn(&Moment) -> f64| cloud.iter().map(of).fold(0.0f64, f64::max);
    let (side, brake, pull) = (most(&|c| c.at.0.abs()), most(&|c| -c.at.1), most(&|c| c.at.1));
    // Both at once: how much of the lap it is asked for more than one thing.
    let both = cloud.iter().filter(|c| c.at.0.abs() > 0.25 * side && c.at.1.abs() > 0.25 * brake.max(pull)).count();
    format!(
        "Up to {} g to the side, {} g braking and {} g pulling; both at once {} of the lap",
        fixed(side, 2),
        fixed(brake, 2),
        fixed(pull, 2),
        crate::words::number::percent(both as f64 / cloud.len().max(1) as f64)
    )
}

fn grid(canvas: &mut Canvas, frame: &Frame) {
    canvas.part("grid", |canvas| {
        for tick in &frame.x.ticks {
            let x = frame.px(*tick);
            canvas.line(&[(x, frame.top), (x, frame.bottom())], stroke(if *tick == 0.0 { RULE } else { GRID }, 0.9));
            let words = frame.x.label(tick.abs());
            canvas.text(Text { anchor: Anchor::Middle, ..small(&words, (x, frame.bottom() + 15.0)) });
        }
        for tick in &frame.y.ticks {
            let y = frame.py(*tick);
            canvas.line(&[(frame.left, y), (frame.right(), y)], stroke(if *tick == 0.0 { RULE } else { GRID }, 0.9));
            canvas.text(Text {
                anchor: Anchor::End,
                ..small(&frame.y.label(*tick), (frame.left - 7.0, y + centred(SMALL)))
            });
        }
        let base = frame.bottom() + 32.0;
        for (words, at, anchor) in
            [("left-hand bends, g", frame.left, Anchor::Start), ("right-hand bends, g", frame.right(), Anchor::End)]
        {
            canvas.text(Text { anchor, colour: INK_SOFT, ..label(words, (at, base)) });
        }
        for (words, y) in [("pulling, g", frame.top + 12.0), ("braking, g", frame.bottom() - 6.0)] {
            canvas.text(Text { anchor: Anchor::End, colour: INK_SOFT, ..label(words, (frame.left - 46.0, y)) });
        }
    });
}

/// Each edge, and its speed beside the frame with a leader to where it pulls half as hard to the right.
fn limits(canvas: &mut Canvas, plot: &GgPlot, frame: &Frame, shades: &Shades) {
    let mut ends: Vec<(Point, String)> = Vec::new();
    for (v, edge) in plot.limits.iter().filter(|(_, edge)| edge.len() > 2) {
        let points: Vec<Point> = edge.iter().map(|p| (frame.px(-p.0 / G), frame.py(p.1 / G))).collect();
        canvas.ring(&points, stroke(INK, 2.4));
        canvas.ring(&points, stroke(shades.colour(shades.of(kmh(*v))).mix(Colour(255, 255, 255), 0.15), 1.3));
        let aim = frame.px(0.0) + 0.55 * (frame.right() - frame.px(0.0));
        let upper = points.iter().filter(|p| p.1 < frame.py(0.0));
        if let Some(at) = upper.min_by(|a, b| (a.0 - aim).abs().total_cmp(&(b.0 - aim).abs())) {
            ends.push((*at, format!("at {} km/h", fixed(kmh(*v), 0))));
        }
    }
    let wanted: Vec<f64> = ends.iter().map(|(at, _)| at.1).collect();
    let left = frame.right() + 30.0;
    for ((at, words), y) in ends.iter().zip(spread(&wanted, 16.0, frame.top + 6.0, frame.bottom())) {
        canvas.line(&[*at, (left - 5.0, y)], stroke(INK_SOFT, 0.9));
        canvas.disc(*at, 2.2, INK);
        canvas.text(Text { colour: INK, ..small(words, (left, y + centred(SMALL))) });
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use unladen_lap::Limit;

    fn rows() -> Vec<Row> {
        let row = |i: u32| Row {
            s: f64::from(i) * 10.0,
            t: f64::from(i),
            v: 10.0 + f64::from(i),
            a_x: if i < 5 { 3.0 } else { -9.80665 },
            a_y: if i >= 7 { 4.903325 } else { 0.0 },
            gear: 2,
            limit: Limit::Power,
            load: [0.0; 4],
        };
        (0..10).map(row).collect()
    }

    #[test]
    fn closed_form_the_title_has_the_largest_of_each() {
        let rows = rows();
        let lap = LapTrace { name: "car", rows: &rows, length_m: 100.0, lap_time_s: 9.0, lap_time_error_s: 1e-4 };
        let edge = vec![(-10.0, 0.0), (0.0, 4.0), (10.0, 0.0), (0.0, -10.0)];
        let limits = [(20.0, edge)];
        let picture = gg_picture(&GgPlot { track: "t", lap, level: &[], limits: &limits }).unwrap();
        assert!(
            picture.title.starts_with("Up to 0.50 g to the side, 1.00 g braking and 0.31 g pulling"),
            "{}",
            picture.title
        );
        assert!(picture.svg.contains(">at 72 km/h</text>"));
    }

    /// On a road that presses the car down by half of its weight the tyres do two thirds of what it looks like.
    #[test]
    fn closed_form_the_cloud_is_that_of_a_level_road() {
        let rows = rows();
        let level: Vec<Row> = rows.iter().map(|r| Row { a_y: r.a_y / 1.5, a_x: r.a_x / 1.5, ..*r }).collect();
        let lap = LapTrace { name: "car", rows: &rows, length_m: 100.0, lap_time_s: 9.0, lap_time_error_s: 1e-4 };
        let picture = gg_picture(&GgPlot { track: "t", lap, level: &level, limits: &[] }).unwrap();
        assert!(picture.title.starts_with("Up to 0.50 g to the side"), "{}", picture.title);
        assert!(picture.about.contains("brought to a level road's"), "{}", picture.about);
    }

    #[test]
    fn bad_input_nothing_and_no_number() {
        let lap = LapTrace { name: "car", rows: &[], length_m: 100.0, lap_time_s: 9.0, lap_time_error_s: 1e-4 };
        assert!(matches!(
            gg_picture(&GgPlot { track: "t", lap, level: &[], limits: &[] }),
            Err(PlotError::Empty { .. })
        ));
        let mut bad = rows();
        bad[3].a_x = f64::NAN;
        let lap = LapTrace { rows: &bad, ..lap };
        assert!(matches!(
            gg_picture(&GgPlot { track: "t", lap, level: &[], limits: &[] }),
            Err(PlotError::NotFinite { .. })
        ));
    }
}
