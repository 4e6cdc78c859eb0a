//! A surface over two swept numbers: shades and lines of equal value, where there are laps.

use crate::draw::colour::{Lch, ramp};
use crate::draw::frame::{Frame, TICKS_LEFT};
use crate::draw::header::{Header, sentence};
use crate::draw::look::{GRID, INK, INK_SOFT, LABEL, MARGIN, PAPER, Paper, SMALL, WIDTH, stroke};
use crate::draw::measure::ticks::Axis;
use crate::draw::picture::{Picture, PlotError};
use crate::draw::svg::{Anchor, Canvas, Point, Text, centred, label, small};
use crate::words::number::{fixed, signed};

/// A swept number.
#[derive(Clone, Copy, Debug)]
pub struct Swept<'a> {
    /// What it is: "mass".
    pub name: &'a str,
    /// Its unit; empty for none.
    pub unit: &'a str,
    /// Its values, rising; two at least.
    pub values: &'a [f64],
}

/// What to draw.
#[derive(Clone, Copy, Debug)]
pub struct ContourPlot<'a> {
    /// The car's name.
    pub car: &'a str,
    /// The track's name.
    pub track: &'a str,
    /// What else was held where: "front share 0.55".
    pub held: &'a str,
    /// From left to right.
    pub x: Swept<'a>,
    /// From bottom to top.
    pub y: Swept<'a>,
    /// Lap time against now, s, x running fastest; `None` where there is no lap.
    pub seconds: &'a [Option<f64>],
    /// The car as it is, where it is in the picture.
    pub now: Option<Point>,
}

const HEIGHT: f64 = 470.0;
const LINES: usize = 9;
/// From quick, dark and cool, to slow, light and warm.
const SHADES: [Lch; 4] = [
    Lch { l: 0.45, c: 0.08, h: 255.0 },
    Lch { l: 0.66, c: 0.06, h: 230.0 },
    Lch { l: 0.86, c: 0.03, h: 150.0 },
    Lch { l: 0.96, c: 0.04, h: 95.0 },
];

/// Draws it.
pub fn contour_picture(plot: &ContourPlot) -> Result<Picture, PlotError> {
    let (nx, ny) = (plot.x.values.len(), plot.y.values.len());
    if nx < 2 || ny < 2 {
        return Err(PlotError::Empty { what: "one of the swept lists" });
    }
    if plot.seconds.len() != nx * ny {
        return Err(PlotError::Lengths { what: "lap times", got: plot.seconds.len(), want: nx * ny });
    }
    let known = plot.seconds.iter().copied().flatten();
    let (low, high) = known.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| (l.min(v), h.max(v)));
    if low > high {
        return Err(PlotError::Empty { what: "the list of laps" });
    }
    let title = finding(plot);
    let held = if plot.held.is_empty() { String::new() } else { format!(", {}", plot.held) };
    let subtitle = format!("{} on {}{held}; lap time against now, s", plot.car, plot.track);
    let header = Header::plan(&title, &subtitle, Paper::FILE);
    let left = MARGIN + TICKS_LEFT + 24.0;
    let (top, width) = (header.height + 34.0, WIDTH - MARGIN - left - 40.0);
    let ends = |v: &[f64]| (v[0], v[v.len() - 1]);
    let (x, y) = (ends(plot.x.values), ends(plot.y.values));
    let frame = Frame { left, top, width, height: HEIGHT, x: Axis::over(x.0, x.1, 8), y: Axis::over(y.0, y.1, 7) };
    let levels = Axis::over(low, high, LINES);
    let mut canvas = Canvas::new("contour", WIDTH, frame.bottom() + 44.0 + MARGIN);
    canvas.note(low + high);
    header.draw(&mut canvas);
    let triangles = triangles(plot);
    let n = levels.ticks.len();
    canvas.part("shades", |canvas| {
        let all: Vec<Vec<Point>> = triangles.iter().map(|t| t.iter().map(|(p, _)| *p).collect()).collect();
        canvas.fill_all(&on(&frame, &all), ramp(&SHADES, 0.0));
        for (i, level) in levels.ticks.iter().enumerate() {
            let above: Vec<Vec<Point>> = triangles.iter().map(|t| above(t, *level)).filter(|p| p.len() > 2).collect();
            canvas.fill_all(&on(&frame, &above), ramp(&SHADES, (i + 1) as f64 / n as f64));
        }
    });
    canvas.part("lines", |canvas| {
        for level in &levels.ticks {
            let pieces: Vec<(Point, Point)> = triangles
                .iter()
                .filter_map(|t| crossing(t, *level))
                .map(|(a, b)| (px(&frame, a), px(&frame, b)))
                .collect();
            let strong = *level == 0.0;
            for (a, b) in &pieces {
                canvas.line(&[*a, *b], stroke(if strong { INK } else { PAPER }, if strong { 1.8 } else { 1.1 }));
            }
            let plus = if *level > 0.0 { "+" } else { "" };
            value(canvas, &frame, &pieces, &format!("{plus}{}", levels.label(*level)));
        }
    });
    axes(&mut canvas, plot, &frame);
    if let Some(now) = plot.now.filter(|p| (x.0..=x.1).contains(&p.0) && (y.0..=y.1).contains(&p.1)) {
        let at = px(&frame, now);
        canvas.disc(at, 5.4, PAPER);
        canvas.disc(at, 4.0, INK);
        let (x, anchor) =
            if at.0 + 50.0 < frame.right() { (at.0 + 9.0, Anchor::Start) } else { (at.0 - 9.0, Anchor::End) };
        canvas.text(Text { anchor, halo: true, ..label("now", (x, at.1 + centred(LABEL))) });
    }
    let alt = format!(
        "Lap time of {} on {} over {} and {}, from {} to {} s against now. {title}.",
        plot.car,
        plot.track,
        plot.x.name,
        plot.y.name,
        signed(&fixed(low, 2)),
        signed(&fixed(high, 2))
    );
    canvas.finish(&title, &alt)
}

