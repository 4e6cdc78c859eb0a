//! Where along the lap the seconds of a kilogram come from: the cumulated ∂t/∂m.

use unladen_questions::worth::Answer;

use crate::draw::font::Face;
use crate::draw::frame::{Frame, Series, TICKS_LEFT};
use crate::draw::header::{Header, sentence};
use crate::draw::labels::{Names, Span};
use crate::draw::look::{ACCENT, ACCENT_TEXT, INK, LABEL, MARGIN, SERIES, SMALL, WIDTH, stroke};
use crate::draw::picture::{Picture, PlotError};
use crate::draw::svg::{Anchor, Canvas, Text, centred, label, small};
use crate::draw::ticks::Axis;
use crate::lap::place::{Place, places};
use crate::lap::speed::{draw_corners, draw_distance, draw_unit, spans};
use crate::words::number::{UNRESOLVED, distance, percent, resolved, with_error, with_sd};

/// What to draw.
#[derive(Clone, Copy, Debug)]
pub struct CurvePlot<'a> {
    /// The car's name.
    pub car: &'a str,
    /// The track's name.
    pub track: &'a str,
    /// Its named places.
    pub places: &'a [Place],
    /// Its length, m in plan.
    pub length_m: f64,
    /// Distances, m, rising.
    pub s_m: &'a [f64],
    /// ∂t/∂m up to each distance, s/kg.
    pub s_per_kg: &'a [f64],
    /// One standard deviation of the whole lap's, s/kg, where the car's file gives uncertainties.
    pub total_sd: Option<f64>,
    /// Numerical error of the whole lap's, s/kg.
    pub error: f64,
}

/// Mass that the picture speaks of, kg.
const KG: f64 = 10.0;
const PLOT_HEIGHT: f64 = 300.0;
const END_LABEL: f64 = 96.0;
/// Places pointed at, and the least share of the whole that is.
const POINTED: usize = 4;
const LEAST_SHARE: f64 = 0.08;

/// A place's part of the whole.
struct Part<'a> {
    place: &'a Place,
    seconds: f64,
}

/// Draws it.
pub fn curve_picture(plot: &CurvePlot) -> Result<Picture, PlotError> {
    if plot.s_m.is_empty() {
        return Err(PlotError::Empty { what: "the list of distances" });
    }
    if plot.s_m.len() != plot.s_per_kg.len() {
        let (got, want) = (plot.s_per_kg.len(), plot.s_m.len());
        return Err(PlotError::Lengths { what: "cumulated seconds per kilogram", got, want });
    }
    let total = KG * plot.s_per_kg[plot.s_per_kg.len() - 1];
    let parts = parts(plot);
    let title = finding(plot, total, &parts);
    let subtitle = format!(
        "{} on {}, {}; what 10 kg more at the centre of gravity cost up to each point of the lap",
        plot.car,
        plot.track,
        distance(plot.length_m)
    );
    let header = Header::plan(&title, &subtitle, WIDTH);
    let left = MARGIN + TICKS_LEFT + 40.0;
    let right = WIDTH - MARGIN - END_LABEL;
    let (x, unit) = Axis::distance(plot.length_m, 9);
    let y = axis(plot, total);
    let mut frame = Frame { left, top: 0.0, width: right - left, height: PLOT_HEIGHT, x, y };
    let spans: Vec<Span> = spans(plot.places, &frame, plot.length_m);
    let names = Names::plan(&spans, left, right);
    frame.top = header.height + 20.0 + names.height.max(SMALL + 4.0);
    let height = frame.bottom() + 22.0 + MARGIN - 6.0;

    let mut canvas = Canvas::new("curve", WIDTH, height);
    header.draw(&mut canvas);
    draw_corners(&mut canvas, plot.places, &frame, plot.length_m, frame.bottom());
    frame.draw_grid(&mut canvas, false)?;
    names.draw(&mut canvas, frame.top - 2.0);
    draw_unit(&mut canvas, "s for 10 kg", (left - 7.0, frame.top + centred(SMALL) - 16.0));
    let points = plot.s_m.iter().zip(plot.s_per_kg).map(|(s, c)| (*s, KG * c)).collect();
    let mut series = vec![Series { points, stroke: stroke(SERIES[0], 1.8), fill: 0.10 }];
    series.extend(parts.iter().flat_map(|p| pointed(plot, p)));
    frame.draw_series(&mut canvas, &series)?;
    draw_parts(&mut canvas, plot, &frame, &parts);
    draw_total(&mut canvas, plot, &frame, total);
    draw_distance(&mut canvas, &frame, frame.bottom() + 6.0, unit);
    canvas.finish(&title, &format!("Cumulated seconds for 10 kg along {}. {title}.", plot.track))
}

