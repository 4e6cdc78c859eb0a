//! A prediction, and what was measured beside it; the laps behind.

use unladen_questions::trial::read::Answer;
use unladen_study::trial::laps::TimedLap;

use crate::draw::colour::Colour;
use crate::draw::frame::{Frame, TICKS_BELOW, TICKS_LEFT};
use crate::draw::header::Header;
use crate::draw::look::{BAND, GRID, INK_SOFT, LABEL, MARGIN, PAPER, Paper, RULE, SERIES, WIDTH, stroke};
use crate::draw::measure::ticks::Axis;
use crate::draw::picture::{Picture, PlotError};
use crate::draw::svg::{Anchor, Canvas, Text, centred, label, small};
use crate::trial::read_text::verdict;

/// A gain with its interval, s.
#[derive(Clone, Debug, PartialEq)]
pub struct Bar {
    /// What it is.
    pub name: String,
    /// Its middle.
    pub gain_s: f64,
    /// Its 90 % interval.
    pub interval: [f64; 2],
}

const ROW: f64 = 46.0;
const LAPS: f64 = 230.0;
const NAMES: f64 = 110.0;

/// Bars one above the other, over a common axis; drawn from `top`, to the bottom that is handed back.
fn bars(canvas: &mut Canvas, bars: &[Bar], top: f64, paper: Paper) -> Result<f64, PlotError> {
    let ends = bars.iter().flat_map(|b| b.interval).chain([0.0]);
    let (low, high) = ends.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), x| (l.min(x), h.max(x)));
    let room = 0.04 * (high - low);
    let left = paper.margin() + paper.of(NAMES, 76.0);
    let frame = Frame {
        left,
        top,
        width: paper.right() - paper.of(20.0, 10.0) - left,
        height: ROW * bars.len() as f64,
        x: Axis::over(low - room, high + room, paper.of(8, 4)),
        y: Axis::over(0.0, 1.0, 1),
    };
    for tick in &frame.x.ticks {
        let x = frame.px(*tick);
        canvas.line(&[(x, frame.top), (x, frame.bottom())], stroke(GRID, 0.8));
        canvas.text(Text { anchor: Anchor::Middle, ..small(&frame.x.label(*tick), (x, frame.bottom() + 15.0)) });
    }
    let zero = frame.px(0.0);
    canvas.line(&[(zero, frame.top), (zero, frame.bottom())], stroke(INK_SOFT, 1.4));
    for (i, bar) in bars.iter().enumerate() {
        let y = frame.top + ROW * (i as f64 + 0.5);
        let [a, b] = bar.interval.map(|x| frame.px(x));
        canvas.text(Text { anchor: Anchor::End, ..label(&bar.name, (left - 10.0, y + centred(LABEL))) });
        canvas.part(&bar.name, |canvas| {
            canvas.rect((a, y - 6.0), ((b - a).max(1.0), 12.0), SERIES[i % SERIES.len()]);
            canvas.disc((frame.px(bar.gain_s), y), 4.5, PAPER);
        });
    }
    canvas.text(small("s a lap; right of the line the change is quicker", (left, frame.bottom() + 32.0)));
    Ok(frame.bottom() + 40.0)
}

/// Bars alone, under a title that states the finding.
///
/// # Errors
/// [`PlotError`].
pub fn held_against(title: &str, subtitle: &str, all: &[Bar], paper: Paper) -> Result<Picture, PlotError> {
    let header = Header::plan(title, subtitle, paper);
    let height = header.height + 16.0 + ROW * all.len() as f64 + 40.0 + paper.of(24.0, 0.0);
    let mut canvas = Canvas::new("trial", paper.width, height);
    header.draw(&mut canvas);
    bars(&mut canvas, all, header.height + 16.0, paper)?;
    canvas.finish(title, &format!("{title}. Intervals that hold nine chances in ten, each with its middle."))
}

