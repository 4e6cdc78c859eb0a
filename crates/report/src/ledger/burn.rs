//! The way to a target: kilograms against the dates at which rows were done, and on through what is planned.

use unladen_study::ledger::summary::Step;

use crate::draw::frame::{Frame, Series, TICKS_LEFT};
use crate::draw::header::Header;
use crate::draw::labels::spread;
use crate::draw::look::{ACCENT, ACCENT_TEXT, BAND, INK, INK_SOFT, LABEL, Paper, RULE, SERIES, SMALL, stroke};
use crate::draw::measure::font::Face;
use crate::draw::measure::ticks::Axis;
use crate::draw::picture::{Picture, PlotError};
use crate::draw::svg::{Anchor, Canvas, Text, centred, label, small};
use crate::words::number::{fixed, signed, with_sd};

/// What to draw.
#[derive(Clone, Debug)]
pub struct BurnPlot<'a> {
    /// The car's name.
    pub car: &'a str,
    /// What is aboard.
    pub aboard: &'a str,
    /// The steps.
    pub steps: &'a [Step],
    /// The name of a step's row.
    pub names: &'a [String],
    /// The mass to be reached, kg.
    pub target_kg: Option<f64>,
    /// Dates to write beneath, days since 1970-01-01 and what they are called, rising; none: the steps are counted.
    pub dates: &'a [(i64, String)],
}

/// Broad and narrow.
const PLOT_HEIGHT: [f64; 2] = [330.0, 260.0];
const END_LABEL: f64 = 110.0;
/// Steps that are named, on either side of now.
const NAMED: usize = 5;
const GAP: f64 = 15.0;
/// Longest name of a step with its change, px.
const WIDEST: [f64; 2] = [190.0, 120.0];
const WEIGHED: &str = "weighed";

/// A point of the way: where, which step.
struct At {
    x: f64,
    step: usize,
}

/// Draws it.
pub fn burn_picture(plot: &BurnPlot, paper: Paper) -> Result<Picture, PlotError> {
    let Some(now) = plot.steps.iter().rposition(|s| s.done) else {
        return Err(PlotError::Empty { what: "the list of steps" });
    };
    let title = finding(plot, now);
    let how = if plot.dates.is_empty() { "row by row" } else { "by date" };
    let subtitle =
        format!("{} with {} aboard: what was done {how}, what is planned in the ledger's order", plot.car, plot.aboard);
    let header = Header::plan(&title, &subtitle, paper);
    let narrow = paper.narrow();
    let tall = paper.of(PLOT_HEIGHT[0], PLOT_HEIGHT[1]);
    let left = paper.margin() + TICKS_LEFT + paper.of(16.0, 0.0);
    let right = paper.right() - paper.of(END_LABEL, 4.0);
    let at = places(plot, now);
    let masses = plot.steps.iter().map(|s| (s.mass - s.sd, s.mass + s.sd)).chain(plot.target_kg.map(|t| (t, t)));
    let (low, high) = masses.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), (a, b)| (l.min(a), h.max(b)));
    let room = 0.06 * (high - low).max(1.0);
    let y = Axis::over(low - room, high + room, 6);
    // No lines at whole hundredths of the width: dates and a band say where things are.
    let x = Axis { ticks: vec![0.0], ..Axis::over(0.0, 1.0, 1) };
    let top = header.height + 30.0;
    let frame = Frame { left, top, width: right - left, height: tall, x, y };
    let height = frame.bottom() + 24.0 + paper.of(24.0, 2.0);
    let mut canvas = Canvas::new("burn", paper.width, height);
    header.draw(&mut canvas);
    let split = at[now].x;
    if now + 1 < plot.steps.len() {
        canvas.rect((frame.px(split), top), (frame.right() - frame.px(split), tall), BAND);
        canvas.text(small("planned", (frame.px(split) + 5.0, top - 6.0)));
    }
    frame.draw_grid(&mut canvas, false)?;
    canvas.text(Text { anchor: Anchor::End, ..small("kg", (left - 7.0, top - 8.0)) });
    if let Some(target) = plot.target_kg {
        let y = frame.py(target);
        canvas.line(&[(left, y), (right, y)], stroke(ACCENT, 1.6));
        let words = format!("target {} kg", fixed(target, 0));
        let own = Text { colour: ACCENT_TEXT, ..label(&words, (right + 8.0, y + centred(LABEL))) };
        canvas.text(if narrow { Text { at: (left + 4.0, y + 14.0), halo: true, ..own } } else { own });
    }
    frame.draw_series(&mut canvas, &[stairs(plot, &at, 0, now, 2.4), stairs(plot, &at, now, at.len() - 1, 1.3)])?;
    let mut taken = Taken::default();
    if let (true, Some(target)) = (narrow, plot.target_kg) {
        taken.take(left + 4.0, 100.0, frame.py(target) + 14.0, LABEL);
    }
    marks(&mut canvas, plot, &frame, &at, now, &mut taken, paper);
    names(&mut canvas, plot, &frame, &at, now, &mut taken, paper);
    beneath(&mut canvas, plot, &frame);
    let alt = format!("{title}. Mass of {} after each row of its ledger.", plot.car);
    canvas.finish(&title, &alt)
}

