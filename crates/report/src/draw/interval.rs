//! One interval, or a few over one another: how much, within what, and on which side of nothing.

use crate::draw::header::Header;
use crate::draw::look::{GRID, INK, INK_SOFT, LABEL, PAPER, Paper, RULE, SERIES, SMALL, stroke};
use crate::draw::measure::font::Face;
use crate::draw::measure::ticks::Axis;
use crate::draw::picture::{Picture, PlotError};
use crate::draw::svg::{Anchor, Canvas, Text, centred, label, small};

/// A value and the 90 % interval that it is known within.
#[derive(Clone, Debug, PartialEq)]
pub struct Reach {
    /// What it is, where there are several; else empty.
    pub name: String,
    /// Its value.
    pub value: f64,
    /// Its ends, where something is uncertain.
    pub interval: Option<[f64; 2]>,
}

/// What to draw.
#[derive(Clone, Copy, Debug)]
pub struct IntervalPlot<'a> {
    /// The finding.
    pub title: &'a str,
    /// Row by row.
    pub rows: &'a [Reach],
    /// What the numbers are: `ms a lap`.
    pub unit: &'a str,
    /// What left and right of zero mean; empty where one side has no meaning.
    pub sides: [&'a str; 2],
}

const ROW: f64 = 26.0;
const NAME: f64 = 16.0;
const BAR: f64 = 10.0;

/// Draws it.
pub fn interval_picture(plot: &IntervalPlot, paper: Paper) -> Result<Picture, PlotError> {
    if plot.rows.is_empty() {
        return Err(PlotError::Empty { what: "the list of intervals" });
    }
    let header = Header::plan(plot.title, "", paper);
    let ends = plot.rows.iter().flat_map(|r| r.interval.into_iter().flatten().chain([r.value])).chain([0.0]);
    let (low, high) = ends.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), x| (l.min(x), h.max(x)));
    let room = 0.06 * (high - low);
    let both = plot.sides.iter().all(|s| !s.is_empty());
    let axis = Axis::over(if both || low < 0.0 { low - room } else { 0.0 }, high + room, paper.of(8, 4));
    let (left, right) = (paper.margin() + 8.0, paper.right() - 8.0);
    let px = |x: f64| left + (right - left) * axis.share(x);
    let named = plot.rows.iter().any(|r| !r.name.is_empty());
    let pitch = ROW + if named { NAME } else { 0.0 };
    let top = header.height + 2.0;
    let bottom = top + pitch * plot.rows.len() as f64;
    let mut canvas = Canvas::new("interval", paper.width, bottom + 36.0);
    header.draw(&mut canvas);
    canvas.part("axis", |canvas| {
        for tick in &axis.ticks {
            let colour = if *tick == 0.0 { RULE } else { GRID };
            canvas.line(&[(px(*tick), top), (px(*tick), bottom)], stroke(colour, if *tick == 0.0 { 1.6 } else { 0.9 }));
            canvas.text(Text { anchor: Anchor::Middle, ..small(&axis.label(*tick), (px(*tick), bottom + 14.0)) });
        }
        let base = bottom + 30.0;
        let [less, more] = plot.sides;
        if both {
            canvas.text(Text { colour: INK_SOFT, ..small(&format!("← {less}"), (left, base)) });
            canvas.text(Text { anchor: Anchor::End, colour: INK_SOFT, ..small(&format!("{more} →"), (right, base)) });
        }
        canvas.text(Text {
            anchor: Anchor::Middle,
            colour: INK_SOFT,
            ..small(plot.unit, (0.5 * (left + right), base))
        });
    });
    canvas.part("intervals", |canvas| {
        for (i, row) in plot.rows.iter().enumerate() {
            let mut y = top + pitch * i as f64 + 0.5 * ROW;
            if named {
                let words = Face::Regular.fit(&row.name, LABEL, right - left);
                canvas.text(Text { halo: true, ..label(&words, (left, y + centred(SMALL) - 2.0)) });
                y += NAME;
            }
            let [a, b] = row.interval.unwrap_or([row.value; 2]).map(px);
            canvas.rect((a, y - 0.5 * BAR), ((b - a).max(1.0), BAR), SERIES[2]);
            for x in [a, b] {
                canvas.line(&[(x, y - 0.7 * BAR), (x, y + 0.7 * BAR)], stroke(SERIES[0], 1.6));
            }
            canvas.disc((px(row.value), y), 5.4, PAPER);
            canvas.disc((px(row.value), y), 4.2, INK);
        }
    });
    canvas.finish(
        plot.title,
        &format!("{} A bar from the lower to the upper end of the interval, a dot at the value.", plot.title),
    )
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn closed_form_an_interval_on_one_side_of_nothing() {
        let rows = [Reach { name: "dry".into(), value: -0.04, interval: Some([-0.06, -0.02]) }];
        let plot = IntervalPlot { title: "Slower.", rows: &rows, unit: "s a lap", sides: ["slower", "quicker"] };
        for paper in [Paper::FILE, Paper::PAGE, Paper::PHONE] {
            let picture = interval_picture(&plot, paper).unwrap();
            for words in [">← slower<", ">quicker →<", ">s a lap<", ">dry<", ">0<"] {
                assert!(picture.svg.contains(words), "{words}");
            }
        }
        let one = IntervalPlot {
            sides: ["", ""],
            rows: &[Reach { value: 10.0, interval: None, name: String::new() }],
            ..plot
        };
        assert!(!interval_picture(&one, Paper::PHONE).unwrap().svg.contains("←"));
        assert!(matches!(
            interval_picture(&IntervalPlot { rows: &[], ..plot }, Paper::PHONE),
            Err(PlotError::Empty { .. })
        ));
    }
}
