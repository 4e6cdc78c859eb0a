//! Two laps at the width that there is: what the second gains along the lap, both speeds, and which limits rule.

use crate::draw::frame::{Frame, Series, TICKS_BELOW, TICKS_LEFT};
use crate::draw::look::{INK_SOFT, Paper, SERIES, SMALL, stroke};
use crate::draw::measure::ticks::Axis;
use crate::draw::picture::{Picture, PlotError};
use crate::draw::svg::{Canvas, Text, centred, small};
use crate::lap::delta;
use crate::lap::place::Place;
use crate::lap::speed::draw_corners;
use crate::lap::strip::Strip;
use crate::lap::trace::LapTrace;
use crate::words::number::kmh;

const SPEEDS: f64 = 110.0;
const GAP: f64 = 90.0;

/// Draws it; the first lap is the car as it is.
///
/// # Errors
/// [`PlotError`] where a trace is empty.
pub fn laps_picture(laps: [LapTrace; 2], places: &[Place], width_px: f64) -> Result<Picture, PlotError> {
    if laps.iter().any(|lap| lap.rows.is_empty()) {
        return Err(PlotError::Empty { what: "a lap's trace" });
    }
    let strip = Strip::plan(&laps, Paper { width: width_px, titled: false });
    let left = strip.label_width.max(TICKS_LEFT) + 10.0;
    let length_m = laps[0].length_m;
    let (x, unit) = Axis::distance(length_m, ((width_px - left) / 70.0).clamp(2.0, 9.0) as usize);
    let gap = Frame { left, top: 20.0, width: width_px - left - 8.0, height: GAP, x, y: Axis::over(0.0, 1.0, 2) };
    let gap = Frame { height: GAP, ..delta::panel(&laps, &gap, gap.top) };
    let speeds = laps.iter().map(LapTrace::extremes);
    let (top, low) = speeds.fold((0.0f64, f64::INFINITY), |a, e| (a.0.max(e.0), a.1.min(e.1)));
    let speed = Frame {
        top: gap.bottom() + 30.0,
        height: SPEEDS,
        y: Axis::over((kmh(low) - 5.0).max(0.0), kmh(top) + 5.0, 3),
        ..gap.clone()
    };
    let strip_top = speed.bottom() + 12.0;
    let height = strip_top + strip.height + TICKS_BELOW + 4.0;
    let mut canvas = Canvas::new("laps", width_px, height);
    draw_corners(&mut canvas, places, &gap, length_m, strip_top + strip.height);
    delta::draw(&mut canvas, &laps, &gap)?;
    speed.draw_grid(&mut canvas, false)?;
    canvas.text(Text { colour: INK_SOFT, ..small("speed, km/h", (speed.left, speed.top - 6.0)) });
    let curve = |(i, lap): (usize, &LapTrace)| Series {
        points: lap.rows.iter().map(|row| (row.s, kmh(row.v))).collect(),
        stroke: stroke(SERIES[i], 1.6),
        fill: 0.0,
    };
    speed.draw_series(&mut canvas, &laps.iter().enumerate().map(curve).collect::<Vec<_>>())?;
    strip.draw(&mut canvas, &speed, strip_top, &laps);
    let below = strip_top + strip.height + TICKS_BELOW - 4.0;
    for tick in &speed.x.ticks {
        let words = speed.x.label(*tick);
        let at = (speed.px(*tick), below);
        canvas.text(Text { anchor: crate::draw::svg::Anchor::Middle, ..small(&words, at) });
    }
    canvas.text(small(unit, (2.0, below - centred(SMALL) + 4.0)));
    let alt = format!(
        "What the car as it is tried gains along the lap, both speeds, and which limits rule; {} against {}.",
        laps[1].name, laps[0].name
    );
    canvas.finish("Along the lap", &alt)
}