fn finding(plot: &BurnPlot, now: usize) -> String {
    let (current, last) = (&plot.steps[now], &plot.steps[plot.steps.len() - 1]);
    let mass = format!("{} kg now", with_sd(current.mass, current.sd));
    let side = |kg: f64| format!("{} kg {}", fixed(kg.abs(), 0), if kg > 0.0 { "above" } else { "below" });
    match (plot.target_kg, now + 1 < plot.steps.len()) {
        (Some(t), true) => {
            format!("{mass}, {} the target; the plans lead to {} it", side(current.mass - t), side(last.mass - t))
        }
        (Some(t), false) => format!("{mass}, {} the target", side(current.mass - t)),
        (None, true) => format!("{mass}; the plans lead to {} kg", with_sd(last.mass, last.sd)),
        (None, false) => mass,
    }
}

/// 0…1 across the frame: what was done by date where there are dates, what is planned evenly.
fn places(plot: &BurnPlot, now: usize) -> Vec<At> {
    let planned = plot.steps.len() - 1 - now;
    let split = if planned == 0 { 1.0 } else { 0.58 };
    let days: Vec<Option<i64>> = plot.steps[..=now].iter().map(|s| s.day).collect();
    let known: Vec<i64> = days.iter().copied().flatten().collect();
    let (first, last) = (known.iter().min().copied(), known.iter().max().copied());
    let dated = !plot.dates.is_empty() && first < last;
    let mut before = 0.0;
    let x = |i: usize, before: &mut f64| {
        if i > now {
            return split + (1.0 - split) * (i - now) as f64 / (planned as f64 + 0.5);
        }
        let at = match (dated, days[i], first, last) {
            (true, Some(day), Some(first), Some(last)) => {
                split * (0.02 + 0.96 * (day - first) as f64 / (last - first) as f64)
            }
            // Done without a date: after the last one.
            (true, ..) => split,
            _ => split * (i as f64 + 0.5) / (now as f64 + 0.5),
        };
        *before = before.max(at);
        *before
    };
    let mut all: Vec<At> = (0..plot.steps.len()).map(|i| At { x: x(i, &mut before), step: i }).collect();
    // What is now reaches to where the plans begin.
    all[now].x = all[now].x.max(split * 0.98);
    all
}

/// Level until the next step, then down.
fn stairs(plot: &BurnPlot, at: &[At], from: usize, to: usize, width: f64) -> Series {
    let mut points = Vec::new();
    for pair in at[from..=to].windows(2) {
        let (a, b) = (plot.steps[pair[0].step].mass, plot.steps[pair[1].step].mass);
        points.extend([(pair[0].x, a), (pair[1].x, a), (pair[1].x, b)]);
    }
    if points.is_empty() {
        points.push((at[from].x, plot.steps[at[from].step].mass));
    }
    Series { points, stroke: stroke(SERIES[0], width), fill: 0.0 }
}