/// Cumulated s/kg at a distance, linear between points.
fn at(plot: &CurvePlot, s: f64) -> f64 {
    let after = plot.s_m.partition_point(|x| *x <= s);
    if after == 0 {
        return plot.s_per_kg[0];
    }
    if after == plot.s_m.len() {
        return plot.s_per_kg[after - 1];
    }
    let (a, b) = (plot.s_m[after - 1], plot.s_m[after]);
    let w = (s - a) / (b - a).max(1e-12);
    plot.s_per_kg[after - 1] + w * (plot.s_per_kg[after] - plot.s_per_kg[after - 1])
}

/// The places that cost most, most first.
fn parts<'a>(plot: &CurvePlot<'a>) -> Vec<Part<'a>> {
    let total = KG * plot.s_per_kg[plot.s_per_kg.len() - 1];
    let part = |place: &'a Place| {
        let pieces = place.pieces(plot.length_m);
        Part { place, seconds: pieces.iter().map(|(from, to)| KG * (at(plot, *to) - at(plot, *from))).sum() }
    };
    let mut parts: Vec<_> = plot.places.iter().map(part).collect();
    parts.retain(|p| total > 0.0 && p.seconds > LEAST_SHARE * total);
    parts.sort_by(|a, b| b.seconds.total_cmp(&a.seconds));
    parts.truncate(POINTED);
    parts
}

fn finding(plot: &CurvePlot, total: f64, parts: &[Part]) -> String {
    if !resolved(total, KG * plot.error) {
        return sentence(&format!("{UNRESOLVED} for 10 kg"));
    }
    let verb = if total > 0.0 { "cost" } else { "gain" };
    let known = match plot.total_sd {
        Some(sd) => with_sd(total.abs(), KG * sd),
        None => with_error(total.abs(), (KG * plot.error).max(1e-3)),
    };
    let most = parts.first().map(|p| format!(", {} of it {}", percent(p.seconds / total), p.place.phrase()));
    format!("10 kg {verb} {known} s a lap{}", most.unwrap_or_default())
}

fn axis(plot: &CurvePlot, total: f64) -> Axis {
    let sd = KG * plot.total_sd.unwrap_or(0.0);
    let all = plot.s_per_kg.iter().map(|c| KG * c);
    let (low, high) = all.fold((0.0f64, 0.0f64), |(low, high), c| (low.min(c), high.max(c)));
    let (low, high) = (low.min(total - sd), high.max(total + sd));
    // No closer look at what can't be resolved than a hundredth.
    let span = (high - low).max(0.01);
    let high = high.max(low + span);
    // Zero is an end unless the curve goes below it.
    let low = if low < 0.0 { low - 0.06 * span } else { 0.0 };
    Axis::over(low, high + 0.1 * span, 5)
}

/// The curve over a place that is pointed at.
fn pointed(plot: &CurvePlot, part: &Part) -> Vec<Series> {
    let piece = |(from, to): (f64, f64)| {
        let inside = plot.s_m.iter().zip(plot.s_per_kg).filter(|(s, _)| **s > from && **s < to);
        let mut points = vec![(from, KG * at(plot, from))];
        points.extend(inside.map(|(s, c)| (*s, KG * c)));
        points.push((to, KG * at(plot, to)));
        Series { points, stroke: stroke(ACCENT, 3.4), fill: 0.0 }
    };
    part.place.pieces(plot.length_m).into_iter().map(piece).collect()
}

/// What each of them takes, above the curve.
fn draw_parts(canvas: &mut Canvas, plot: &CurvePlot, frame: &Frame, parts: &[Part]) {
    let total = KG * plot.s_per_kg[plot.s_per_kg.len() - 1];
    canvas.part("parts", |canvas| {
        for part in parts {
            let pieces = part.place.pieces(plot.length_m);
            let Some((from, to)) = pieces.into_iter().max_by(|a, b| (a.1 - a.0).total_cmp(&(b.1 - b.0))) else {
                continue;
            };
            let middle = 0.5 * (from + to);
            let words = percent(part.seconds / total);
            let least = frame.left + 3.0 + Face::Regular.width(&words, LABEL);
            let at = ((frame.px(middle) - 7.0).max(least), frame.py(KG * at(plot, middle)) - 7.0);
            let text = Text { anchor: Anchor::End, colour: ACCENT_TEXT, halo: true, ..label(&words, at) };
            canvas.text(text);
        }
    });
}

