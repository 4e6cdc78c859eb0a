//! Where along the lap the seconds of a kilogram come from: the cumulated ∂t/∂m.

use unladen_questions::worth::Answer;

use crate::draw::frame::{Frame, Series, TICKS_LEFT};
use crate::draw::header::{Header, sentence};
use crate::draw::labels::{Names, Span};
use crate::draw::look::{ACCENT, ACCENT_TEXT, INK, LABEL, Paper, SERIES, SMALL, stroke};
use crate::draw::measure::font::Face;
use crate::draw::measure::ticks::Axis;
use crate::draw::picture::{Picture, PlotError};
use crate::draw::svg::{Anchor, Canvas, Point, Text, centred, label, small};
use crate::lap::place::{Place, places};
use crate::lap::speed::{draw_corners, draw_distance, draw_head, spans};
use crate::words::number::{UNRESOLVED, decimals_for, distance, fixed, resolved, with_error};

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
    /// The 90 % interval of the whole lap's, s/kg, where the car's file gives uncertainties.
    pub total_interval: Option<[f64; 2]>,
    /// Numerical error of the whole lap's, s/kg.
    pub error: f64,
}

/// Mass that the picture speaks of, kg.
const KG: f64 = 10.0;
/// Broad and narrow.
const PLOT_HEIGHT: [f64; 2] = [300.0, 200.0];
const END_LABEL: f64 = 96.0;
/// Places pointed at, and the least share of the whole that is: a long straight costs much for being long, so that they are
/// chosen by what they cost for their length.
const POINTED: usize = 4;
const LEAST_SHARE: f64 = 0.02;
/// The length for which that is said, m.
const PER_M: f64 = 100.0;

/// A place's part of the whole.
struct Part<'a> {
    place: &'a Place,
    seconds: f64,
}

impl Part<'_> {
    /// Thousandths of a second in [`PER_M`].
    fn ms(&self) -> f64 {
        1e3 * PER_M * self.seconds / self.place.length_m.max(1e-9)
    }
}

/// Draws it.
pub fn curve_picture(plot: &CurvePlot, paper: Paper) -> Result<Picture, PlotError> {
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
        "{} on {}, {}; what 10 kg more at the centre of gravity cost up to each point of the lap; figures: ms in 100 m where they cost most for the length",
        plot.car,
        plot.track,
        distance(plot.length_m)
    );
    let header = Header::plan(&title, &subtitle, paper);
    let left = paper.margin() + TICKS_LEFT + paper.of(40.0, 0.0);
    let right = paper.right() - paper.of(END_LABEL, 12.0);
    let (x, unit) = Axis::distance(plot.length_m, paper.of(9, 5));
    let y = axis(plot, total);
    let mut frame =
        Frame { left, top: 0.0, width: right - left, height: paper.of(PLOT_HEIGHT[0], PLOT_HEIGHT[1]), x, y };
    let spans: Vec<Span> = spans(plot.places, &frame, plot.length_m);
    let names = Names::plan(&spans, left, right);
    frame.top = header.height + paper.of(20.0, 26.0) + names.height.max(SMALL + 4.0);
    let height = frame.bottom() + 22.0 + paper.of(18.0, 6.0);

    let mut canvas = Canvas::new("curve", paper.width, height);
    header.draw(&mut canvas);
    draw_corners(&mut canvas, plot.places, &frame, plot.length_m, frame.bottom());
    frame.draw_grid(&mut canvas, false)?;
    names.draw(&mut canvas, frame.top - 2.0);
    draw_head(&mut canvas, "s for 10 kg", &frame, paper);
    let points = plot.s_m.iter().zip(plot.s_per_kg).map(|(s, c)| (*s, KG * c)).collect();
    let mut series = vec![Series { points, stroke: stroke(SERIES[0], 1.8), fill: 0.10 }];
    series.extend(parts.iter().flat_map(|p| pointed(plot, p)));
    frame.draw_series(&mut canvas, &series)?;
    draw_parts(&mut canvas, plot, &frame, &parts);
    draw_total(&mut canvas, plot, &frame, total, paper);
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
    parts.sort_by(|a, b| b.ms().total_cmp(&a.ms()));
    parts.truncate(POINTED);
    parts
}

