//! Lap time over one axis of a sweep, a curve for each value of another.

use crate::draw::frame::{Frame, Series, TICKS_LEFT};
use crate::draw::header::Header;
use crate::draw::labels::spread;
use crate::draw::look::{ACCENT, ACCENT_TEXT, GRID, INK_SOFT, LABEL, MARGIN, Paper, SERIES, SMALL, WIDTH, stroke};
use crate::draw::measure::ticks::Axis;
use crate::draw::picture::{Picture, PlotError};
use crate::draw::svg::{Anchor, Canvas, Text, centred, label, small};
use crate::words::number::{fixed, lap_time};

/// A curve: what it is called, and (x, lap time, s) of its cells; `None` where there is no lap.
pub type Curve = (String, Vec<(f64, Option<f64>)>);

/// What to draw.
#[derive(Clone, Debug)]
pub struct SweepPlot<'a> {
    /// The car.
    pub car: &'a str,
    /// The track.
    pub track: &'a str,
    /// What runs to the right: "mass, kg".
    pub x: &'a str,
    /// What tells the curves apart; empty for one alone.
    pub by: &'a str,
    /// The curves.
    pub curves: &'a [Curve],
    /// Where the car as it stands is, where it is on this picture at all; and its lap time, s.
    pub now: (Option<f64>, f64),
}

const PLOT_HEIGHT: f64 = 360.0;
const END_LABEL: f64 = 150.0;
/// Curves that are named.
const NAMED: usize = 7;

/// Draws it.
///
/// # Errors
/// [`PlotError`] where there is nothing to draw.
pub fn sweep_picture(plot: &SweepPlot) -> Result<Picture, PlotError> {
    let laps = || plot.curves.iter().flat_map(|c| &c.1).filter_map(|(x, t)| t.map(|t| (*x, t)));
    let ends = |of: &dyn Fn((f64, f64)) -> f64| {
        laps().map(of).fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), v| (low.min(v), high.max(v)))
    };
    let ((x_low, x_high), (low, high)) = (ends(&|p| p.0), ends(&|p| p.1));
    if low > high {
        return Err(PlotError::Empty { what: "the list of laps" });
    }
    let title = format!("{} s between the fastest lap, {}, and the slowest", fixed(high - low, 2), lap_time(low, 2));
    let by = if plot.by.is_empty() { String::new() } else { format!(", a curve for each {}", plot.by) };
    let header =
        Header::plan(&title, &format!("{} on {}: lap time over {}{by}", plot.car, plot.track, plot.x), Paper::FILE);
    let (left, top) = (MARGIN + TICKS_LEFT + 10.0, header.height + 26.0);
    let right = WIDTH - MARGIN - END_LABEL;
    let room = 0.06 * (high - low).max(0.01);
    let (y_low, y_high) = (low.min(plot.now.1) - room, high.max(plot.now.1) + room);
    let frame = Frame {
        left,
        top,
        width: right - left,
        height: PLOT_HEIGHT,
        x: Axis::over(x_low, if x_high > x_low { x_high } else { x_low + 1.0 }, 6),
        y: Axis::over(y_low, y_high, 6),
    };
    let mut canvas = Canvas::new("sweep", WIDTH, frame.bottom() + 46.0 + MARGIN);
    header.draw(&mut canvas);
    frame.draw_grid(&mut canvas, true)?;
    canvas.text(Text { colour: INK_SOFT, ..small("lap time, s", (left - 40.0, top - 9.0)) });
    canvas.text(Text { anchor: Anchor::Middle, ..small(plot.x, (0.5 * (left + right), frame.bottom() + 36.0)) });
    let mut series = Vec::new();
    let mut named = Vec::new();
    let every = plot.curves.len().div_ceil(NAMED).max(1);
    for (i, (name, cells)) in plot.curves.iter().enumerate() {
        // A cell without a lap is a gap.
        for run in cells.split(|cell| cell.1.is_none()).filter(|run| !run.is_empty()) {
            let points: Vec<(f64, f64)> = run.iter().filter_map(|(x, t)| t.map(|t| (*x, t))).collect();
            series.push(Series { points, stroke: stroke(SERIES[0], 1.6), fill: 0.0 });
        }
        let last = cells.iter().rev().find_map(|(x, t)| t.map(|t| (*x, t)));
        if let (Some(end), true) = (last, i % every == 0 || i + 1 == plot.curves.len()) {
            named.push((name.as_str(), end));
        }
    }
    frame.draw_series(&mut canvas, &series)?;
    let y = frame.py(plot.now.1);
    canvas.line(&[(left, y), (right, y)], stroke(ACCENT, 1.0));
    if let Some(x) = plot.now.0.filter(|x| (x_low..=x_high).contains(x)) {
        canvas.disc((frame.px(x), y), 4.0, ACCENT);
    }
    let mut wanted: Vec<f64> = named.iter().map(|n| frame.py(n.1.1)).collect();
    wanted.push(y);
    let ys = spread(&wanted, LABEL + 3.0, top + 4.0, frame.bottom() - 4.0);
    canvas.part("ends", |canvas| {
        for ((name, end), at) in named.iter().zip(&ys) {
            if !name.is_empty() {
                let from = (frame.px(end.0) + 3.0, frame.py(end.1));
                canvas.line(&[from, (right + 10.0, *at)], stroke(GRID, 1.0));
                canvas.text(label(name, (right + 14.0, at + centred(SMALL))));
            }
        }
        if let Some(at) = ys.last() {
            let words = label("as it stands", (right + 14.0, at + centred(SMALL)));
            canvas.text(Text { colour: ACCENT_TEXT, ..words });
        }
    });
    let alt = format!("Lap time of {} on {} over {}. {title}.", plot.car, plot.track, plot.x);
    canvas.finish(&title, &alt)
}
