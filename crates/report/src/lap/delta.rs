//! The gap between laps along the distance: who gains where on the first of them.

use crate::draw::frame::{Frame, Series};
use crate::draw::header::sentence;
use crate::draw::look::{SERIES, SMALL, stroke};
use crate::draw::measure::font::Face;
use crate::draw::measure::ticks::Axis;
use crate::draw::picture::PlotError;
use crate::draw::svg::{Canvas, Text, small};
use crate::lap::place::Place;
use crate::lap::trace::LapTrace;
use crate::words::number::{UNRESOLVED, kmh, lap_time, resolved, with_error};

const HEIGHT: f64 = 84.0;
/// Curves whose speeds differ by no more of what the axis spans lie upon each other: then the difference is drawn too.
const ALIKE: f64 = 0.08;
const POINTS: usize = 600;

/// Time that `lap` has gained on `first` by distance `s`, s.
pub fn gained(lap: &LapTrace, first: &LapTrace, s: f64) -> f64 {
    first.time_at(s) - lap.time_at(s)
}

/// The finding of a comparison: which lap is quickest, by how much, and where most of it comes from.
pub fn finding(laps: &[LapTrace], places: &[Place]) -> String {
    let mut order: Vec<&LapTrace> = laps.iter().collect();
    order.sort_by(|a, b| a.lap_time_s.total_cmp(&b.lap_time_s));
    let [best, next, ..] = order[..] else { return String::new() };
    let (gap, error) = (next.lap_time_s - best.lap_time_s, best.lap_time_error_s.abs() + next.lap_time_error_s.abs());
    if !resolved(gap, error) {
        return sentence(&format!("{UNRESOLVED} between {} and {}", best.name, next.name));
    }
    let by = with_error(gap, error.max(1e-3f64.min(0.1 * gap)));
    let gains = best.sectors(places).into_iter().zip(next.sectors(places)).map(|(b, n)| n.time_s - b.time_s);
    let gains: Vec<f64> = gains.collect();
    let elsewhere = gap - gains.iter().sum::<f64>();
    let most = gains.iter().zip(places).filter(|(gain, _)| **gain > 0.0).max_by(|a, b| a.0.total_cmp(b.0));
    let place = match most {
        Some((gain, place)) if *gain >= elsewhere => format!(", most of all {}", place.phrase()),
        Some(_) => ", most of all outside the named places".to_owned(),
        None => String::new(),
    };
    sentence(&format!("{} is {by} s a lap quicker than {}{place}", best.name, next.name))
}

/// The panel beneath the speeds.
pub fn panel(laps: &[LapTrace], over: &Frame, top: f64) -> Frame {
    let all = laps.iter().skip(1).flat_map(|lap| curve(lap, &laps[0])).map(|(_, gap)| gap);
    let (low, high) = all.fold((0.0f64, 0.0f64), |(low, high), gap| (low.min(gap), high.max(gap)));
    // Hardly below zero is no reason for a whole step of the axis beneath it.
    let little = 0.03 * (high - low);
    let (low, high) = (if low > -little { 0.0 } else { low }, if high < little { 0.0 } else { high });
    Frame { top, height: HEIGHT, y: Axis::round(low, high, 3), ..over.clone() }
}

/// Draws the panel.
pub fn draw(canvas: &mut Canvas, laps: &[LapTrace], panel: &Frame) -> Result<(), PlotError> {
    canvas.part("gap", |canvas| {
        panel.draw_grid(canvas, false)?;
        if let [first, second] = laps {
            sides(canvas, panel, &curve(second, first));
        }
        let series = |(i, lap): (usize, &LapTrace)| {
            let stroke = stroke(SERIES[i % SERIES.len()], 1.8);
            Series { points: curve(lap, &laps[0]), stroke, fill: 0.0 }
        };
        let all: Vec<_> = laps.iter().enumerate().skip(1).map(series).collect();
        panel.draw_series(canvas, &all)?;
        let zero = panel.py(0.0);
        canvas.line(&[(panel.left, zero), (panel.right(), zero)], stroke(SERIES[0], 1.0));
        let words = format!("gained on {} ({}), s", laps[0].name, lap_time(laps[0].lap_time_s, 3));
        head(canvas, panel, &words);
        Ok(())
    })
}

fn head(canvas: &mut Canvas, panel: &Frame, words: &str) {
    let words = Face::Regular.fit(words, SMALL, panel.width - 8.0);
    canvas.text(Text { halo: true, ..small(&words, (panel.left + 4.0, panel.top - 5.0)) });
}

