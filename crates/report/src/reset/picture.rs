//! Adhesion that each axle asks for against braking rate, before and after.

use unladen_questions::reset::Answer;
use unladen_vehicle::adhesion::{Axle, FRONT_ABOVE_REAR, Stance};

use crate::draw::frame::{Frame, Series, TICKS_LEFT};
use crate::draw::header::Header;
use crate::draw::labels::spread;
use crate::draw::look::{ACCENT, BAND, GRID, INK_SOFT, LABEL, MARGIN, PAPER, Paper, SERIES, SMALL, WIDTH, stroke};
use crate::draw::measure::font::Face;
use crate::draw::measure::ticks::Axis;
use crate::draw::picture::{Picture, PlotError};
use crate::draw::place_labels::{Box2, Room};
use crate::draw::svg::{Anchor, Canvas, Point, Text, centred, label, small};
use crate::reset::text::unsafe_rear;
use crate::words::aboard::aboard;
use crate::words::number::fixed;

const PLOT_HEIGHT: f64 = 380.0;
const END_LABEL: f64 = 190.0;
/// Braking rates that are drawn, g.
const MOST: f64 = 1.1;
const POINTS: usize = 110;

/// Draws it.
pub fn reset_picture(v: &Answer) -> Result<Picture, PlotError> {
    let (Some(first), Some(last)) = (v.stages.first(), v.stages.last()) else {
        return Err(PlotError::Empty { what: "the list of stages" });
    };
    let bad: Vec<&str> = v.stages.iter().filter(|s| unsafe_rear(s)).map(|s| s.name).collect();
    let title = match bad[..] {
        [] => "The front axle locks first in every stage, dry and wet".to_owned(),
        _ => format!("The REAR axle locks first: {}", bad.join(", ")),
    };
    let subtitle = format!(
        "{} with {} aboard, by pedal alone: adhesion that each axle asks for, {} (thin) and {} (thick); rings: where an axle locks, dry and wet, and where both ask for the same",
        v.car,
        aboard(v.aboard),
        first.name,
        last.name
    );
    let header = Header::plan(&title, &subtitle, Paper::FILE);
    let (left, top) = (MARGIN + TICKS_LEFT, header.height + 26.0);
    let right = WIDTH - MARGIN - END_LABEL;
    let most = 1.4;
    let frame = Frame {
        left,
        top,
        width: right - left,
        height: PLOT_HEIGHT,
        x: Axis::over(0.0, MOST, 6),
        y: Axis::over(0.0, most, 7),
    };
    let mut canvas = Canvas::new("reset", WIDTH, frame.bottom() + 46.0 + MARGIN);
    header.draw(&mut canvas);
    let (from, to) = (frame.px(FRONT_ABOVE_REAR.0), frame.px(FRONT_ABOVE_REAR.1));
    canvas.rect((from, top), (to - from, PLOT_HEIGHT), BAND);
    frame.draw_grid(&mut canvas, true)?;
    canvas.text(Text { halo: true, ..small("front must ask for more than rear here", (from + 5.0, top + 14.0)) });
    canvas.text(Text { colour: INK_SOFT, ..small("adhesion asked for, 1", (left - 30.0, top - 8.0)) });
    canvas.text(Text {
        anchor: Anchor::Middle,
        ..small("braking rate, g", (0.5 * (left + right), frame.bottom() + 36.0))
    });
    let even = Series { points: vec![(0.0, 0.0), (MOST, MOST)], stroke: stroke(GRID, 1.4), fill: 0.0 };
    let mut series = vec![even];
    let mut ends = Vec::new();
    for (stage, width) in [(first, 1.3), (last, 2.6)] {
        let stance = Stance::new(stage.mass, stage.x, stage.risen, v.wheelbase_m);
        for (axle, colour) in [(0, SERIES[0]), (1, ACCENT)] {
            let points: Vec<(f64, f64)> = (0..=POINTS)
                .map(|i| MOST * i as f64 / POINTS as f64)
                .map(|z| (z, stance.utilisation(&v.brakes, z)[axle]))
                .take_while(|p| p.1 <= most)
                .collect();
            if let Some(end) = points.last() {
                let name = if axle == 0 { "front" } else { "rear" };
                ends.push((format!("{name}, {}", stage.name), *end, colour));
            }
            series.push(Series { points, stroke: stroke(colour, width), fill: 0.0 });
        }
        if std::ptr::eq(first, last) {
            break;
        }
    }
    frame.draw_series(&mut canvas, &series)?;
    let curves: Vec<Point> = series.iter().flat_map(|s| &s.points).map(|p| (frame.px(p.0), frame.py(p.1))).collect();
    let marked = marks(&mut canvas, v, &frame, curves);
    let wanted: Vec<f64> = ends.iter().map(|e| frame.py(e.1.1)).collect();
    let ys = spread(&wanted, LABEL + 4.0, top + 6.0, frame.bottom() - 4.0);
    canvas.part("ends", |canvas| {
        for ((words, end, colour), y) in ends.iter().zip(ys) {
            let x = frame.px(end.0);
            canvas.disc((x, frame.py(end.1)), 2.6, *colour);
            canvas.line(&[(x + 3.0, frame.py(end.1)), (right + 10.0, y)], stroke(GRID, 1.0));
            canvas.text(label(words, (right + 14.0, y + centred(SMALL))));
        }
    });
    let alt = format!(
        "{title}. Adhesion that the front and the rear axle of {} ask for against braking rate; {}.",
        v.car,
        if marked.is_empty() {
            "no axle locks, and the two never ask for the same".to_owned()
        } else {
            marked.join("; ")
        }
    );
    canvas.finish(&title, &alt)
}

