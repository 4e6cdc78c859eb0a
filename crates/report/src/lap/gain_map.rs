//! The track in plan, coloured by where one lap gains on another and where it loses.

use unladen_track::Pose;

use crate::draw::header::{Header, sentence};
use crate::draw::look::{GRID, INK, PAPER, Paper, RULE, gain_colour, stroke};
use crate::draw::map_key::{KEY, draw_scale, explain};
use crate::draw::measure::ticks::Axis;
use crate::draw::picture::{Picture, PlotError};
use crate::draw::svg::{Anchor, Canvas, Point, Text, small};
use crate::lap::delta::gained;
use crate::lap::map_road::{Sheet, Words, letters};
use crate::lap::place::Place;
use crate::lap::trace::LapTrace;
use crate::words::number::{UNRESOLVED, decimals_for, fixed, resolved, signed, with_error};

/// What to draw.
#[derive(Clone, Copy, Debug)]
pub struct GainPlot<'a> {
    /// The track's name.
    pub track: &'a str,
    /// A circuit.
    pub closed: bool,
    /// Its named places.
    pub places: &'a [Place],
    /// The middle of the road, in driving order, close enough together that bends look round.
    pub plan: &'a [Pose],
    /// The lap that is compared with, and the other one.
    pub laps: [LapTrace<'a>; 2],
}

/// Shades on each side of no difference.
const SIDE: i32 = 6;
/// Width of the road where nothing is gained or lost, and by how much it grows, px.
const NARROW: f64 = 4.0;
const GROWS: f64 = 9.0;
const EDGE: f64 = 1.2;
/// Between the bars across the road where time is lost, px.
const BARS: f64 = 7.0;
/// A rate is a mean over this much of the lap, and no less than so many metres.
const WINDOW: f64 = 1.0 / 150.0;
const LEAST_M: f64 = 10.0;
/// Rates are in seconds over this many metres.
const PER_M: f64 = 100.0;
/// So many places get their figures.
const FIGURES: usize = 10;

/// Draws it.
pub fn gain_picture(plot: &GainPlot, paper: Paper) -> Result<Picture, PlotError> {
    let [first, lap] = &plot.laps;
    if plot.plan.is_empty() || first.rows.is_empty() || lap.rows.is_empty() {
        return Err(PlotError::Empty { what: "the plan or a lap's trace" });
    }
    let found = LabelledPlaces::of(plot);
    let total = first.lap_time_s - lap.lap_time_s;
    let title = found.title(lap.name, total > 0.0);
    let whole = if resolved(total, found.error_s) {
        format!("{} s in all", signed(&with_error(total, found.error_s.max(1e-4))).replace('-', "−"))
    } else {
        UNRESOLVED.to_owned()
    };
    let subtitle = format!("{}: what {} gains (+) and loses (−) on {}; {whole}", plot.track, lap.name, first.name);
    let header = Header::plan(&title, &subtitle, paper);
    let sheet = Sheet::new(plot.plan, plot.closed, first.length_m, header.height, paper);
    let rates: Vec<f64> = sheet.plan.iter().map(|p| rate(plot, p.s)).collect();
    let scale = Scale::of(&rates, growth(&sheet.road));

    let mut canvas = Canvas::new("gain", paper.width, sheet.height);
    header.draw(&mut canvas);
    draw_road(&mut canvas, &sheet, &rates, &scale);
    let mut room = sheet.room(NARROW + scale.grows + 2.0 * EDGE);
    for mark in sheet.draw_marks(&mut canvas) {
        room.take(mark);
    }
    let size = letters(FIGURES);
    let named = found.most().filter_map(|(place, s)| Some((place.as_ref()?, s)));
    let wanted = named.map(|(place, s)| Words::of(place, found.shown(*s), size, s.abs(), &sheet)).collect();
    sheet.draw_words(&mut canvas, wanted, size, &mut room);
    scale.draw_key(&mut canvas, sheet.foot, paper);
    draw_scale(&mut canvas, sheet.scale, sheet.foot, paper);
    let alt = format!(
        "Plan of {}: broad and orange where {} gains on {}, blue with bars across where it loses, thin and grey where neither. {title}.",
        plot.track, lap.name, first.name
    );
    canvas.finish(&title, &alt)
}

