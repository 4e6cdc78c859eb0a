//! Speed against distance: one lap or several, with the names of places above and the ruling limits beneath.

use unladen_lap::Limit;

use crate::draw::frame::{Frame, Series, TICKS_BELOW, TICKS_LEFT};
use crate::draw::header::{Header, sentence};
use crate::draw::labels::{Names, Span, spread};
use crate::draw::look::{BAND, INK, INK_SOFT, LABEL, Paper, SERIES, SMALL, limit_name, stroke};
use crate::draw::measure::font::Face;
use crate::draw::measure::ticks::Axis;
use crate::draw::picture::{Picture, PlotError};
use crate::draw::svg::{Anchor, Canvas, Text, centred, label, small};
use crate::lap::delta;
use crate::lap::place::Place;
use crate::lap::strip::Strip;
use crate::lap::trace::LapTrace;
use crate::words::number::{distance, kmh, lap_time, percents};

/// What to draw.
#[derive(Clone, Copy, Debug)]
pub struct SpeedPlot<'a> {
    /// The track's name.
    pub track: &'a str,
    /// Its named places.
    pub places: &'a [Place],
    /// One lap or several; the first is the one that the others are compared with.
    pub laps: &'a [LapTrace<'a>],
}

/// Broad and narrow.
const PLOT_HEIGHT: [f64; 2] = [280.0, 190.0];
const END_LABEL: f64 = 150.0;
/// Of the upright axis.
const UNIT: &str = "speed, km/h";
/// A line of a legend, px.
const LEGEND: f64 = 18.0;
/// Line spacing of labels, px.
const LINE: f64 = 15.0;

/// Draws it.
pub fn speed_picture(plot: &SpeedPlot, paper: Paper) -> Result<Picture, PlotError> {
    let first = plot.laps.first().ok_or(PlotError::Empty { what: "the list of laps" })?;
    if plot.laps.iter().any(|l| l.rows.is_empty()) {
        return Err(PlotError::Empty { what: "a lap's trace" });
    }
    let several = plot.laps.len() > 1;
    let title = if several { delta::finding(plot.laps, plot.places) } else { finding(first) };
    let subtitle = subtitle(plot, first);
    let header = Header::plan(&title, &subtitle, paper);
    let strip = Strip::plan(plot.laps, paper);

    let narrow = paper.narrow();
    let beside = paper.of(strip.label_width.max(TICKS_LEFT + 40.0) + 8.0, TICKS_LEFT - 4.0);
    let left = paper.margin() + beside;
    let right = paper.right() - if several && !narrow { END_LABEL } else { 0.0 };
    let (x, unit) = Axis::distance(first.length_m, paper.of(9, 5));
    let height = paper.of(PLOT_HEIGHT[0], PLOT_HEIGHT[1]);
    let mut frame = Frame { left, top: 0.0, width: right - left, height, x, y: speed_axis(plot.laps) };
    let spans = spans(plot.places, &frame, first.length_m);
    let names = Names::plan(&spans, left, right);
    let legend = if several && narrow { LEGEND * plot.laps.len() as f64 } else { 0.0 };
    frame.top = header.height + legend + paper.of(20.0, 26.0) + names.height.max(SMALL + 4.0);

    let alike = delta::speed_panel(plot.laps, &frame, frame.bottom() + 22.0);
    let above = alike.as_ref().map_or(frame.bottom(), Frame::bottom);
    let gap_panel = several.then(|| delta::panel(plot.laps, &frame, above + 22.0));
    let strip_top = gap_panel.as_ref().map_or(frame.bottom(), Frame::bottom) + 14.0;
    let strip_bottom = strip_top + strip.height;
    let height = strip_bottom + TICKS_BELOW + paper.of(18.0, 6.0);

    let mut canvas = Canvas::new("speed", paper.width, height);
    header.draw(&mut canvas);
    draw_corners(&mut canvas, plot.places, &frame, first.length_m, strip_bottom - 4.0);
    frame.draw_grid(&mut canvas, false)?;
    names.draw(&mut canvas, frame.top - 2.0);
    draw_head(&mut canvas, UNIT, &frame, paper);
    frame.draw_series(&mut canvas, &curves(plot.laps))?;
    if several && narrow {
        draw_legend(&mut canvas, plot.laps, header.height, paper);
    } else if several {
        draw_lap_names(&mut canvas, plot.laps, &frame, paper.right());
    } else {
        draw_speeds(&mut canvas, first, plot.places, &frame, paper);
    }
    if let Some(panel) = &alike {
        delta::draw_speed(&mut canvas, plot.laps, panel)?;
    }
    if let Some(panel) = &gap_panel {
        delta::draw(&mut canvas, plot.laps, panel)?;
    }
    strip.draw(&mut canvas, &frame, strip_top, plot.laps);
    draw_distance(&mut canvas, &frame, strip_bottom, unit);
    canvas.finish(&title, &alt(plot, first, &title))
}