/// The largest steps by name, on the free side of the stairs; a name that finds no room is left out.
fn names(canvas: &mut Canvas, plot: &BurnPlot, frame: &Frame, at: &[At], now: usize, taken: &mut Taken, paper: Paper) {
    let change = |i: usize| plot.steps[i].mass - plot.steps[i - 1].mass;
    canvas.part("names", |canvas| {
        for (range, planned) in [(1..now + 1, false), (now + 1..plot.steps.len(), true)] {
            let mut largest: Vec<usize> = range.filter(|&i| plot.steps[i].row.is_some()).collect();
            largest.sort_by(|&a, &b| change(b).abs().total_cmp(&change(a).abs()));
            largest.truncate(paper.of(NAMED, 4));
            largest.sort_unstable();
            // Above and behind what was done; below and before what is planned, where the stairs leave room too.
            let level = |i: usize| {
                let (a, b) = (plot.steps[i].mass, plot.steps[i - 1].mass);
                if planned && a < b {
                    frame.py(a) + 12.0
                } else if planned {
                    frame.py(a) + 16.0
                } else {
                    frame.py(a.max(b)) - 6.0
                }
            };
            let wanted: Vec<f64> = largest.iter().map(|&i| level(i)).collect();
            let ys = spread(&wanted, GAP, frame.top + 12.0, frame.bottom() - 6.0);
            for (&i, y) in largest.iter().zip(ys) {
                let Some(row) = plot.steps[i].row else { continue };
                let kg = format!(" {}", signed(&fixed(change(i), 1)).replace('-', "−"));
                let room = paper.of(WIDEST[0], WIDEST[1]) - Face::Regular.width(&kg, SMALL);
                let name = Face::Regular.fit(plot.names.get(row).map_or("", String::as_str), SMALL, room);
                let words = name + &kg;
                let (x, long) = (frame.px(at[i].x) + 5.0, Face::Regular.width(&words, SMALL));
                let from = if planned { x - 10.0 - long } else { x.min(frame.right() - 2.0 - long) };
                if taken.take(from.max(frame.left + 2.0), long, y, SMALL) {
                    canvas.text(Text { halo: true, ..small(&words, (from.max(frame.left + 2.0), y)) });
                }
            }
        }
    });
}

/// Places of texts on the picture: left, right, top, bottom, px.
#[derive(Default)]
struct Taken(Vec<[f64; 4]>);

impl Taken {
    /// Takes the place of a text on this base line, unless one is there.
    fn take(&mut self, from: f64, long: f64, y: f64, size: f64) -> bool {
        let new = [from - 2.0, from + long + 2.0, y - 0.75 * size, y + 0.25 * size];
        let free = self.0.iter().all(|o| new[0] >= o[1] || o[0] >= new[1] || new[2] >= o[3] || o[2] >= new[3]);
        if free {
            self.0.push(new);
        }
        free
    }
}

/// The weighing, now, and where the plans end, each with its uncertainty.
fn marks(canvas: &mut Canvas, plot: &BurnPlot, frame: &Frame, at: &[At], now: usize, taken: &mut Taken, paper: Paper) {
    let bar = |canvas: &mut Canvas, i: usize| {
        let (x, s) = (frame.px(at[i].x), &plot.steps[i]);
        let (low, high) = (frame.py(s.mass - s.sd), frame.py(s.mass + s.sd));
        canvas.line(&[(x, low), (x, high)], stroke(INK, 1.4));
        for y in [low, high] {
            canvas.line(&[(x - 4.0, y), (x + 4.0, y)], stroke(INK, 1.4));
        }
        canvas.disc((x, frame.py(s.mass)), 3.2, INK);
    };
    canvas.part("marks", |canvas| {
        let last = plot.steps.len() - 1;
        if let Some(weighing) = plot.steps.iter().position(|s| s.row.is_none()) {
            bar(canvas, weighing);
            let (x, y) = (frame.px(at[weighing].x), frame.py(plot.steps[weighing].mass));
            let long = Face::Regular.width(WEIGHED, LABEL);
            let before = x - 7.0 - long;
            let from = if before < frame.left + 2.0 { x + 7.0 } else { before };
            // Above the bar where the foot of the frame is too near.
            let y = if y + 19.0 > frame.bottom() { y - 9.0 } else { y + 17.0 };
            // A narrow frame has the target's name in it.
            let tries = [y, y - 26.0, y + 14.0, y - 40.0];
            let free = tries.into_iter().find(|y| *y > frame.top + 9.0 && taken.take(from, long, *y, LABEL));
            if let Some(y) = free {
                canvas.text(Text { halo: true, ..label(WEIGHED, (from, y)) });
            }
        }
        bar(canvas, now);
        if last > now {
            bar(canvas, last);
        }
        let end = &plot.steps[last];
        let words = format!("{} kg", with_sd(end.mass, end.sd));
        let mut y = frame.py(end.mass) + centred(LABEL);
        if let Some(target) = plot.target_kg {
            let line = frame.py(target) + centred(LABEL);
            if (y - line).abs() < GAP {
                y = if y < line { line - GAP } else { line + GAP };
            }
        }
        if paper.narrow() {
            // Beneath the end of the stairs, else above it, else further off.
            let wide = Face::Regular.width(&words, LABEL);
            let from = frame.right() - 2.0 - wide;
            let (below, above) = (frame.py(end.mass - end.sd) + 15.0, frame.py(end.mass + end.sd) - 8.0);
            let inside = |y: &f64| (frame.top + 10.0..frame.bottom() - 4.0).contains(y);
            let tries = [below, above, below + GAP, above - GAP, below + 2.0 * GAP, above - 2.0 * GAP];
            if let Some(y) = tries.into_iter().filter(inside).find(|y| taken.take(from, wide, *y, LABEL)) {
                canvas.text(Text { halo: true, ..label(&words, (from, y)) });
            }
        } else {
            canvas.text(label(&words, (frame.right() + 8.0, y)));
        }
    });
}

