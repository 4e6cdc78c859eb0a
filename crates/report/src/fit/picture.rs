//! What a fitted model leaves over: speed of log less model, by place, above the model's speed.

use unladen_questions::fit::Answer;

use crate::draw::frame::{Frame, Series, TICKS_LEFT};
use crate::draw::header::Header;
use crate::draw::labels::Names;
use crate::draw::look::{ACCENT, BAND, GRID, MARGIN, Paper, RULE, SERIES, SMALL, Stroke, WIDTH, stroke};
use crate::draw::measure::font::Face;
use crate::draw::measure::ticks::Axis;
use crate::draw::picture::{Picture, PlotError};
use crate::draw::svg::{Canvas, small};
use crate::lap::place::{Place, places};
use crate::lap::speed::{draw_corners, draw_distance, spans};
use crate::words::number::{counted, distance};

/// What to draw.
#[derive(Clone, Copy, Debug)]
pub struct FitPlot<'a> {
    /// The car's name.
    pub car: &'a str,
    /// The track's name.
    pub track: &'a str,
    /// Its length, m in plan.
    pub length_m: f64,
    /// Its named places.
    pub places: &'a [Place],
    /// Stations, m.
    pub s_m: &'a [f64],
    /// Mean of log − model at each, km/h; NaN for none.
    pub residual_kmh: &'a [f64],
    /// The model's speed, km/h.
    pub model_kmh: &'a [f64],
    /// Laps that it was fitted to.
    pub laps: usize,
    /// Standard deviation of one lap's speed about the model, km/h.
    pub sd_kmh: f64,
}

const SPEED: f64 = 170.0;
const LEFT_OVER: f64 = 170.0;

/// A fit.
pub fn fitted(v: &Answer) -> Result<Picture, PlotError> {
    fit_picture(&FitPlot {
        car: &v.car,
        track: &v.track.name,
        length_m: v.track.length(),
        places: &places(&v.track),
        s_m: &v.fit.s_m,
        residual_kmh: &v.fit.residuals_mps.iter().map(|r| 3.6 * r).collect::<Vec<_>>(),
        model_kmh: &v.fit.model_mps.iter().map(|v| 3.6 * v).collect::<Vec<_>>(),
        laps: v.used.len(),
        sd_kmh: 3.6 * v.fit.residual_mps,
    })
}