fn finding(lap: &LapTrace) -> String {
    let mut said = ruled(lap).into_iter();
    match (said.next(), said.next()) {
        (Some(a), Some(b)) => sentence(&format!("{} rules {} of the lap, {} {}", a.0, a.1, b.0, b.1)),
        (Some(a), None) => sentence(&format!("{} rules the whole lap", a.0)),
        _ => "Speed over the lap".to_owned(),
    }
}

/// Limits and their parts of the time, as the lanes have them, most first.
fn ruled(lap: &LapTrace) -> Vec<(&'static str, String)> {
    let parts = percents(&lap.shares());
    let part =
        |limit: Limit| Limit::ALL.iter().position(|l| *l == limit).map_or_else(String::new, |i| parts[i].clone());
    lap.ruling().into_iter().map(|(limit, _)| (limit_name(limit), part(limit))).collect()
}

fn subtitle(plot: &SpeedPlot, first: &LapTrace) -> String {
    let length = distance(first.length_m);
    if plot.laps.len() > 1 {
        return format!("{}, {length}; speed over distance", plot.track);
    }
    let (top, low) = first.extremes();
    format!(
        "{} on {}, {length}, in {}; slowest {:.0} km/h, fastest {:.0} km/h",
        first.name,
        plot.track,
        lap_time(first.lap_time_s, 3),
        kmh(low),
        kmh(top)
    )
}

fn alt(plot: &SpeedPlot, first: &LapTrace, title: &str) -> String {
    let laps: Vec<_> = plot.laps.iter().map(|l| format!("{} {}", l.name, lap_time(l.lap_time_s, 3))).collect();
    let ruling: Vec<_> = ruled(first).into_iter().map(|(limit, part)| format!("{limit} {part}")).collect();
    format!(
        "{title}. Speed against distance on {} ({}). Beneath, which limit rules where; of the time of {}: {}.",
        plot.track,
        laps.join("; "),
        first.name,
        ruling.join(", ")
    )
}

/// With room beneath the slowest point and above the fastest for their figures.
fn speed_axis(laps: &[LapTrace]) -> Axis {
    let extremes = laps.iter().map(LapTrace::extremes);
    let (top, low) = extremes.fold((0.0f64, f64::INFINITY), |a, e| (a.0.max(e.0), a.1.min(e.1)));
    let (top, low) = (kmh(top), kmh(low));
    let span = (top - low).max(10.0);
    Axis::over((low - 0.14 * span).max(0.0), top + 0.12 * span, 5)
}

pub(crate) fn spans<'a>(places: &'a [Place], frame: &Frame, length_m: f64) -> Vec<Span<'a>> {
    let longest = |p: &'a Place| {
        let piece = p.pieces(length_m).into_iter().max_by(|a, b| (a.1 - a.0).total_cmp(&(b.1 - b.0)))?;
        Some(Span { name: &p.name, from: frame.px(piece.0), to: frame.px(piece.1) })
    };
    let mut spans: Vec<_> = places.iter().filter_map(longest).collect();
    spans.sort_by(|a, b| a.from.total_cmp(&b.from));
    spans
}

/// Grey behind corners.
pub(crate) fn draw_corners(canvas: &mut Canvas, places: &[Place], frame: &Frame, length_m: f64, bottom: f64) {
    canvas.part("corners", |canvas| {
        for (from, to) in places.iter().filter(|p| p.is_corner()).flat_map(|p| p.pieces(length_m)) {
            let (a, b) = (frame.px(from), frame.px(to));
            canvas.rect((a, frame.top), (b - a, bottom - frame.top), BAND);
        }
    });
}

