//! The centre of gravity: its mark on the car, and a lens beside the view that shows how far it moves.

use crate::draw::look::{GRID, INK, INK_SOFT, PAPER, RULE, SMALL, stroke};
use crate::draw::svg::{Anchor, Canvas, Point, Text, centred, small};
use crate::words::number::fixed;
use crate::worth::kilogram::View;

/// Where the centre of gravity is at some time.
#[derive(Clone, Debug, PartialEq)]
pub struct Centre {
    /// "was", "now", "planned".
    pub name: String,
    /// It is where the car stands now.
    pub now: bool,
    /// The car's mass then, kg.
    pub mass_kg: f64,
    /// Behind the front axle line, right of the centre plane, above ground, m.
    pub at_m: [f64; 3],
    /// Standard deviations of these, m.
    pub sd_m: [f64; 3],
}

/// The quartered disc of drawings.
pub fn centre_mark(canvas: &mut Canvas, at: Point, r: f64) {
    canvas.disc(at, r + 1.6, PAPER);
    canvas.disc(at, r, INK);
    canvas.disc(at, r - 1.2, PAPER);
    for from in [0.0, 180.0_f64] {
        let arc = (0..=9).map(|i| (from + f64::from(i) * 10.0).to_radians());
        let mut quarter: Vec<Point> = arc.map(|t| (at.0 + (r - 0.6) * t.cos(), at.1 - (r - 0.6) * t.sin())).collect();
        quarter.push(at);
        canvas.fill(&quarter, INK, 1.0);
    }
}

const CAPTION: f64 = 34.0;
/// Beside a view and beneath all of them.
const HEIGHT: [f64; 2] = [150.0, 110.0];
const ROW: f64 = 17.0;

/// Height of a lens beneath the views with its list, px.
pub fn beneath(centres: &[Centre]) -> f64 {
    CAPTION + HEIGHT[1] + 34.0 + ROW * centres.len() as f64
}

/// Draws a lens between two x, px, right of its view or where `top` says: the same axes, enlarged so that all of it can be seen.
pub fn draw_lens(canvas: &mut Canvas, view: &View, centres: &[Centre], (left, right): (f64, f64), top: Option<f64>) {
    let Some(now) = centres.iter().find(|c| c.now).or(centres.first()) else { return };
    let (top, height) = match top {
        Some(top) => (top + CAPTION, HEIGHT[1]),
        None => (view.corner.1, HEIGHT[0]),
    };
    let (width, up) = (right - left, view.up);
    let mm = |c: &Centre| (1e3 * c.at_m[0], 1e3 * c.at_m[up]);
    // All of them, and the uncertainty of the one that is drawn with it.
    let (at, sd) = (mm(now), (1e3 * now.sd_m[0], 1e3 * now.sd_m[up]));
    let mut points: Vec<Point> = centres.iter().map(mm).collect();
    points.extend([(at.0 - sd.0, at.1 - sd.1), (at.0 + sd.0, at.1 + sd.1)]);
    let span = |of: &dyn Fn(&Point) -> f64| {
        points.iter().map(of).fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| (l.min(v), h.max(v)))
    };
    let (x, y) = (span(&|p| p.0), span(&|p| p.1));
    let scale = (0.62 * width / (x.1 - x.0).max(4.0)).min(0.66 * height / (y.1 - y.0).max(4.0));
    let middle = (0.5 * (x.0 + x.1), 0.5 * (y.0 + y.1));
    let centre = (left + 0.5 * width, top + 0.5 * height);
    let px = |p: Point| (centre.0 + scale * (p.0 - middle.0), centre.1 - scale * (p.1 - middle.1));
    canvas.part("lens", |canvas| {
        let by = 1e3 * scale / view.scale;
        let from = if up == 2 { "from the side" } else { "from above" };
        let words = format!("centre of gravity {from}, ×{}", fixed(by, usize::from(by < 9.5)));
        canvas.text(Text { colour: INK_SOFT, ..small(&words, (left, top - CAPTION + 10.0)) });
        let corners = [(left, top), (right, top), (right, top + height), (left, top + height)];
        canvas.fill(&corners, PAPER, 1.0);
        canvas.ring(&corners, stroke(RULE, 1.0));
        grid(canvas, &corners, scale, middle, centre);
        let ring = 1.0_f64.max(sd.0 * scale);
        for (a, b) in [((-ring, 0.0), (ring, 0.0)), ((0.0, -sd.1 * scale), (0.0, sd.1 * scale))] {
            let c = px(at);
            canvas.line(&[(c.0 + a.0, c.1 + a.1), (c.0 + b.0, c.1 + b.1)], stroke(INK_SOFT, 1.1));
        }
        let way: Vec<Point> = centres.iter().map(|c| px(mm(c))).collect();
        canvas.line(&way, stroke(INK, 1.4));
        for (i, at) in way.iter().enumerate() {
            mark(canvas, centres, i, *at);
        }
        list(canvas, centres, (left, top + height + 34.0), up);
    });
}

