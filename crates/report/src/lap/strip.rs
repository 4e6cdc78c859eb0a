//! A strip beneath a chart: which limit rules where, one lane a limit.
//!
//! The lane says which limit; colour only helps. With several laps each lane holds one thin bar a lap, in the lap's
//! colour.

use unladen_lap::Limit;

use crate::draw::frame::Frame;
use crate::draw::look::{GRID, INK, LABEL, Paper, SERIES, SMALL, limit_colour, limit_name, stroke};
use crate::draw::measure::font::Face;
use crate::draw::svg::{Anchor, Canvas, Text, centred, label, small};
use crate::lap::trace::LapTrace;
use crate::words::number::percents;

const BAR: f64 = 11.0;
const THIN: f64 = 6.0;
const GAP: f64 = 5.0;
/// Room for a lane's name above it, where there is none beside.
const NAME: f64 = 14.0;
/// A limit that rules shorter than this is still seen, px.
const LEAST: f64 = 1.2;

/// The lanes of some laps: the limits that rule anywhere.
#[derive(Clone, Debug)]
pub struct Strip {
    lanes: Vec<Limit>,
    bars: usize,
    /// Names stand above the lanes.
    narrow: bool,
    /// Height that it takes, px.
    pub height: f64,
    /// Width of the longest lane label, px.
    pub label_width: f64,
}

impl Strip {
    /// For these laps.
    pub fn plan(laps: &[LapTrace], paper: Paper) -> Strip {
        let shares: Vec<_> = laps.iter().map(LapTrace::shares).collect();
        let used = |i: &usize| shares.iter().any(|s| s[*i] > 0.0);
        let lanes: Vec<Limit> = (0..Limit::ALL.len()).filter(used).map(|i| Limit::ALL[i]).collect();
        let bars = laps.len().max(1);
        let narrow = paper.narrow();
        let height = lanes.len() as f64 * pitch(bars, narrow);
        let width = |l: &Limit| Face::Regular.width(&format!("{} 100 %", limit_name(*l)), LABEL);
        let label_width = if narrow { 0.0 } else { lanes.iter().map(width).fold(0.0, f64::max) };
        Strip { lanes, bars, narrow, height, label_width }
    }

    /// Draws it with its top at `top`, over the width and the x axis of `frame`.
    pub fn draw(&self, canvas: &mut Canvas, frame: &Frame, top: f64, laps: &[LapTrace]) {
        let lane_height = lane_height(self.bars);
        canvas.part("limits", |canvas| {
            for (i, limit) in self.lanes.iter().enumerate() {
                let above = if self.narrow { NAME } else { 0.0 };
                let y = top + i as f64 * pitch(self.bars, self.narrow) + above;
                let middle = y + 0.5 * lane_height;
                canvas.line(&[(frame.left, middle), (frame.right(), middle)], stroke(GRID, 0.8));
                for (k, lap) in laps.iter().enumerate() {
                    let single = self.bars == 1;
                    let colour = if single { limit_colour(*limit) } else { SERIES[k % SERIES.len()] };
                    let (y, height) = if single { (y, BAR) } else { (y + 1.0 + k as f64 * (THIN + 1.0), THIN) };
                    let bars = lap.stretches(*limit).into_iter().map(|(from, to)| {
                        let (a, b) = (frame.px(from), frame.px(to));
                        [a, y, (b - a).max(LEAST), height]
                    });
                    canvas.rects(&bars.collect::<Vec<_>>(), colour);
                }
                if self.narrow {
                    let at = Limit::ALL.iter().position(|l| l == limit).unwrap_or(0);
                    let share =
                        if let [lap] = laps { format!(" {}", percents(&lap.shares())[at]) } else { String::new() };
                    let words = format!("{}{share}", limit_name(*limit));
                    canvas.text(Text { colour: INK, ..small(&words, (frame.left, y - 3.0)) });
                } else {
                    self.draw_label(canvas, frame.left - 8.0, middle, *limit, laps);
                }
            }
        });
    }

    fn draw_label(&self, canvas: &mut Canvas, right: f64, middle: f64, limit: Limit, laps: &[LapTrace]) {
        let at = Limit::ALL.iter().position(|l| *l == limit).unwrap_or(0);
        let base = middle + centred(LABEL);
        let mut end = right;
        if let [lap] = laps {
            let share = percents(&lap.shares())[at].clone();
            canvas.text(Text { anchor: Anchor::End, ..small(&share, (end, base)) });
            end -= Face::Regular.width("100 %", SMALL) + 6.0;
        }
        canvas.text(Text { anchor: Anchor::End, colour: INK, ..label(limit_name(limit), (end, base)) });
    }
}

/// From lane to lane.
fn pitch(bars: usize, narrow: bool) -> f64 {
    lane_height(bars) + GAP + if narrow { NAME } else { 0.0 }
}

fn lane_height(bars: usize) -> f64 {
    if bars == 1 { BAR } else { bars as f64 * (THIN + 1.0) + 1.0 }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::draw::measure::ticks::Axis;
    use unladen_lap::Row;

    #[test]
    fn property_there_is_a_lane_for_what_rules_and_none_for_what_does_not() {
        let row = |s: f64, limit| Row { s, t: s, v: 1.0, a_x: 0.0, a_y: 0.0, gear: 1, limit, load: [0.0; 4] };
        let rows = [row(0.0, Limit::Power), row(50.0, Limit::Shift), row(50.1, Limit::Braking)];
        let lap = LapTrace { name: "a", rows: &rows, length_m: 100.0, lap_time_s: 100.0, lap_time_error_s: 0.0 };
        let frame = Frame {
            left: 100.0,
            top: 0.0,
            width: 200.0,
            height: 50.0,
            x: Axis::over(0.0, 100.0, 4),
            y: Axis::over(0.0, 1.0, 2),
        };
        let strip = Strip::plan(&[lap], Paper::FILE);
        let mut canvas = Canvas::new("s", 320.0, 200.0);
        strip.draw(&mut canvas, &frame, 60.0, &[lap]);
        let svg = canvas.finish("t", "a").unwrap().svg;
        for (name, shown) in
            [("power", true), ("shifting", true), ("braking", true), ("rear grip", false), ("<1 %", true)]
        {
            let text = format!(">{}</text>", crate::draw::svg::escape(name));
            assert_eq!(svg.contains(&text), shown, "{name}");
        }
        // A shift of 0.2 px is still drawn.
        assert!(svg.contains("h1.2v"), "{svg}");
        assert!(Strip::plan(&[lap, lap], Paper::FILE).height > strip.height);
    }
}
