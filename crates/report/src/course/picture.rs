//! A course made from positions: the map coloured by curvature with the positions behind it, curvature with its band
//! and height against distance.

use unladen_track::Pose;

use crate::draw::colour::Colour;
use crate::draw::frame::{Frame, Series, TICKS_LEFT};
use crate::draw::header::Header;
use crate::draw::labels::Names;
use crate::draw::look::{ACCENT, BAND, INK, MARGIN, PAPER, Paper, RULE, SERIES, SMALL, WIDTH, speed_colour, stroke};
use crate::draw::map_key::draw_scale;
use crate::draw::measure::font::Face;
use crate::draw::measure::ticks::Axis;
use crate::draw::picture::{Picture, PlotError};
use crate::draw::place_labels::{Box2, Room};
use crate::draw::svg::{Anchor, Canvas, Point, Text, centred, small};
use crate::lap::place::Place;
use crate::lap::plan::Fitted;
use crate::lap::speed::spans;
use crate::words::number::distance;

/// What to draw. Lists of nodes have one length.
#[derive(Clone, Copy, Debug)]
pub struct TrackPlot<'a> {
    /// The course's name.
    pub name: &'a str,
    /// What it was made from, for the line beneath the title.
    pub origin: &'a str,
    /// A circuit.
    pub closed: bool,
    /// Its named places; of the made track, whose length is the line's but for little.
    pub places: &'a [Place],
    /// Positions as they came, m; none for a track's own file.
    pub data: &'a [[f64; 2]],
    /// Nodes of the line, m.
    pub points: &'a [[f64; 2]],
    /// Distance between nodes, m.
    pub step_m: f64,
    /// κ at the nodes, 1/m, and its standard deviation.
    pub kappa: &'a [f64],
    /// As `kappa`.
    pub kappa_sd: &'a [f64],
    /// κ of the segments, as (s, κ).
    pub segments: &'a [(f64, f64)],
    /// How many segments those are.
    pub count: usize,
    /// Height at the nodes, m.
    pub z: Option<&'a [f64]>,
}

/// Points of a line that are drawn at most: a million take gigabytes.
pub(super) const MOST: usize = 100_000;
/// More positions than this are thinned out.
const DOTS: usize = 4000;
const MAP_HEIGHT: f64 = 470.0;
const CHART: f64 = 190.0;
const HEIGHT_CHART: f64 = 110.0;
const SHADES: usize = 16;
const DATA: Colour = Colour(150, 160, 176);

/// Draws it.
pub fn track_picture(plot: &TrackPlot) -> Result<Picture, PlotError> {
    let n = plot.points.len();
    if n < 2 {
        return Err(PlotError::Empty { what: "the line" });
    }
    for (what, got) in [("curvature", plot.kappa.len()), ("its deviation", plot.kappa_sd.len())] {
        if got != n {
            return Err(PlotError::Lengths { what, got, want: n });
        }
    }
    let length = plot.step_m * if plot.closed { n as f64 } else { n as f64 - 1.0 };
    // Of the segments that the title counts: the line's own peaks may be sharper or blunter.
    let tightest = plot.segments.iter().fold(1e-6f64, |a, (_, k)| a.max(k.abs()));
    let radius = 1.0 / tightest;
    let title =
        format!("{} in {} segments; the tightest bend has a radius of {radius:.0} m", distance(length), plot.count);
    let header = Header::plan(&title, &format!("{}, {}", plot.name, plot.origin), Paper::FILE);
    let map_top = header.height + 10.0;
    let left = MARGIN + TICKS_LEFT + 10.0;
    let (x, unit) = Axis::distance(length, 9);
    let mut frame =
        Frame { left, top: 0.0, width: WIDTH - MARGIN - left, height: CHART, x: x.clone(), y: kappa_axis(plot) };
    let spans = spans(plot.places, &frame, length);
    let names = Names::plan(&spans, left, frame.right());
    let charts = map_top + MAP_HEIGHT + 64.0 + names.height;
    frame.top = charts;
    let low = plot.z.map_or(0.0, |_| HEIGHT_CHART + 42.0);
    let mut canvas = Canvas::new("course", WIDTH, charts + CHART + low + 22.0 + MARGIN);
    header.draw(&mut canvas);
    draw_map(&mut canvas, plot, map_top, tightest);
    names.draw(&mut canvas, charts - 24.0);
    draw_kappa(&mut canvas, plot, &frame)?;
    let mut bottom = frame.bottom();
    if let Some(z) = plot.z {
        let (least, most) = z.iter().fold((f64::MAX, f64::MIN), |(a, b), z| (a.min(*z), b.max(*z)));
        let middle = 0.5 * (least + most);
        let half = (0.55 * (most - least)).max(1.0);
        let y = Axis::over(middle - half, middle + half, 3);
        let frame = Frame { top: bottom + 42.0, height: HEIGHT_CHART, y, x, ..frame.clone() };
        frame.draw_grid(&mut canvas, false)?;
        canvas.text(small("height, m", (left - TICKS_LEFT, frame.top - 8.0)));
        let points = z.iter().enumerate().map(|(i, z)| (i as f64 * plot.step_m, *z)).collect();
        frame.draw_series(&mut canvas, &[Series { points, stroke: stroke(SERIES[2], 1.8), fill: 0.0 }])?;
        bottom = frame.bottom();
    }
    crate::lap::speed::draw_distance(&mut canvas, &Frame { top: bottom - CHART, ..frame }, bottom + 6.0, unit);
    let alt = format!("{title}. Map of {} coloured by curvature, and curvature against distance.", plot.name);
    canvas.finish(&title, &alt)
}