fn curves(laps: &[LapTrace]) -> Vec<Series> {
    let curve = |(i, lap): (usize, &LapTrace)| {
        let mut points: Vec<_> = lap.rows.iter().map(|r| (r.s, kmh(r.v))).collect();
        if lap.rows.last().is_some_and(|r| r.s < lap.length_m) {
            points.push((lap.length_m, kmh(lap.speed_at(lap.length_m))));
        }
        let width = if laps.len() == 1 || i > 0 { 1.8 } else { 2.6 };
        Series { points, stroke: stroke(SERIES[i % SERIES.len()], width), fill: 0.0 }
    };
    laps.iter().enumerate().map(curve).collect()
}

/// The slowest speed of each corner and the fastest of the lap, where there is room.
fn draw_speeds(canvas: &mut Canvas, lap: &LapTrace, places: &[Place], frame: &Frame, paper: Paper) {
    let mut wanted: Vec<Figure> = places.iter().filter_map(|p| slowest(lap, p, frame)).collect();
    wanted.sort_by(|a, b| a.v.total_cmp(&b.v));
    if let Some(r) = lap.rows.iter().max_by(|a, b| a.v.total_cmp(&b.v)) {
        let (x, y) = (frame.px(r.s), frame.py(kmh(r.v)) - 6.0);
        wanted.insert(0, Figure { x, y, v: r.v, half: 0.0 });
    }
    let mut taken: Vec<Figure> = Vec::new();
    if paper.narrow() {
        let half = 0.5 * Face::Regular.width(UNIT, SMALL);
        taken.push(Figure { x: frame.left + 3.0 + half, y: frame.top + 11.0, v: 0.0, half });
    }
    canvas.part("speeds", |canvas| {
        for mut f in wanted {
            let words = format!("{:.0}", kmh(f.v));
            f.half = 0.5 * Face::Regular.width(&words, SMALL);
            f.x = f.x.clamp(frame.left + f.half + 2.0, frame.right() - f.half - 2.0);
            let free = taken.iter().all(|t| (t.x - f.x).abs() > t.half + f.half + 4.0 || (t.y - f.y).abs() > SMALL);
            if free && f.v > 0.0 && f.y < frame.bottom() - 2.0 && !f.crosses(lap, frame) {
                let text = Text { anchor: Anchor::Middle, size: SMALL, colour: INK, ..label(&words, (f.x, f.y)) };
                canvas.text(Text { halo: true, ..text });
                taken.push(f);
            }
        }
    });
}

/// A speed written beside the curve: its base line's middle and half its width, px.
struct Figure {
    x: f64,
    y: f64,
    v: f64,
    half: f64,
}

impl Figure {
    /// Does the curve run through the figure?
    fn crosses(&self, lap: &LapTrace, frame: &Frame) -> bool {
        let metres = |px: f64| px * (frame.x.to - frame.x.from) / frame.width;
        let (at, reach) = (frame.x.from + metres(self.x - frame.left), metres(self.half + 1.5));
        let hit = |v: f64| (self.y - SMALL..self.y + 3.0).contains(&frame.py(kmh(v)));
        lap.rows_in(at - reach, at + reach).iter().any(|r| hit(r.v))
    }
}

/// Beneath the middle of where a corner is slowest.
fn slowest(lap: &LapTrace, place: &Place, frame: &Frame) -> Option<Figure> {
    /// Within this of the slowest counts as slowest, m/s.
    const FLAT: f64 = 0.15;
    let low = if place.is_corner() { lap.slowest_in(place)? } else { return None };
    // At an end of the place it is on its way up or down, not slowest: a bend taken flat out.
    let ends = place.pieces(lap.length_m);
    let (first, last) = (ends[0].0, ends[ends.len() - 1].1);
    if [first, last].into_iter().any(|end| (low.s - end).abs() < 0.02 * place.length_m) {
        return None;
    }
    let at = lap.rows.partition_point(|r| r.s < low.s);
    let flat = |r: &&unladen_lap::Row| r.v < low.v + FLAT;
    let from = lap.rows[..at].iter().rev().take_while(flat).last().unwrap_or(low);
    let to = lap.rows[at..].iter().take_while(flat).last().unwrap_or(low);
    Some(Figure { x: frame.px(0.5 * (from.s + to.s)), y: frame.py(kmh(low.v)) + 15.0, v: low.v, half: 0.0 })
}