fn draw_total(canvas: &mut Canvas, plot: &CurvePlot, frame: &Frame, total: f64) {
    let (x, y) = (frame.right() + 12.0, frame.py(total));
    canvas.part("total", |canvas| {
        if let Some(sd) = plot.total_sd.map(|sd| KG * sd) {
            let (low, high) = (frame.py(total - sd), frame.py(total + sd));
            canvas.line(&[(x - 6.0, low), (x - 6.0, high)], stroke(INK, 1.4));
            for end in [low, high] {
                canvas.line(&[(x - 9.0, end), (x - 3.0, end)], stroke(INK, 1.4));
            }
        }
        canvas.disc((frame.right(), y), 3.2, SERIES[0]);
        let words = match plot.total_sd {
            Some(sd) => with_sd(total, KG * sd),
            None => with_error(total, (KG * plot.error).max(1e-3)),
        };
        let words = format!("{} s", words.replace('-', "−"));
        canvas.text(label(&words, (x + 2.0, y + centred(LABEL))));
        canvas.text(small("the whole lap", (x + 2.0, y + centred(LABEL) + 14.0)));
    });
}

/// Of an answer, track by track.
pub fn curves(v: &Answer) -> Result<Vec<Picture>, PlotError> {
    let tracks = v.tracks.iter().zip(&v.study.tracks);
    let of = tracks.filter_map(|(track, found)| found.along.as_ref().map(|along| (track, found, along)));
    let pictures = of.map(|(track, found, along)| {
        curve_picture(&CurvePlot {
            car: &v.file.name,
            track: &track.name,
            places: &places(track),
            length_m: track.length(),
            s_m: &along.s_m,
            s_per_kg: &along.s_per_kg,
            total_sd: found.s_per_kg.sd,
            error: found.s_per_kg.error,
        })
    });
    pictures.collect()
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    fn plot<'a>(places: &'a [Place], s_m: &'a [f64], s_per_kg: &'a [f64]) -> CurvePlot<'a> {
        let (car, track) = ("car", "track");
        CurvePlot { car, track, places, length_m: 100.0, s_m, s_per_kg, total_sd: None, error: 1e-6 }
    }

    #[test]
    fn closed_form_the_place_that_costs_most_is_in_the_title() {
        let place = |name: &str, start_m, length_m| Place { name: name.into(), start_m, length_m, turning_rad: 0.0 };
        let places = [place("A", 0.0, 50.0), place("B", 90.0, 30.0)];
        let p = plot(&places, &[0.0, 50.0, 100.0], &[0.0, 0.01, 0.04]);
        // B: 0.006 s/kg before the line and 0.004 behind it.
        let title = curve_picture(&p).unwrap().title;
        assert_eq!(title, "10 kg cost 0.400 s a lap, 25 % of it on A");
        let sd = CurvePlot { total_sd: Some(0.0021), places: &places[1..], ..p };
        assert_eq!(curve_picture(&sd).unwrap().title, "10 kg cost 0.400 ± 0.021 s a lap, 25 % of it on B");
        let gain = CurvePlot { s_per_kg: &[0.0, -0.01, -0.02], ..p };
        assert_eq!(curve_picture(&gain).unwrap().title, "10 kg gain 0.200 s a lap");
        let nothing = CurvePlot { s_per_kg: &[0.0, 1e-7, 5e-7], ..p };
        assert_eq!(curve_picture(&nothing).unwrap().title, "No difference that can be resolved for 10 kg");
    }

    #[test]
    fn bad_input_lists_that_do_not_belong_together() {
        assert!(matches!(curve_picture(&plot(&[], &[], &[])), Err(PlotError::Empty { .. })));
        assert!(matches!(curve_picture(&plot(&[], &[0.0, 1.0], &[0.0])), Err(PlotError::Lengths { .. })));
        assert!(matches!(curve_picture(&plot(&[], &[0.0, 1.0], &[0.0, f64::NAN])), Err(PlotError::NotFinite { .. })));
        assert!(curve_picture(&plot(&[], &[0.0], &[0.0])).is_ok());
    }
}