/// Time gained around `s`, s in [`PER_M`].
fn rate(plot: &GainPlot, s: f64) -> f64 {
    let [first, lap] = &plot.laps;
    let half = 0.5 * (WINDOW * first.length_m).max(LEAST_M);
    let (from, to) = ((s - half).max(0.0), (s + half).min(first.length_m));
    PER_M * (gained(lap, first, to) - gained(lap, first, from)) / (to - from).max(1e-6)
}

/// The places with what is gained there.
struct LabelledPlaces<'a> {
    /// Most in size first, those that can be told from nothing; without a place: on the road that has no name.
    places: Vec<(Option<&'a Place>, f64)>,
    error_s: f64,
    digits: usize,
}

impl<'a> LabelledPlaces<'a> {
    fn of(plot: &GainPlot<'a>) -> LabelledPlaces<'a> {
        let [first, lap] = &plot.laps;
        let error_s = first.lap_time_error_s.abs() + lap.lap_time_error_s.abs();
        let gains = first.sectors(plot.places).into_iter().zip(lap.sectors(plot.places));
        let mut all: Vec<_> =
            plot.places.iter().map(Some).zip(gains.map(|(first, lap)| first.time_s - lap.time_s)).collect();
        let named: f64 = all.iter().map(|(_, s)| s).sum();
        all.push((None, first.lap_time_s - lap.lap_time_s - named));
        let mut places: Vec<_> = all.into_iter().filter(|(_, s)| resolved(*s, error_s)).collect();
        places.sort_by(|a, b| b.1.abs().total_cmp(&a.1.abs()));
        let most = places.first().map_or(error_s, |(_, s)| s.abs());
        LabelledPlaces { places, error_s, digits: digits(most) }
    }

    /// Those that get their figure: what rounds to nothing gets none.
    fn most(&self) -> impl Iterator<Item = &(Option<&'a Place>, f64)> {
        let least = 0.5 * 10f64.powi(-(self.digits as i32));
        self.places.iter().take(FIGURES).filter(move |(_, s)| s.abs() >= least)
    }

    fn shown(&self, s: f64) -> String {
        format!("{} s", signed(&fixed(s, self.digits)).replace('-', "−"))
    }

    fn title(&self, name: &str, ahead: bool) -> String {
        let said = |gain: bool, count: usize| -> Vec<String> {
            let of = self.most().filter(|(_, s)| (*s > 0.0) == gain).take(count);
            of.map(|(place, s)| {
                let at = place.map_or_else(|| "outside the named places".to_owned(), Place::phrase);
                format!("{at} ({})", self.shown(*s))
            })
            .collect()
        };
        // Two of what there is more of, which is said first.
        let (gains, losses) = if ahead { (said(true, 2), said(false, 1)) } else { (said(true, 1), said(false, 2)) };
        let mut parts = Vec::new();
        if !gains.is_empty() {
            parts.push(format!("most gained {}", gains.join(" and ")));
        }
        if !losses.is_empty() {
            parts.push(format!("most lost {}", losses.join(" and ")));
        }
        if !ahead {
            parts.reverse();
        }
        if parts.is_empty() {
            return sentence(&format!("{name}: {UNRESOLVED} in any place"));
        }
        sentence(&format!("{name}: {}", parts.join("; ")))
    }
}

/// Behind the point: milliseconds, where the largest has more than a few of them.
fn digits(most_s: f64) -> usize {
    (decimals_for(most_s) + 1).clamp(2, if most_s < 0.005 { 4 } else { 3 })
}

/// Rates as shades, −[`SIDE`] to [`SIDE`].
struct Scale {
    most: f64,
    /// How much broader than [`NARROW`] the last shades are, px.
    grows: f64,
}

impl Scale {
    /// To the rate that a fiftieth of the road goes beyond: one standing start doesn't bleach the lap.
    fn of(rates: &[f64], grows: f64) -> Scale {
        let mut sizes: Vec<f64> = rates.iter().map(|r| r.abs()).collect();
        sizes.sort_by(f64::total_cmp);
        let at = (sizes.len() * 49 / 50).min(sizes.len().saturating_sub(1));
        Scale { most: sizes.get(at).copied().unwrap_or(0.0), grows }
    }

    fn shade(&self, rate: f64) -> i32 {
        if self.most <= 0.0 {
            return 0;
        }
        (rate / self.most * f64::from(SIDE)).round().clamp(-f64::from(SIDE), f64::from(SIDE)) as i32
    }