fn finding(plot: &CurvePlot, total: f64, parts: &[Part]) -> String {
    if !resolved(total, KG * plot.error) {
        return sentence(&format!("{UNRESOLVED} for 10 kg"));
    }
    let verb = if total > 0.0 { "cost" } else { "gain" };
    let known = known(plot, total.abs(), total.signum());
    let most =
        parts.first().map(|p| format!(", most for its length {}: {} ms in 100 m", p.place.phrase(), fixed(p.ms(), 1)));
    format!("10 kg {verb} {known}{}", most.unwrap_or_default())
}

/// `0.400 s a lap (90 %: 0.366 to 0.435)`, the interval seen the way of the value.
fn known(plot: &CurvePlot, value: f64, way: f64) -> String {
    let Some(interval) = plot.total_interval else {
        return format!("{} s a lap", with_error(value, (KG * plot.error).max(1e-3)));
    };
    let mut ends = interval.map(|end| way * KG * end);
    ends.sort_by(f64::total_cmp);
    let digits = decimals_for(0.5 * (ends[1] - ends[0]));
    let text = |x: f64| fixed(x, digits);
    format!("{} s a lap (90 %: {} to {})", text(value), text(ends[0]), text(ends[1]))
}

fn axis(plot: &CurvePlot, total: f64) -> Axis {
    let [least, most] = plot.total_interval.map_or([total; 2], |ends| ends.map(|end| KG * end));
    let all = plot.s_per_kg.iter().map(|c| KG * c);
    let (low, high) = all.fold((0.0f64, 0.0f64), |(low, high), c| (low.min(c), high.max(c)));
    let (low, high) = (low.min(total).min(least), high.max(total).max(most));
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
    let mut taken: Vec<Point> = Vec::new();
    canvas.part("parts", |canvas| {
        for part in parts {
            let pieces = part.place.pieces(plot.length_m);
            let Some((from, to)) = pieces.into_iter().max_by(|a, b| (a.1 - a.0).total_cmp(&(b.1 - b.0))) else {
                continue;
            };
            let middle = 0.5 * (from + to);
            let words = fixed(part.ms(), 1);
            let least = frame.left + 3.0 + Face::Regular.width(&words, LABEL);
            let at = ((frame.px(middle) - 7.0).max(least), frame.py(KG * at(plot, middle)) - 7.0);
            // The dearest have been written by then; the line says the rest.
            let wide = Face::Regular.width(&words, LABEL) + 4.0;
            if taken.iter().any(|t| (t.0 - at.0).abs() < wide + 8.0 && (t.1 - at.1).abs() < LABEL) {
                continue;
            }
            taken.push(at);
            let text = Text { anchor: Anchor::End, colour: ACCENT_TEXT, halo: true, ..label(&words, at) };
            canvas.text(text);
        }
    });
}

fn draw_total(canvas: &mut Canvas, plot: &CurvePlot, frame: &Frame, total: f64, paper: Paper) {
    let (x, y) = (frame.right() + 12.0, frame.py(total));
    canvas.part("total", |canvas| {
        if let Some([low, high]) = plot.total_interval.map(|ends| ends.map(|end| frame.py(KG * end))) {
            canvas.line(&[(x - 6.0, low), (x - 6.0, high)], stroke(INK, 1.4));
            for end in [low, high] {
                canvas.line(&[(x - 9.0, end), (x - 3.0, end)], stroke(INK, 1.4));
            }
        }
        canvas.disc((frame.right(), y), 3.2, SERIES[0]);
        if paper.narrow() {
            return;
        }
        let (words, beneath) = match plot.total_interval {
            Some([low, high]) => {
                let digits = decimals_for(0.5 * KG * (high - low));
                (fixed(total, digits), "the lap, 90 %")
            }
            None => (with_error(total, (KG * plot.error).max(1e-3)), "the whole lap"),
        };
        let words = format!("{} s", words.replace('-', "−"));
        canvas.text(label(&words, (x + 2.0, y + centred(LABEL))));
        canvas.text(small(beneath, (x + 2.0, y + centred(LABEL) + 14.0)));
    });
}

