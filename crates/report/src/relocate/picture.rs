//! What moving something gains over the fuel load, and how far the balance moves with the fuel.

use unladen_questions::relocate::Answer;
use unladen_study::relocate::stint::Load;

use crate::draw::frame::{Frame, Series, TICKS_BELOW, TICKS_LEFT};
use crate::draw::header::{Header, sentence};
use crate::draw::labels::spread;
use crate::draw::look::{BAND, INK_SOFT, LABEL, Paper, RULE, SERIES, stroke};
use crate::draw::measure::ticks::Axis;
use crate::draw::picture::{Picture, PlotError};
use crate::draw::svg::{Canvas, Text, centred, label, small};
use crate::words::number::fixed;

const TALL: f64 = 220.0;
const LOW: f64 = 150.0;
const BETWEEN: f64 = 44.0;
const END_LABEL: f64 = 130.0;
const GAP: f64 = 15.0;

/// A curve with what is written at its end.
struct Curve {
    points: Vec<(f64, f64)>,
    words: String,
    series: usize,
}

/// Draws it.
pub fn move_picture(v: &Answer, paper: Paper) -> Result<Picture, PlotError> {
    let loads = &v.answer.loads;
    if loads.len() < 2 {
        return Err(PlotError::Empty { what: "the list of fuel loads" });
    }
    let tuned = v.answer.retuned.is_some();
    let gain = |l: &Load| {
        let times = if tuned { l.retuned_s } else { l.as_set_s };
        times[0] - times[1]
    };
    let title = finding(&loads.iter().map(|l| (l.fuel * 1e3, gain(l))).collect::<Vec<_>>());
    let subtitle = format!("{} on {}: moving the {}, by what is in the tank", v.car, v.tracks, v.item);
    let header = Header::plan(&title, &subtitle, paper);
    let left = paper.margin() + TICKS_LEFT + paper.of(10.0, 0.0);
    let right = paper.right() - paper.of(END_LABEL, 76.0);
    let at = |of: &dyn Fn(&Load) -> f64| -> Vec<(f64, f64)> {
        // From full to empty, as it burns: the axis runs the other way round, in litres burnt.
        loads.iter().rev().map(|l| (l.fuel * 1e3, of(l))).collect()
    };
    let mut gains = vec![Curve { points: at(&|l| l.as_set_s[0] - l.as_set_s[1]), words: "as set".into(), series: 0 }];
    if v.answer.retuned.is_some() {
        let points = at(&|l| l.retuned_s[0] - l.retuned_s[1]);
        gains.push(Curve { points, words: "re-tuned".into(), series: 1 });
    }
    let shares = [("as it is", 0), ("moved", 1)].map(|(words, i)| Curve {
        points: at(&|l| 100.0 * l.at_rest[i].front_share),
        words: words.into(),
        series: i,
    });
    let most = loads.iter().map(|l| l.fuel * 1e3).fold(0.0, f64::max);
    let x = Axis::over(0.0, most, paper.of(8, 4));
    let top = header.height + 34.0;
    let frame = |top: f64, height: f64, curves: &[Curve], zero: bool| {
        let values = curves.iter().flat_map(|c| &c.points).map(|p| p.1);
        let from = if zero { (0.0, 0.0) } else { (f64::INFINITY, f64::NEG_INFINITY) };
        let (low, high) = values.fold(from, |(l, h), y| (l.min(y), h.max(y)));
        Frame { left, top, width: right - left, height, x: x.clone(), y: Axis::round(low, high, 4) }
    };
    let upper = frame(top, TALL, &gains, true);
    let second = frame(upper.bottom() + TICKS_BELOW + BETWEEN, LOW, &shares, false);
    let height = second.bottom() + TICKS_BELOW + 26.0 + paper.of(24.0, 0.0);
    let mut canvas = Canvas::new("move", paper.width, height);
    header.draw(&mut canvas);
    let [from, to] = v.stint.map(|m3| m3 * 1e3);
    for f in [&upper, &second] {
        let (a, b) = (f.px(to), f.px(from));
        canvas.rect((a, f.top), (b - a, f.height), BAND);
    }
    canvas.text(small("stint", (upper.px(to) + 5.0, upper.top + 14.0)));
    draw(&mut canvas, &upper, &gains, "quicker by, s a lap; beneath the line: slower", 0.15)?;
    let zero = upper.py(0.0);
    canvas.line(&[(upper.left, zero), (upper.right(), zero)], stroke(RULE, 1.2));
    draw(&mut canvas, &second, &shares, "weight on the front axle, %", 0.0)?;
    canvas.text(small("fuel in the tank, L", (second.left, second.bottom() + TICKS_BELOW + 16.0)));
    let drift = |i: usize| 100.0 * (v.answer.ends[1][i].front_share - v.answer.ends[0][i].front_share);
    let alt = format!(
        "{title}. Two charts over the fuel load: the gain in lap time, and the front share of the weight, which moves by {} % over the \
         stint as it is and by {} % moved.",
        fixed(drift(0), 2),
        fixed(drift(1), 2)
    );
    canvas.finish(&title, &alt)
}

fn draw(canvas: &mut Canvas, frame: &Frame, curves: &[Curve], words: &str, fill: f64) -> Result<(), PlotError> {
    frame.draw_grid(canvas, true)?;
    canvas.text(Text { colour: INK_SOFT, ..small(words, (frame.left, frame.top - 8.0)) });
    let series: Vec<Series> = curves
        .iter()
        .map(|c| Series {
            points: c.points.clone(),
            stroke: stroke(SERIES[c.series], 2.0),
            fill: if curves.len() == 1 { fill } else { 0.0 },
        })
        .collect();
    frame.draw_series(canvas, &series)?;
    let ends: Vec<f64> = curves.iter().map(|c| frame.py(c.points.last().map_or(0.0, |p| p.1))).collect();
    let heights = spread(&ends, GAP, frame.top, frame.bottom());
    for (curve, y) in curves.iter().zip(heights) {
        canvas.rect((frame.right() + 6.0, y - 1.5), (10.0, 3.0), SERIES[curve.series]);
        canvas.text(label(&curve.words, (frame.right() + 20.0, y + centred(LABEL))));
    }
    Ok(())
}

/// `0.064 s slower with 67 L, 0.081 s slower with 0 L`: of litres and gains, s.
fn finding(gains: &[(f64, f64)]) -> String {
    let by = |a: &&(f64, f64), b: &&(f64, f64)| a.1.total_cmp(&b.1);
    let said = |(litres, s): &(f64, f64)| {
        format!("{} s {} with {} L", fixed(s.abs(), 3), if *s < 0.0 { "slower" } else { "quicker" }, fixed(*litres, 0))
    };
    match (gains.iter().max_by(by), gains.iter().min_by(by)) {
        (Some(best), Some(worst)) => sentence(&format!("{}, {}", said(best), said(worst))),
        _ => String::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn closed_form_the_title_says_the_best_and_the_worst_load() {
        assert_eq!(finding(&[(50.0, 0.02), (0.0, -0.01)]), "0.020 s quicker with 50 L, 0.010 s slower with 0 L");
    }
}