/// A corner of a triangle: where, and its value.
type Corner = (Point, f64);

/// Each cell in four triangles round its middle; none where a corner has no lap.
fn triangles(plot: &ContourPlot) -> Vec<[Corner; 3]> {
    let (x, y) = (plot.x.values, plot.y.values);
    let at = |i: usize, j: usize| plot.seconds[j * x.len() + i].map(|v| ((x[i], y[j]), v));
    let mut out = Vec::new();
    for j in 0..y.len() - 1 {
        for i in 0..x.len() - 1 {
            let (Some(a), Some(b), Some(c), Some(d)) = (at(i, j), at(i + 1, j), at(i + 1, j + 1), at(i, j + 1)) else {
                continue;
            };
            let mean = |of: &dyn Fn(&Corner) -> f64| [&a, &b, &c, &d].into_iter().map(of).sum::<f64>() / 4.0;
            let middle = ((mean(&|p| p.0.0), mean(&|p| p.0.1)), mean(&|p| p.1));
            out.extend([[a, b, middle], [b, c, middle], [c, d, middle], [d, a, middle]]);
        }
    }
    out
}

fn between(a: &Corner, b: &Corner, level: f64) -> Point {
    let w = (level - a.1) / (b.1 - a.1);
    (a.0.0 + w * (b.0.0 - a.0.0), a.0.1 + w * (b.0.1 - a.0.1))
}

/// The part of a triangle at or above a level.
fn above(t: &[Corner; 3], level: f64) -> Vec<Point> {
    let mut out = Vec::new();
    for i in 0..3 {
        let (a, b) = (&t[i], &t[(i + 1) % 3]);
        if a.1 >= level {
            out.push(a.0);
        }
        if (a.1 >= level) != (b.1 >= level) {
            out.push(between(a, b, level));
        }
    }
    out
}

fn crossing(t: &[Corner; 3], level: f64) -> Option<(Point, Point)> {
    let ends: Vec<Point> = (0..3)
        .map(|i| (&t[i], &t[(i + 1) % 3]))
        .filter(|(a, b)| (a.1 >= level) != (b.1 >= level))
        .map(|(a, b)| between(a, b, level))
        .collect();
    match ends[..] {
        [a, b] => Some((a, b)),
        _ => None,
    }
}

fn px(frame: &Frame, p: Point) -> Point {
    (frame.px(p.0), frame.py(p.1))
}

fn on(frame: &Frame, polygons: &[Vec<Point>]) -> Vec<Vec<Point>> {
    polygons.iter().map(|p| p.iter().map(|q| px(frame, *q)).collect()).collect()
}

/// A level's value on its line.
fn value(canvas: &mut Canvas, frame: &Frame, pieces: &[(Point, Point)], words: &str) {
    let middle = (frame.left + 0.5 * frame.width, frame.top + 0.5 * frame.height);
    // The falling diagonal: lines of equal time mostly cross it.
    let off = |p: Point| ((p.0 - middle.0) / frame.width - (p.1 - middle.1) / frame.height).abs();
    let centre = |(a, b): &(Point, Point)| (0.5 * (a.0 + b.0), 0.5 * (a.1 + b.1));
    let inside = |p: &Point| {
        (frame.left + 26.0..frame.right() - 26.0).contains(&p.0)
            && (frame.top + 12.0..frame.bottom() - 12.0).contains(&p.1)
    };
    if let Some(at) = pieces.iter().map(centre).filter(inside).min_by(|a, b| off(*a).total_cmp(&off(*b))) {
        canvas.text(Text {
            anchor: Anchor::Middle,
            colour: INK,
            halo: true,
            ..small(words, (at.0, at.1 + centred(SMALL)))
        });
    }
}