/// Dates, or that rows are counted.
fn beneath(canvas: &mut Canvas, plot: &BurnPlot, frame: &Frame) {
    let base = frame.bottom() + 15.0;
    canvas.part("dates", |canvas| {
        let days: Vec<i64> = plot.steps.iter().filter(|s| s.done).filter_map(|s| s.day).collect();
        if let (false, Some(first), Some(last)) = (plot.dates.is_empty(), days.iter().min(), days.iter().max())
            && first < last
        {
            let planned = plot.steps.iter().any(|s| !s.done);
            let across = if planned { 0.58 } else { 1.0 };
            let mut after = f64::NEG_INFINITY;
            for (day, name) in plot.dates.iter().filter(|(d, _)| d >= first && d <= last) {
                let share = across * (0.02 + 0.96 * (day - first) as f64 / (last - first) as f64);
                let x = frame.px(share);
                canvas.line(&[(x, frame.bottom()), (x, frame.bottom() + 4.0)], stroke(RULE, 1.0));
                let half = 0.5 * Face::Regular.width(name, SMALL);
                if x - half < after {
                    continue;
                }
                after = x + half + 6.0;
                canvas.text(Text { anchor: Anchor::Middle, ..small(name, (x, base + 2.0)) });
            }
        } else {
            canvas
                .text(Text { colour: INK_SOFT, ..small("rows in the order of the ledger", (frame.left, base + 2.0)) });
        }
    });
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    fn step(row: Option<usize>, day: i64, mass: f64, done: bool) -> Step {
        Step { row, day: Some(day), mass, sd: 1.0, done }
    }

    #[test]
    fn closed_form_the_title_says_how_far() {
        let steps = [step(Some(0), 0, 1010.0, true), step(None, 10, 1000.0, true), step(Some(1), 20, 990.0, false)];
        let names = ["seat".to_owned(), "lid".to_owned()];
        let dates = [(0, "Jan".to_owned()), (10, "Feb".to_owned())];
        let plot =
            BurnPlot { car: "c", aboard: "a", steps: &steps, names: &names, target_kg: Some(995.0), dates: &dates };
        let picture = burn_picture(&plot, Paper::FILE).unwrap();
        assert_eq!(picture.title, "1000.0 ± 1.0 kg now, 5 kg above the target; the plans lead to 5 kg below it");
        for text in ["weighed", "target 995 kg", "lid −10.0", "Jan", "990.0 ± 1.0 kg"] {
            assert!(picture.svg.contains(&format!(">{text}</text>")), "{text}");
        }
        let plain = BurnPlot { target_kg: None, dates: &[], steps: &steps[..2], ..plot };
        assert_eq!(burn_picture(&plain, Paper::FILE).unwrap().title, "1000.0 ± 1.0 kg now");
    }

    #[test]
    fn bad_input_nothing_to_draw() {
        let plot = BurnPlot { car: "c", aboard: "a", steps: &[], names: &[], target_kg: None, dates: &[] };
        assert!(matches!(burn_picture(&plot, Paper::FILE), Err(PlotError::Empty { .. })));
        let bad = [Step { mass: f64::NAN, ..step(None, 0, 1.0, true) }];
        assert!(burn_picture(&BurnPlot { steps: &bad, ..plot }, Paper::FILE).is_err());
    }
}