/// Above the line in the second lap's colour, beneath it in the first one's: the side that is ahead.
fn sides(canvas: &mut Canvas, panel: &Frame, points: &[(f64, f64)]) {
    let zero = panel.py(0.0);
    for (colour, ahead) in [(SERIES[1], 1.0), (SERIES[0], -1.0)] {
        let edge = points.iter().map(|(s, v)| (panel.px(*s), if v * ahead > 0.0 { panel.py(*v) } else { zero }));
        let mut area: Vec<_> = edge.collect();
        if let (Some(first), Some(last)) = (area.first().copied(), area.last().copied()) {
            area.extend([(last.0, zero), (first.0, zero)]);
            canvas.fill(&area, colour, 0.22);
        }
    }
}

/// By how much the second lap is faster along the first, km/h.
fn faster(laps: &[LapTrace; 2]) -> Vec<(f64, f64)> {
    let at = |i: usize| i as f64 * laps[0].length_m / POINTS as f64;
    (0..=POINTS).map(|i| (at(i), kmh(laps[1].speed_at(at(i)) - laps[0].speed_at(at(i))))).collect()
}

/// The panel of the difference in speed, where two curves lie upon each other.
pub fn speed_panel(laps: &[LapTrace], over: &Frame, top: f64) -> Option<Frame> {
    let both: &[LapTrace; 2] = laps.try_into().ok()?;
    let all = faster(both);
    let (low, high) = all.iter().fold((0.0f64, 0.0f64), |(low, high), (_, v)| (low.min(*v), high.max(*v)));
    let alike = (high - low) < ALIKE * (over.y.to - over.y.from);
    alike.then(|| Frame { top, height: HEIGHT, y: Axis::round(low.min(-0.05), high.max(0.05), 4), ..over.clone() })
}

/// Draws that panel.
pub fn draw_speed(canvas: &mut Canvas, laps: &[LapTrace], panel: &Frame) -> Result<(), PlotError> {
    let Ok(both) = <&[LapTrace; 2]>::try_from(laps) else { return Ok(()) };
    canvas.part("faster", |canvas| {
        panel.draw_grid(canvas, false)?;
        let points = faster(both);
        sides(canvas, panel, &points);
        panel.draw_series(canvas, &[Series { points, stroke: stroke(SERIES[1], 1.4), fill: 0.0 }])?;
        let zero = panel.py(0.0);
        canvas.line(&[(panel.left, zero), (panel.right(), zero)], stroke(SERIES[0], 1.0));
        head(canvas, panel, &format!("{}: faster by, km/h", both[1].name));
        Ok(())
    })
}

fn curve(lap: &LapTrace, first: &LapTrace) -> Vec<(f64, f64)> {
    let at = |i: usize| i as f64 * first.length_m / POINTS as f64;
    (0..=POINTS).map(|i| (at(i), gained(lap, first, at(i)))).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use unladen_lap::{Limit, Row};

    fn rows(v: f64) -> Vec<Row> {
        let row = |i: u32| {
            let s = f64::from(i) * 10.0;
            Row { s, t: s / v, v, a_x: 0.0, a_y: 0.0, gear: 1, limit: Limit::Power, load: [0.0; 4] }
        };
        (0..=10).map(row).collect()
    }

    #[test]
    fn closed_form_two_steady_laps() {
        let (slow, fast) = (rows(10.0), rows(12.5));
        let lap = |name, rows, lap_time_s| LapTrace { name, rows, length_m: 100.0, lap_time_s, lap_time_error_s: 1e-4 };
        let laps = [lap("old", &slow, 10.0), lap("new", &fast, 8.0)];
        assert!((gained(&laps[1], &laps[0], 50.0) - 1.0).abs() < 1e-12);
        let place = |name: &str, start_m, length_m| Place { name: name.into(), start_m, length_m, turning_rad: 0.0 };
        let places = [place("A", 0.0, 20.0), place("B", 20.0, 80.0)];
        assert_eq!(finding(&laps, &places), "New is 2.000 s a lap quicker than old, most of all on B");
        assert_eq!(
            finding(&laps, &places[..1]),
            "New is 2.000 s a lap quicker than old, most of all outside the named places"
        );
        let same = [laps[0], LapTrace { name: "again", lap_time_s: 10.0001, ..laps[0] }];
        assert_eq!(finding(&same, &places), "No difference that can be resolved between old and again");
        let near = [laps[0], LapTrace { name: "near", lap_time_s: 9.9995, lap_time_error_s: 1e-5, ..laps[0] }];
        assert_eq!(finding(&near, &[]), "Near is 0.0005 s a lap quicker than old");
        assert_eq!(finding(&laps[..1], &places), "");
    }
}