fn axes(canvas: &mut Canvas, plot: &ContourPlot, frame: &Frame) {
    let named = |s: &Swept| if s.unit.is_empty() { s.name.to_owned() } else { format!("{}, {}", s.name, s.unit) };
    canvas.part("axes", |canvas| {
        for tick in &frame.x.ticks {
            let x = frame.px(*tick);
            canvas.line(&[(x, frame.bottom()), (x, frame.bottom() + 4.0)], stroke(GRID, 1.0));
            canvas.text(Text { anchor: Anchor::Middle, ..small(&frame.x.label(*tick), (x, frame.bottom() + 17.0)) });
        }
        for tick in &frame.y.ticks {
            let y = frame.py(*tick);
            canvas.text(Text {
                anchor: Anchor::End,
                ..small(&frame.y.label(*tick), (frame.left - 7.0, y + centred(SMALL)))
            });
        }
        let middle = frame.left + 0.5 * frame.width;
        let below = (middle, frame.bottom() + 36.0);
        canvas.text(Text { anchor: Anchor::Middle, colour: INK_SOFT, ..label(&named(&plot.x), below) });
        canvas.text(Text { colour: INK_SOFT, ..label(&named(&plot.y), (MARGIN, frame.top - 10.0)) });
    });
}

/// What each of the two is worth over its range, the other at its middle.
fn finding(plot: &ContourPlot) -> String {
    let (nx, ny) = (plot.x.values.len(), plot.y.values.len());
    let span = |along_x: bool| -> Option<f64> {
        let line: Vec<f64> = if along_x {
            (0..nx).filter_map(|i| plot.seconds[ny / 2 * nx + i]).collect()
        } else {
            (0..ny).filter_map(|j| plot.seconds[j * nx + nx / 2]).collect()
        };
        Some(line.last()? - line.first()?)
    };
    let said = |s: &Swept, span: Option<f64>| {
        let seconds = span
            .map_or("nothing that is known".to_owned(), |v| format!("{} s", signed(&fixed(v, 2)).replace('-', "−")));
        let (a, b) = (s.values[0], s.values[s.values.len() - 1]);
        let digits = if (b - a).abs() < 5.0 { 2 } else { 0 };
        format!(
            "{} from {} to {}{} {seconds}",
            s.name,
            fixed(a, digits),
            fixed(b, digits),
            if s.unit.is_empty() { String::new() } else { format!(" {}", s.unit) }
        )
    };
    sentence(&format!("{}; {}", said(&plot.x, span(true)), said(&plot.y, span(false))))
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    const X: [f64; 3] = [1000.0, 1100.0, 1200.0];
    const Y: [f64; 3] = [420.0, 480.0, 540.0];

    fn plot(seconds: &[Option<f64>]) -> ContourPlot<'_> {
        let x = Swept { name: "mass", unit: "kg", values: &X };
        let y = Swept { name: "height", unit: "mm", values: &Y };
        ContourPlot { car: "car", track: "track", held: "", x, y, seconds, now: Some((1100.0, 480.0)) }
    }

    /// A plane: its lines are straight, and the title has what each number is worth.
    #[test]
    fn closed_form_a_plane() {
        let seconds: Vec<_> = (0..9).map(|k| Some(0.01 * (X[k % 3] - 1100.0) + 0.005 * (Y[k / 3] - 480.0))).collect();
        let plot = plot(&seconds);
        let picture = contour_picture(&plot).unwrap();
        assert_eq!(picture.title, "Mass from 1000 to 1200 kg +2.00 s; height from 420 to 540 mm +0.60 s");
        for t in triangles(&plot) {
            if let Some((a, b)) = crossing(&t, 0.3) {
                for p in [a, b] {
                    let v = 0.01 * (p.0 - 1100.0) + 0.005 * (p.1 - 480.0);
                    assert!((v - 0.3).abs() < 1e-9, "{v}");
                }
            }
        }
        assert!(picture.svg.contains(">now</text>") && picture.svg.contains(">height, mm</text>"));
    }

    #[test]
    fn property_no_lap_is_left_blank() {
        let mut seconds = vec![Some(1.0); 9];
        seconds[0] = None;
        assert_eq!(triangles(&plot(&seconds)).len(), 12, "three cells of four triangles");
        assert!(contour_picture(&plot(&seconds)).is_ok());
        assert!(matches!(contour_picture(&plot(&[None; 9])), Err(PlotError::Empty { .. })));
    }

    #[test]
    fn bad_input_lists_that_do_not_belong_together() {
        assert!(matches!(contour_picture(&plot(&[Some(1.0); 8])), Err(PlotError::Lengths { .. })));
        let mut bad = vec![Some(1.0); 9];
        bad[4] = Some(f64::NAN);
        assert!(contour_picture(&plot(&bad)).is_err());
    }
}