fn pose([x, y]: [f64; 2]) -> Pose {
    Pose { x, y, ..Pose::default() }
}

fn shade(kappa: f64, tightest: f64) -> usize {
    // The square root spreads the wide bends, which are most of a track.
    (((kappa.abs() / tightest.max(1e-9)).sqrt().clamp(0.0, 1.0)) * (SHADES - 1) as f64).round() as usize
}

fn colour(shade: usize) -> Colour {
    // Straight light, tight dark.
    speed_colour(1.0 - shade as f64 / (SHADES - 1) as f64)
}

fn draw_map(canvas: &mut Canvas, plot: &TrackPlot, top: f64, tightest: f64) {
    let mut plan: Vec<Pose> = plot.points.iter().map(|p| pose(*p)).collect();
    if plot.closed {
        plan.push(plan[0]);
    }
    let fitted = Fitted::new(&plan, WIDTH - 2.0 * MARGIN - 40.0, MAP_HEIGHT - 30.0);
    let (dx, dy) = (0.5 * (WIDTH - fitted.size.0), top + 0.5 * (MAP_HEIGHT - fitted.size.1));
    let at = |p: &Pose| {
        let (x, y) = fitted.at(p);
        (x + dx, y + dy)
    };
    canvas.part("data", |canvas| {
        let every = plot.data.len().div_ceil(DOTS).max(1);
        for p in plot.data.iter().step_by(every) {
            let (x, y) = at(&pose(*p));
            // A position far out must not leave the picture.
            if (MARGIN..WIDTH - MARGIN).contains(&x) && (top..top + MAP_HEIGHT).contains(&y) {
                canvas.disc((x, y), 1.5, DATA);
            }
        }
    });
    canvas.part("line", |canvas| {
        let n = plot.points.len();
        let mut i = 0;
        while i + 1 < plan.len() {
            let own = shade(plot.kappa[i % n], tightest);
            let mut j = i + 1;
            while j + 1 < plan.len() && shade(plot.kappa[j % n], tightest) == own {
                j += 1;
            }
            // One node further, so that no paper shines through.
            let run: Vec<_> = plan[i..(j + 2).min(plan.len())].iter().map(at).collect();
            canvas.line(&run, stroke(colour(own), 4.5));
            i = j;
        }
    });
    let road: Vec<Point> = plan.iter().map(at).collect();
    let middle = (0.5 * WIDTH, top + 0.5 * MAP_HEIGHT);
    let bounds = Box2 { centre: middle, half: (0.5 * WIDTH - 8.0, 0.5 * MAP_HEIGHT) };
    ends_and_way(canvas, &road, plot.closed, bounds);
    draw_key(canvas, top + MAP_HEIGHT + 14.0, tightest, !plot.data.is_empty());
    draw_scale(canvas, fitted.scale, top + MAP_HEIGHT + 14.0, Paper::FILE);
}