/// Of an answer, track by track.
pub fn curves(v: &Answer, paper: Paper) -> Result<Vec<Picture>, PlotError> {
    let tracks = v.tracks.iter().zip(&v.study.tracks);
    let of = tracks.filter_map(|(track, found)| found.along.as_ref().map(|along| (track, found, along)));
    let pictures = of.map(|(track, found, along)| {
        let plot = CurvePlot {
            car: &v.file.name,
            track: &track.name,
            places: &places(track),
            length_m: track.length(),
            s_m: &along.s_m,
            s_per_kg: &along.s_per_kg,
            total_interval: found.s_per_kg.interval,
            error: found.s_per_kg.error,
        };
        curve_picture(&plot, paper)
    });
    pictures.collect()
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    fn plot<'a>(places: &'a [Place], s_m: &'a [f64], s_per_kg: &'a [f64]) -> CurvePlot<'a> {
        let (car, track) = ("car", "track");
        CurvePlot { car, track, places, length_m: 100.0, s_m, s_per_kg, total_interval: None, error: 1e-6 }
    }

    #[test]
    fn closed_form_the_place_that_costs_most_for_its_length_is_in_the_title() {
        let place = |name: &str, start_m, length_m| Place { name: name.into(), start_m, length_m, turning_rad: 0.0 };
        let places = [place("A", 0.0, 50.0), place("B", 90.0, 30.0)];
        let p = plot(&places, &[0.0, 50.0, 100.0], &[0.0, 0.01, 0.04]);
        // B: 0.006 s/kg before the line and 0.004 behind it in 30 m; A as much in 50 m.
        let title = curve_picture(&p, Paper::FILE).unwrap().title;
        assert_eq!(title, "10 kg cost 0.400 s a lap, most for its length on B: 333.3 ms in 100 m");
        let sd = CurvePlot { total_interval: Some([0.0366, 0.0435]), places: &places[1..], ..p };
        assert_eq!(
            curve_picture(&sd, Paper::FILE).unwrap().title,
            "10 kg cost 0.400 s a lap (90 %: 0.366 to 0.435), most for its length on B: 333.3 ms in 100 m"
        );
        let gain = CurvePlot { s_per_kg: &[0.0, -0.01, -0.02], ..p };
        assert_eq!(curve_picture(&gain, Paper::FILE).unwrap().title, "10 kg gain 0.200 s a lap");
        let nothing = CurvePlot { s_per_kg: &[0.0, 1e-7, 5e-7], ..p };
        assert_eq!(curve_picture(&nothing, Paper::FILE).unwrap().title, "No difference that can be resolved for 10 kg");
    }

    #[test]
    fn bad_input_lists_that_do_not_belong_together() {
        assert!(matches!(curve_picture(&plot(&[], &[], &[]), Paper::FILE), Err(PlotError::Empty { .. })));
        assert!(matches!(curve_picture(&plot(&[], &[0.0, 1.0], &[0.0]), Paper::FILE), Err(PlotError::Lengths { .. })));
        assert!(matches!(
            curve_picture(&plot(&[], &[0.0, 1.0], &[0.0, f64::NAN]), Paper::FILE),
            Err(PlotError::NotFinite { .. })
        ));
        assert!(curve_picture(&plot(&[], &[0.0], &[0.0]), Paper::FILE).is_ok());
    }
}