    fn draw_key(&self, canvas: &mut Canvas, top: f64, paper: Paper) {
        let margin = paper.margin();
        canvas.part("key", |canvas| {
            let step = KEY / f64::from(2 * SIDE + 1);
            let middle = top + 5.0;
            for (i, shade) in (-SIDE..=SIDE).enumerate() {
                let tall = width(shade, self.grows);
                let left = margin + i as f64 * step;
                // Under the next one, so that no line of paper shines through.
                let under = if shade < SIDE { 0.5 } else { 0.0 };
                canvas.rect((left, middle - 0.5 * tall), (step + under, tall), colour(shade));
            }
            let end = margin + f64::from(SIDE) * step;
            let bars = (0..).map(|i| margin + 4.0 + f64::from(i) * BARS).take_while(|x| *x < end - 2.0);
            for x in bars {
                let half = 0.5 * width(-SIDE + ((x - margin) / step) as i32, self.grows);
                canvas.line(&[(x, middle - half), (x, middle + half)], stroke(PAPER, 1.6));
            }
            let axis = Axis::over(-1e3 * self.most.max(1e-9), 1e3 * self.most.max(1e-9), 3);
            let px = |ms: f64| margin + 0.5 * KEY + 0.5 * (KEY - step) * ms / (1e3 * self.most.max(1e-9));
            let least = -1e3 * self.most..=1e3 * self.most;
            for tick in axis.ticks.iter().filter(|t| least.contains(*t)) {
                let x = px(*tick);
                canvas.line(&[(x, top + 13.0), (x, top + 16.0)], stroke(RULE, 0.9));
                let figure = axis.label(*tick);
                let words = if *tick > 0.0 { signed(&figure) } else { figure };
                canvas.text(Text { anchor: Anchor::Middle, ..small(&words, (x, top + 27.0)) });
            }
            let words = "ms in 100 m of road: lost, barred and blue; gained, plain and orange; figures: each place's";
            explain(canvas, words, (margin, top + 9.0), top + 46.0, paper);
        });
    }
}

fn colour(shade: i32) -> crate::draw::colour::Colour {
    if shade == 0 { GRID } else { gain_colour(f64::from(shade) / f64::from(SIDE)) }
}

fn width(shade: i32, grows: f64) -> f64 {
    NARROW + grows * f64::from(shade.abs()) / f64::from(SIDE)
}

/// By how much a road grows: one so long that it lies beside itself by less.
fn growth(road: &[Point]) -> f64 {
    const LONG: f64 = 4000.0;
    let long: f64 = road.windows(2).map(|w| (w[1].0 - w[0].0).hypot(w[1].1 - w[0].1)).sum();
    GROWS * (LONG / long.max(1.0)).clamp(0.4, 1.0)
}

/// A casing, a line for each stretch of one shade, and bars across where time is lost.
fn draw_road(canvas: &mut Canvas, sheet: &Sheet, rates: &[f64], scale: &Scale) {
    let runs = sheet.runs(|i| scale.shade(rates[i]));
    canvas.part("road", |canvas| {
        sheet.bridge(canvas, NARROW);
        for (run, shade) in &runs {
            canvas.line(&sheet.road[run.clone()], stroke(INK, width(*shade, scale.grows) + 2.0 * EDGE));
        }
        for (run, shade) in &runs {
            canvas.line(&sheet.road[run.clone()], stroke(colour(*shade), width(*shade, scale.grows)));
        }
    });
    canvas.part("lost", |canvas| {
        let mut since = 0.0;
        let mut bars = Vec::new();
        for (i, pair) in sheet.road.windows(2).enumerate() {
            let (a, b): (Point, Point) = (pair[0], pair[1]);
            let along = (b.0 - a.0).hypot(b.1 - a.1);
            since += along;
            let shade = scale.shade(rates[i]);
            if shade < 0 && since >= BARS && along > 0.0 {
                since = 0.0;
                let half = 0.5 * width(shade, scale.grows) / along;
                let (nx, ny) = (-(b.1 - a.1) * half, (b.0 - a.0) * half);
                bars.push([(a.0 - nx, a.1 - ny), (a.0 + nx, a.1 + ny)]);
            }
        }
        canvas.lines(&bars, stroke(PAPER, 1.6));
    });
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use unladen_lap::{Limit, Row};

    const LENGTH: f64 = 400.0;

    /// Steady but for one stretch of another speed.
    fn rows(other: std::ops::Range<u32>, v: f64) -> (Vec<Row>, f64) {
        let mut t = 0.0;
        let mut all = Vec::new();
        for i in 0..=400 {
            let v = if other.contains(&i) { v } else { 20.0 };
            all.push(Row { s: f64::from(i), t, v, a_x: 0.0, a_y: 0.0, gear: 1, limit: Limit::Power, load: [0.0; 4] });
            t += 1.0 / v;
        }
        (all, t - 1.0 / 20.0)
    }

    fn draw(rows: [&(Vec<Row>, f64); 2]) -> Picture {
        let names = ["A", "B"];
        let laps = [0, 1].map(|i| LapTrace {
            name: names[i],
            rows: &rows[i].0,
            length_m: LENGTH,
            lap_time_s: rows[i].1,
            lap_time_error_s: 1e-4,
        });
        let place = |name: &str, start_m| Place { name: name.into(), start_m, length_m: 100.0, turning_rad: 1.0 };
        let places = [place("Oak", 0.0), place("Elm", 100.0), place("Ash", 200.0)];
        let plan: Vec<Pose> = (0..=400).map(|i| Pose { s: f64::from(i), x: f64::from(i), ..Pose::default() }).collect();
        let plot = GainPlot { track: "Hill", closed: false, places: &places, plan: &plan, laps };
        gain_picture(&plot, Paper::FILE).unwrap()
    }

    /// 100 m at 25 m/s in place of 20: 5 s less 4 s.
    #[test]
    fn closed_form_the_title_says_where_and_how_much() {
        let (steady, fast, slow) = (rows(0..0, 0.0), rows(100..200, 25.0), rows(200..300, 16.0));
        let gain = draw([&steady, &fast]);
        assert_eq!(gain.title, "B: most gained in Elm (+1.00 s)");
        let texts: Vec<&str> = gain.svg.split("</text>").filter_map(|t| t.rsplit('>').next()).collect();
        assert!(texts.contains(&"Hill: what B gains (+) and loses (−) on A; +1.000 s in all"), "{texts:?}");
        assert_eq!(draw([&steady, &slow]).title, "B: most lost in Ash (−1.25 s)");
        assert_eq!(draw([&slow, &fast]).title, "B: most gained in Ash (+1.25 s) and in Elm (+1.00 s)");
        assert_eq!(draw([&steady, &steady]).title, format!("B: {UNRESOLVED} in any place"));
    }

    /// Ash ends at 300 m; what is gained beyond it has no name, and is said all the same.
    #[test]
    fn closed_form_what_is_gained_on_road_without_a_name() {
        let (steady, late) = (rows(0..0, 0.0), rows(300..400, 25.0));
        assert_eq!(draw([&steady, &late]).title, "B: most gained outside the named places (+1.00 s)");
    }

    /// What is lost has bars; what is gained has none: no colour is needed to tell them apart.
    #[test]
    fn property_bars_stand_where_time_is_lost() {
        let (steady, fast) = (rows(0..0, 0.0), rows(100..200, 25.0));
        let bars = |svg: &str| {
            let doc = roxmltree::Document::parse(svg).unwrap();
            let part = doc.descendants().find(|n| n.attribute("data-part") == Some("lost")).unwrap();
            part.descendants().filter_map(|n| n.attribute("d")).map(|d| d.matches('M').count()).sum::<usize>()
        };
        assert_eq!(bars(&draw([&steady, &fast]).svg), 0);
        assert!(bars(&draw([&fast, &steady]).svg) > 5);
    }

    #[test]
    fn property_a_scale_is_even_about_nothing() {
        let scale = Scale::of(&[0.1, -0.4, 0.2], GROWS);
        assert_eq!([0.4, -0.4, 9.0, -9.0, 0.01].map(|r| scale.shade(r)), [SIDE, -SIDE, SIDE, -SIDE, 0]);
        assert_eq!(Scale::of(&[0.0, 0.0], GROWS).shade(0.0), 0);
        assert_eq!(Scale::of(&[], GROWS).shade(1.0), 0);
    }
}