/// Names and times beside the ends of the curves.
fn draw_lap_names(canvas: &mut Canvas, laps: &[LapTrace], frame: &Frame, end: f64) {
    let ends: Vec<f64> = laps.iter().map(|l| frame.py(kmh(l.speed_at(l.length_m)))).collect();
    let left = frame.right() + 28.0;
    let room = (frame.height - 20.0) / laps.len() as f64;
    let lines = if room > 51.0 { 2 } else { 1 };
    let wrap = |l: &LapTrace| Face::Semibold.wrap(l.name, LABEL, end - left, lines);
    let names: Vec<_> = laps.iter().map(wrap).collect();
    let tallest = names.iter().map(Vec::len).max().unwrap_or(1) as f64;
    // Where it gets tight, times go first.
    let timed = room > 36.0;
    let gap = LINE * (tallest + if timed { 1.0 } else { 0.0 }) + 6.0;
    let heights = spread(&ends, gap, frame.top + 8.0, frame.bottom() + 12.0 - gap);
    let edge = frame.right();
    canvas.part("laps", |canvas| {
        for (i, ((lap, end), y)) in laps.iter().zip(&ends).zip(heights).enumerate() {
            let colour = SERIES[i % SERIES.len()];
            canvas.line(&[(edge + 1.0, *end), (edge + 12.0, y), (left - 4.0, y)], stroke(colour, 1.2));
            let mut base = y + centred(LABEL);
            for line in &names[i] {
                canvas.text(Text { face: Face::Semibold, ..label(line, (left, base)) });
                base += LINE;
            }
            if timed {
                canvas.text(Text { colour: INK_SOFT, ..label(&lap_time(lap.lap_time_s, 3), (left, base)) });
            }
        }
    });
}

/// Which curve is whose, above a narrow chart.
fn draw_legend(canvas: &mut Canvas, laps: &[LapTrace], top: f64, paper: Paper) {
    canvas.part("laps", |canvas| {
        for (i, lap) in laps.iter().enumerate() {
            let (left, y) = (paper.margin(), top + LEGEND * (i as f64 + 0.5));
            canvas
                .line(&[(left, y), (left + 18.0, y)], stroke(SERIES[i % SERIES.len()], if i == 0 { 2.6 } else { 1.8 }));
            let time = lap_time(lap.lap_time_s, 3);
            let room = paper.right() - left - 36.0 - Face::Regular.width(&time, LABEL);
            let name = Face::Semibold.fit(lap.name, LABEL, room);
            canvas.text(Text { face: Face::Semibold, ..label(&name, (left + 24.0, y + centred(LABEL))) });
            let end = (left + 32.0 + Face::Semibold.width(&name, LABEL), y + centred(LABEL));
            canvas.text(Text { colour: INK_SOFT, ..label(&time, end) });
        }
    });
}

/// The unit at the head of a chart's upright axis.
pub(crate) fn draw_head(canvas: &mut Canvas, words: &str, frame: &Frame, paper: Paper) {
    let base = frame.top + centred(SMALL) - 16.0;
    if paper.narrow() {
        // Inside, for the names of places stand above.
        canvas.text(Text { halo: true, ..small(words, (frame.left + 3.0, frame.top + 11.0)) });
    } else {
        draw_unit(canvas, words, (frame.left - 7.0, base));
    }
}

/// A unit at the head of an axis, ending at `at`.
pub(crate) fn draw_unit(canvas: &mut Canvas, words: &str, at: (f64, f64)) {
    canvas.text(Text { anchor: Anchor::End, ..small(words, at) });
}

/// The distance axis at the foot of all panels.
pub(crate) fn draw_distance(canvas: &mut Canvas, frame: &Frame, top: f64, unit: &str) {
    canvas.part("distance", |canvas| {
        let y = top + 12.0;
        for tick in &frame.x.ticks {
            let figure = frame.x.label(*tick);
            canvas.text(Text { anchor: Anchor::Middle, ..small(&figure, (frame.px(*tick), y)) });
        }
        // Beside the first figure where there is room, else the unit alone.
        let words = if frame.left > 90.0 { format!("distance, {unit}") } else { unit.to_owned() };
        draw_unit(canvas, &words, (frame.left - 12.0, y));
    });
}