/// Lines at a round distance, and how far that is.
fn grid(canvas: &mut Canvas, corners: &[Point; 4], scale: f64, middle: Point, centre: Point) {
    let (left, right, top, bottom) = (corners[0].0, corners[1].0, corners[0].1, corners[2].1);
    let raw = 42.0 / scale;
    let power = 10f64.powf(raw.log10().floor());
    let step = [1.0, 2.0, 5.0, 10.0].into_iter().map(|k| k * power).find(|s| *s >= raw).unwrap_or(10.0 * power);
    let lines = |from: f64, to: f64, zero: f64, middle: f64| -> Vec<f64> {
        let first = ((from - zero) / scale + middle) / step;
        let last = ((to - zero) / scale + middle) / step;
        let count = (last.floor() - first.ceil()).clamp(-1.0, 60.0) as i64;
        (0..=count).map(|i| zero + scale * ((first.ceil() + i as f64) * step - middle)).collect()
    };
    for x in lines(left, right, centre.0, middle.0) {
        canvas.line(&[(x, top), (x, bottom)], stroke(GRID, 0.8));
    }
    // Up is towards less on the page, but lines at whole steps are the same either way.
    for y in lines(top - 2.0 * centre.1, bottom - 2.0 * centre.1, -centre.1, middle.1) {
        canvas.line(&[(left, -y), (right, -y)], stroke(GRID, 0.8));
    }
    let decimals = if step < 1.0 { 1 } else { 0 };
    let words = format!("{} mm a square; cross: one standard deviation of now", fixed(step, decimals));
    canvas.text(Text { anchor: Anchor::End, ..small(&words, (right, bottom + 14.0)) });
}

/// Open for what is past, full for what is planned, as the rows are.
fn mark(canvas: &mut Canvas, centres: &[Centre], i: usize, at: Point) {
    if centres[i].now {
        return centre_mark(canvas, at, 7.5);
    }
    let past = centres.iter().position(|c| c.now).is_some_and(|now| i < now);
    canvas.disc(at, 6.4, PAPER);
    canvas.disc(at, 5.2, INK);
    if past {
        canvas.disc(at, 3.8, PAPER);
    }
}

/// Beneath the lens: when, how heavy, and where in this view.
fn list(canvas: &mut Canvas, centres: &[Centre], (left, top): Point, up: usize) {
    for (i, c) in centres.iter().enumerate() {
        let y = top + ROW * i as f64;
        mark(canvas, centres, i, (left + 8.0, y - centred(SMALL)));
        let (x, v) = (fixed(1e3 * c.at_m[0], 0), 1e3 * c.at_m[up]);
        let across = match up {
            2 => format!("{} up", fixed(v, 0)),
            _ if v < 0.0 => format!("{} left", fixed(-v, 0)),
            _ => format!("{} right", fixed(v, 0)),
        };
        let words = format!("{}, {} kg: {x} back, {across}", c.name, fixed(c.mass_kg, 0));
        canvas.text(Text { colour: INK, ..small(&words, (left + 21.0, y)) });
    }
}