/// Prediction and measurement, and the laps.
///
/// # Errors
/// [`PlotError`].
pub fn read_picture(v: &Answer) -> Result<Picture, PlotError> {
    let words = verdict(v);
    let title = words.split(';').next().unwrap_or(&words).to_owned();
    let subtitle = format!("{} on {}: {}", v.sealed.car, v.sealed.track, v.sealed.name);
    let both = [
        Bar { name: "predicted".into(), gain_s: v.predicted.gain_s, interval: v.predicted.interval },
        Bar { name: "measured".into(), gain_s: v.reading.gain_s, interval: v.reading.interval },
    ];
    let header = Header::plan(&title, &subtitle, Paper::FILE);
    let height = header.height + 16.0 + 2.0 * ROW + 40.0 + 40.0 + LAPS + TICKS_BELOW + 26.0 + MARGIN;
    let mut canvas = Canvas::new("trial", WIDTH, height);
    header.draw(&mut canvas);
    let bottom = bars(&mut canvas, &both, header.height + 16.0, Paper::FILE)?;
    laps(&mut canvas, v, bottom + 40.0)?;
    canvas.finish(
        &title,
        &format!("Above, prediction and measurement with their 90 % intervals; beneath, every lap. {words}"),
    )
}

/// A lap of no weight is a ring, of less than half a small dot.
fn laps(canvas: &mut Canvas, v: &Answer, top: f64) -> Result<(), PlotError> {
    let weight = |i: usize| v.reading.lesser.iter().find(|l| l.lap == i).map_or(1.0, |l| l.weight);
    let counted = v.laps.iter().enumerate().filter(|(i, _)| weight(*i) > 0.0).map(|(_, l)| l.time_s);
    let (low, high) = counted.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), t| (l.min(t), h.max(t)));
    let most = v.laps.len().max(2) as f64;
    let frame = Frame {
        left: MARGIN + TICKS_LEFT + 10.0,
        top,
        width: WIDTH - 2.0 * MARGIN - TICKS_LEFT - 30.0,
        height: LAPS,
        x: Axis::over(0.0, most + 1.0, 12),
        y: Axis::round(low - 0.2 * (high - low), high + 0.2 * (high - low), 5),
    };
    // Runs with the change stand on a band.
    let mut from = 0;
    while from < v.laps.len() {
        let to = from + v.laps[from..].iter().take_while(|l| l.run == v.laps[from].run).count();
        let (a, b) = (frame.px(from as f64 + 0.5), frame.px(to as f64 + 0.5));
        if v.laps[from].changed {
            canvas.rect((a, frame.top), (b - a, frame.height), BAND);
        }
        let side = if v.laps[from].changed { "B" } else { "A" };
        canvas.text(Text { anchor: Anchor::Middle, ..label(side, (0.5 * (a + b), frame.top + 15.0)) });
        canvas.line(&[(b, frame.top), (b, frame.bottom())], stroke(RULE, 0.8));
        from = to;
    }
    frame.draw_grid(canvas, true)?;
    canvas.text(small(
        "lap time, s; runs B, with the change, on a band; rings are left out",
        (frame.left, frame.top - 8.0),
    ));
    canvas.text(small("lap, in the order driven", (frame.left, frame.bottom() + TICKS_BELOW + 16.0)));
    canvas.part("laps", |canvas| {
        for (i, lap) in v.laps.iter().enumerate() {
            dot(canvas, &frame, i, lap, weight(i));
        }
    });
    Ok(())
}

fn dot(canvas: &mut Canvas, frame: &Frame, i: usize, lap: &TimedLap, weight: f64) {
    let colour: Colour = SERIES[usize::from(lap.changed)];
    // Far off, it lies at the frame's edge.
    let at = (frame.px(i as f64 + 1.0), frame.py(lap.time_s.clamp(frame.y.from, frame.y.to)));
    canvas.disc(at, if weight < 0.5 { 4.0 } else { 4.8 }, colour);
    if weight == 0.0 {
        canvas.disc(at, 2.4, PAPER);
    }
}