/// Draws it.
pub fn fit_picture(plot: &FitPlot) -> Result<Picture, PlotError> {
    let n = plot.s_m.len();
    if n < 2 {
        return Err(PlotError::Empty { what: "the list of stations" });
    }
    for (what, got) in [("residuals", plot.residual_kmh.len()), ("the model's speed", plot.model_kmh.len())] {
        if got != n {
            return Err(PlotError::Lengths { what, got, want: n });
        }
    }
    let known = plot.residual_kmh.iter().zip(plot.s_m).filter(|(r, _)| r.is_finite());
    let Some((worst, at)) = known.max_by(|a, b| a.0.abs().total_cmp(&b.0.abs())) else {
        return Err(PlotError::Empty { what: "the list of residuals" });
    };
    let faster = if *worst > 0.0 { "faster" } else { "slower" };
    let here = |p: &&Place| p.pieces(plot.length_m).iter().any(|(from, to)| at >= from && at <= to);
    let place = plot.places.iter().find(here).map_or_else(String::new, |p| format!(" ({})", p.phrase()));
    let title = format!("The log is most off the model at {}{place}: {:.1} km/h {faster}", distance(*at), worst.abs());
    let subtitle = format!(
        "{} on {}, {}; speed of a lap about the model: {:.1} km/h (one standard deviation)",
        plot.car,
        plot.track,
        counted(plot.laps, "lap"),
        plot.sd_kmh
    );
    let header = Header::plan(&title, &subtitle, Paper::FILE);
    let left = MARGIN + TICKS_LEFT + 10.0;
    let (x, unit) = Axis::distance(plot.length_m, 9);
    let logged: Vec<f64> = plot.model_kmh.iter().zip(plot.residual_kmh).map(|(v, r)| v + r).collect();
    let top = plot.model_kmh.iter().chain(&logged).copied().filter(|v| v.is_finite()).fold(1.0, f64::max);
    let mut upper = Frame {
        left,
        top: 0.0,
        width: WIDTH - MARGIN - left,
        height: SPEED,
        x: x.clone(),
        y: Axis::over(0.0, 1.08 * top, 5),
    };
    let spans = spans(plot.places, &upper, plot.length_m);
    let names = Names::plan(&spans, left, upper.right());
    upper.top = header.height + 38.0 + names.height;
    let reach = plot.residual_kmh.iter().filter(|r| r.is_finite()).fold(2.0 * plot.sd_kmh, |a, r| a.max(r.abs()));
    let lower = Frame {
        top: upper.bottom() + 46.0,
        height: LEFT_OVER,
        y: Axis::over(-1.1 * reach, 1.1 * reach, 6),
        x,
        ..upper.clone()
    };
    let mut canvas = Canvas::new("fit", WIDTH, lower.bottom() + 22.0 + MARGIN);
    header.draw(&mut canvas);
    draw_corners(&mut canvas, plot.places, &upper, plot.length_m, lower.bottom());
    upper.draw_grid(&mut canvas, false)?;
    names.draw(&mut canvas, upper.top - 24.0);
    legend(&mut canvas, (left - TICKS_LEFT, upper.top - 9.0), plot);
    gaps(&mut canvas, plot, &upper, &lower);
    let model = plot.s_m.iter().zip(plot.model_kmh).map(|(s, v)| (*s, *v)).collect();
    let mut speeds = runs(plot.s_m, &logged, stroke(ACCENT, 2.6));
    speeds.push(Series { points: model, stroke: stroke(SERIES[0], 1.4), fill: 0.0 });
    upper.draw_series(&mut canvas, &speeds)?;
    let (high, low) = (lower.py(plot.sd_kmh), lower.py(-plot.sd_kmh));
    canvas.rect((lower.left, high), (lower.width, low - high), BAND);
    lower.draw_grid(&mut canvas, false)?;
    canvas.line(&[(lower.left, lower.py(0.0)), (lower.right(), lower.py(0.0))], stroke(RULE, 1.0));
    canvas.text(small(
        "log − model, km/h, mean of the laps; band: one standard deviation of a lap",
        (left - TICKS_LEFT, lower.top - 9.0),
    ));
    let series = runs(plot.s_m, plot.residual_kmh, stroke(ACCENT, 1.8));
    lower.draw_series(&mut canvas, &series)?;
    draw_distance(&mut canvas, &lower, lower.bottom() + 6.0, unit);
    canvas.finish(&title, &format!("{title}. Speed of the log and of the model, and log less model, against distance."))
}

/// Curves through what is known, broken where nothing is.
fn runs(s_m: &[f64], values: &[f64], stroke: Stroke) -> Vec<Series> {
    let mut runs: Vec<Vec<(f64, f64)>> = vec![Vec::new()];
    for (s, value) in s_m.iter().zip(values) {
        match runs.last_mut() {
            Some(last) if value.is_finite() => last.push((*s, *value)),
            _ => runs.push(Vec::new()),
        }
    }
    runs.into_iter().filter(|r| r.len() > 1).map(|points| Series { points, stroke, fill: 0.0 }).collect()
}

fn legend(canvas: &mut Canvas, (left, base): (f64, f64), plot: &FitPlot) {
    let log = format!("log, mean of {}", counted(plot.laps, "lap"));
    let mut x = left;
    for (words, colour, width) in
        [("km/h:", None, 0.0), (log.as_str(), Some(ACCENT), 2.6), ("model", Some(SERIES[0]), 1.4)]
    {
        if let Some(colour) = colour {
            canvas.line(&[(x, base - 4.0), (x + 18.0, base - 4.0)], stroke(colour, width));
            x += 24.0;
        }
        canvas.text(small(words, (x, base)));
        x += Face::Regular.width(words, SMALL) + 14.0;
    }
    if plot.residual_kmh.iter().any(|r| !r.is_finite()) {
        canvas.rect((x, base - 9.0), (18.0, 10.0), GRID);
        canvas.text(small("no lap counts there", (x + 24.0, base)));
    }
}

/// Stretches that no lap counts for: why the curves break there.
fn gaps(canvas: &mut Canvas, plot: &FitPlot, upper: &Frame, lower: &Frame) {
    let n = plot.s_m.len();
    let mut from = 0;
    while from < n {
        let known = |i: usize| plot.residual_kmh[i].is_finite();
        let to = (from..n).find(|&i| known(i) != known(from)).unwrap_or(n);
        if !known(from) {
            let (a, b) = (upper.px(plot.s_m[from.saturating_sub(1)]), upper.px(plot.s_m[to.min(n - 1)]));
            for frame in [upper, lower] {
                canvas.rect((a, frame.top), (b - a, frame.height), GRID);
            }
        }
        from = to;
    }
}