/// Bars across the road where it starts and ends, with their names, and arrows that show the way round.
fn ends_and_way(canvas: &mut Canvas, road: &[Point], closed: bool, bounds: Box2) {
    let last = road.len() - 1;
    // Over some px, so that a short step does not turn the arrow.
    let heading = |i: usize| {
        let far = |k: &&usize| (road[**k].0 - road[i].0).hypot(road[**k].1 - road[i].1) > 6.0;
        let (ahead, behind): (Vec<usize>, Vec<usize>) = ((i..=last).collect(), (0..=i).rev().collect());
        let (a, b) = match ahead.iter().find(far) {
            Some(&k) => (road[i], road[k]),
            None => (road[behind.iter().find(far).copied().unwrap_or(0)], road[i]),
        };
        let size = (b.0 - a.0).hypot(b.1 - a.1).max(1e-6);
        ((b.0 - a.0) / size, (b.1 - a.1) / size)
    };
    canvas.part("marks", |canvas| {
        let mut room = Room::new(bounds, road.iter().copied().step_by((road.len() / 4000).max(1)).collect(), 6.0);
        for i in [last / 12, last / 3, 2 * last / 3] {
            let ((x, y), (dx, dy)) = (road[i], heading(i));
            let corner = |along: f64, across: f64| (x + along * dx - across * dy, y + along * dy + across * dx);
            let arrow = [corner(9.0, 0.0), corner(-6.0, 7.0), corner(-6.0, -7.0)];
            canvas.ring(&arrow, stroke(PAPER, 2.4));
            canvas.fill(&arrow, INK, 1.0);
            room.take(Box2 { centre: (x, y), half: (9.0, 9.0) });
        }
        let ends = if closed { vec![(0, "start and finish")] } else { vec![(0, "start"), (last, "finish")] };
        for (i, words) in ends {
            let ((x, y), (dx, dy)) = (road[i], heading(i));
            canvas.line(&[(x + 11.0 * dy, y - 11.0 * dx), (x - 11.0 * dy, y + 11.0 * dx)], stroke(INK, 2.6));
            let half = (0.5 * Face::Semibold.width(words, SMALL) + 2.0, 0.5 * SMALL + 1.0);
            let Some(spot) = room.place((x, y), (-dy, dx), half) else { continue };
            if let Some((from, to)) = spot.leader {
                canvas.line(&[from, to], stroke(RULE, 0.9));
            }
            let base = (spot.area.centre.0, spot.area.centre.1 + centred(SMALL));
            let text = Text { anchor: Anchor::Middle, face: Face::Semibold, halo: true, ..small(words, base) };
            canvas.text(Text { colour: INK, ..text });
        }
    });
}

fn draw_key(canvas: &mut Canvas, top: f64, tightest: f64, data: bool) {
    canvas.part("key", |canvas| {
        let width = 15.0;
        for i in 0..SHADES {
            canvas.rect(
                (MARGIN + i as f64 * width, top),
                (width + if i + 1 < SHADES { 0.5 } else { 0.0 }, 9.0),
                colour(i),
            );
        }
        let end = MARGIN + SHADES as f64 * width;
        canvas.text(small("straight", (MARGIN, top + 23.0)));
        let words = format!("radius {:.0} m", 1.0 / tightest.max(1e-6));
        canvas.text(Text { anchor: Anchor::End, ..small(&words, (end, top + 23.0)) });
        if data {
            canvas.disc((end + 22.0, top + 5.0), 1.8, DATA);
            canvas.text(small("positions as they came", (end + 30.0, top + 9.0)));
        }
    });
}

fn kappa_axis(plot: &TrackPlot) -> Axis {
    let reach = |sign: f64| {
        let ends = plot.kappa.iter().zip(plot.kappa_sd).map(|(k, sd)| sign * k + sd);
        ends.fold(1e-3f64, f64::max)
    };
    Axis::over(-1.05 * reach(-1.0), 1.05 * reach(1.0), 5)
}

fn draw_kappa(canvas: &mut Canvas, plot: &TrackPlot, frame: &Frame) -> Result<(), PlotError> {
    let axis = (frame.y.from, frame.y.to);
    let px = |i: usize, k: f64| (frame.px(i as f64 * plot.step_m), frame.py(k.clamp(axis.0, axis.1)));
    frame.draw_grid(canvas, false)?;
    let n = plot.points.len();
    let mut band: Vec<_> = (0..n).map(|i| px(i, plot.kappa[i] + plot.kappa_sd[i])).collect();
    band.extend((0..n).rev().map(|i| px(i, plot.kappa[i] - plot.kappa_sd[i])));
    canvas.fill(&band, ACCENT, 0.35);
    canvas.line(&[(frame.left, frame.py(0.0)), (frame.right(), frame.py(0.0))], stroke(RULE, 1.0));
    let line = |points: Vec<(f64, f64)>, s| Series { points, stroke: s, fill: 0.0 };
    let every = plot.segments.len().div_ceil(MOST).max(1);
    let segments = plot.segments.iter().copied().step_by(every).collect();
    frame.draw_series(canvas, &[line(segments, stroke(SERIES[0], 1.6))])?;
    let (top, left) = (frame.top - 9.0, frame.left - TICKS_LEFT);
    canvas.text(small("curvature, 1/m, left +", (left, top)));
    if plot.data.is_empty() {
        return Ok(());
    }
    canvas.rect((left + 150.0, top - 9.0), (22.0, 9.0), BAND);
    canvas.fill(
        &[(left + 150.0, top - 9.0), (left + 172.0, top - 9.0), (left + 172.0, top), (left + 150.0, top)],
        ACCENT,
        0.35,
    );
    canvas.text(small("± one standard deviation of the positions' curvature", (left + 178.0, top)));
    canvas.line(&[(left + 470.0, top - 4.0), (left + 492.0, top - 4.0)], stroke(SERIES[0], 1.6));
    canvas.text(small("the track's segments", (left + 498.0, top)));
    Ok(())
}