/// Where an axle locks, dry and wet, and where both ask for the same: rings and words on the curves of the last stage, rings alone
/// on those of the first. Returns the words.
fn marks(canvas: &mut Canvas, v: &Answer, frame: &Frame, curves: Vec<Point>) -> Vec<String> {
    let (Some(first), Some(last)) = (v.stages.first(), v.stages.last()) else { return Vec::new() };
    let half = (0.5 * frame.width - 2.0, 0.5 * frame.height - 2.0);
    let bounds = Box2 { centre: (frame.left + 0.5 * frame.width, frame.top + 0.5 * frame.height), half };
    let mut room = Room::new(bounds, dense(curves), 5.0);
    // Its words stand there already.
    room.take(Box2 { centre: (frame.px(FRONT_ABOVE_REAR.0) + 110.0, frame.top + 10.0), half: (115.0, 9.0) });
    let mut said = Vec::new();
    canvas.part("marks", |canvas| {
        for stage in [first, last] {
            let stance = Stance::new(stage.mass, stage.x, stage.risen, v.wheelbase_m);
            let asked = |z: f64| stance.utilisation(&v.brakes, z);
            let mut points: Vec<(f64, usize, String)> = Vec::new();
            for (lock, when) in stage.locks.iter().zip(["dry", "wet"]) {
                if let Some(l) = lock {
                    let axle = usize::from(l.axle == Axle::Rear);
                    let name = ["front", "REAR"][axle];
                    points.push((l.z, axle, format!("{when}: {name}, {} g", fixed(l.z, 2))));
                }
            }
            let ahead = |z: f64| asked(z)[0] - asked(z)[1];
            let steps: Vec<f64> = (2..=POINTS).map(|i| MOST * i as f64 / POINTS as f64).collect();
            if let Some(pair) = steps.windows(2).find(|p| ahead(p[0]) * ahead(p[1]) < 0.0) {
                let w = ahead(pair[0]) / (ahead(pair[0]) - ahead(pair[1]));
                let z = pair[0] + w * (pair[1] - pair[0]);
                points.push((z, 0, format!("alike at {} g", fixed(z, 2))));
            }
            for (z, axle, words) in points {
                let k = asked(z)[axle];
                if !(k.is_finite() && z < frame.x.to && k < frame.y.to) {
                    continue;
                }
                let at = (frame.px(z), frame.py(k));
                let is_last = std::ptr::eq(stage, last);
                canvas.disc(at, 5.0, PAPER);
                canvas.disc(at, 4.2, [SERIES[0], ACCENT][axle]);
                canvas.disc(at, if is_last { 1.8 } else { 2.8 }, PAPER);
                if is_last {
                    let half = (0.5 * Face::Regular.width(&words, SMALL) + 2.0, 0.5 * SMALL + 1.0);
                    if let Some(spot) = room.place(at, (0.6, 1.0), half) {
                        if let Some((from, to)) = spot.leader {
                            canvas.line(&[from, to], stroke(INK_SOFT, 0.9));
                        }
                        let base = (spot.area.centre.0, spot.area.centre.1 + centred(SMALL));
                        canvas.text(Text { anchor: Anchor::Middle, halo: true, ..small(&words, base) });
                    }
                    said.push(words);
                }
            }
            if std::ptr::eq(first, last) {
                break;
            }
        }
    });
    said
}

/// Points along lines no further apart than a label is high.
fn dense(points: Vec<Point>) -> Vec<Point> {
    let near = |a: &Point, b: &Point| (b.0 - a.0).hypot(b.1 - a.1) < 60.0;
    let between = |pair: &[Point]| -> Vec<Point> {
        let (a, b) = (pair[0], pair[1]);
        let count = if near(&a, &b) { ((b.0 - a.0).hypot(b.1 - a.1) / 4.0).ceil() as usize } else { 1 };
        (0..count)
            .map(|k| (a.0 + (b.0 - a.0) * k as f64 / count as f64, a.1 + (b.1 - a.1) * k as f64 / count as f64))
            .collect()
    };
    points.windows(2).flat_map(between).collect()
}
