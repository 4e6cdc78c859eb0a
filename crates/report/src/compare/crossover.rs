//! The crossover map: over power and grip, where each of two cars is quicker, and where the cars are on it.

use unladen_questions::compare::{Answer, Day, LETTERS};
use unladen_study::compare::crossover::Cell;
use unladen_study::uncertainty::spread::NINETY;

use crate::draw::colour::Colour;
use crate::draw::frame::{Frame, TICKS_BELOW, TICKS_LEFT};
use crate::draw::header::Header;
use crate::draw::look::{BAND, INK, LABEL, PAPER, Paper, SERIES, SMALL, stroke};
use crate::draw::measure::font::Face;
use crate::draw::measure::ticks::Axis;
use crate::draw::picture::{Picture, PlotError};
use crate::draw::svg::{Anchor, Canvas, Point, Text, centred, label, small};
use crate::words::number::{fixed, percent, signed};

/// Broad and narrow.
const TALL: [f64; 2] = [420.0, 300.0];
/// The key beside the map, or beneath it, px.
const SIDE: f64 = 184.0;
const FOOT: f64 = 132.0;
/// Cells smaller than this carry no figures, px.
const FIGURES: (f64, f64) = (44.0, 17.0);
/// The largest gains of a map lie in corners where no car drives: colour is full from the gain that this share of the cells stays
/// within on.
const SHARE: f64 = 0.75;

/// Draws it.
pub fn crossover_picture(v: &Answer, paper: Paper) -> Result<Picture, PlotError> {
    let m = &v.map;
    let (np, ng) = (m.powers.len(), m.grips.len());
    if np < 2 || ng < 2 || m.cells.len() != np * ng {
        return Err(PlotError::Empty { what: "the crossover map" });
    }
    let title = title(v);
    let subtitle = format!(
        "A: {}. B: {}. On {}, as set; figures: s a lap that B is quicker (+) or slower (−)",
        v.names[0], v.names[1], v.tracks
    );
    let header = Header::plan(&title, &subtitle, paper);
    let left = paper.margin() + paper.of(TICKS_LEFT + 10.0, 34.0);
    let half = |points: &[f64]| 0.5 * (points[points.len() - 1] - points[0]) / (points.len() - 1) as f64;
    let (hp, hg) = (half(&m.powers), half(&m.grips));
    let x = Axis { ticks: Vec::new(), ..Axis::over(m.powers[0] - hp, m.powers[np - 1] + hp, 8) };
    let y = Axis { ticks: Vec::new(), ..Axis::over(m.grips[0] - hg, m.grips[ng - 1] + hg, 8) };
    let frame = Frame {
        left,
        top: header.height + 26.0,
        width: paper.right() - paper.of(SIDE, 0.0) - left,
        height: paper.of(TALL[0], TALL[1]),
        x,
        y,
    };
    let height = frame.bottom() + TICKS_BELOW + 26.0 + paper.of(24.0, FOOT);
    let mut canvas = Canvas::new("crossover", paper.width, height);
    header.draw(&mut canvas);
    let range = Range::of(v);
    let most = range.full_s;
    cells(&mut canvas, v, &frame, (hp, hg), most);
    canvas.part("line", |canvas| {
        for piece in zero_line(&m.powers, &m.grips, &m.cells) {
            let points = piece.map(|(p, g)| (frame.px(p), frame.py(g)));
            canvas.line(&points, stroke(PAPER, 5.0));
        }
        for piece in zero_line(&m.powers, &m.grips, &m.cells) {
            let points = piece.map(|(p, g)| (frame.px(p), frame.py(g)));
            canvas.line(&points, stroke(INK, 2.4));
        }
    });
    let labels = labels(v, &frame);
    figures(&mut canvas, v, &frame, (hp, hg), most, &labels);
    axes(&mut canvas, v, &frame);
    places(&mut canvas, v, &frame, &labels);
    key(&mut canvas, &frame, &range, paper);
    let alt = format!("{title}. Map over power and grip of which of two cars is quicker: {}.", own(v).join("; "));
    canvas.finish(&title, &alt)
}

fn title(v: &Answer) -> String {
    match &v.map.over_grip[..] {
        [] => v.days.first().map_or_else(
            || "Which is quicker, over power and grip".to_owned(),
            |d| {
                let gain = d.found.as_set.gain.gain;
                if gain.abs() <= d.found.as_set.error_s {
                    return "No difference that can be resolved between A and B".to_owned();
                }
                format!(
                    "With the engines as they are, {} is quicker at every grip shown",
                    LETTERS[usize::from(gain > 0.0)]
                )
            },
        ),
        [c, ..] => {
            let [below, above] = if c.second_above { ["A", "B"] } else { ["B", "A"] };
            format!(
                "With the engines as they are, {below} is quicker below a grip of {}, {above} above",
                fixed(c.at, 2)
            )
        }
    }
}

/// What full colour stands for, and how far beyond it the map goes, s.
struct Range {
    full_s: f64,
    most_s: f64,
}

impl Range {
    fn of(v: &Answer) -> Range {
        let mut all: Vec<f64> = v.map.cells.iter().filter_map(Cell::gain_s).map(f64::abs).collect();
        all.sort_by(f64::total_cmp);
        let most_s = all.last().copied().unwrap_or(0.0).max(1e-9);
        let within = all.get((SHARE * all.len() as f64) as usize).copied().unwrap_or(most_s);
        let days = v.days.iter().map(|d| 1.5 * d.found.as_set.gain.gain.abs()).fold(0.0, f64::max);
        Range { full_s: within.max(days).clamp(1e-9, most_s), most_s }
    }

    fn words(&self) -> String {
        let full = format!("full colour: {} s", fixed(self.full_s, 2));
        if self.most_s > 1.2 * self.full_s {
            format!("{full} and more, up to {} s", fixed(self.most_s, if self.most_s < 10.0 { 1 } else { 0 }))
        } else {
            full
        }
    }
}

/// `dry: B quicker by 0.91 s`, day by day.
fn own(v: &Answer) -> Vec<String> {
    let day = |day: &Day| {
        let gain = day.found.as_set.gain.gain;
        if gain.abs() <= day.found.as_set.error_s {
            return format!("{}: alike", day.name);
        }
        let digits = if gain.abs() < 0.1 { 3 } else { 2 };
        format!("{}: {} quicker by {} s", day.name, LETTERS[usize::from(gain > 0.0)], fixed(gain.abs(), digits))
    };
    v.days.iter().map(day).collect()
}

/// The side's colour, the fuller the more it gains.
fn shade(gain: f64, most: f64) -> Colour {
    let share = (gain.abs() / most).sqrt().clamp(0.0, 1.0);
    PAPER.mix(SERIES[usize::from(gain > 0.0)], 0.06 + 0.44 * share)
}

/// Width and height of a cell, px.
fn size(frame: &Frame, (hp, hg): (f64, f64)) -> (f64, f64) {
    (frame.px(2.0 * hp) - frame.px(0.0), frame.py(0.0) - frame.py(2.0 * hg))
}

fn cells(canvas: &mut Canvas, v: &Answer, frame: &Frame, half: (f64, f64), most: f64) {
    let (w, h) = size(frame, half);
    canvas.part("cells", |canvas| {
        for cell in &v.map.cells {
            let at = (frame.px(cell.power - half.0), frame.py(cell.grip + half.1));
            let fill = cell.gain_s().map_or(BAND, |gain| shade(gain, most));
            // A hair over, so that no gap shows between cells.
            canvas.rect(at, (w + 0.3, h + 0.3), fill);
        }
    });
}

/// A day's own value beside the cars' place, px.
struct DayLabel {
    words: String,
    at: Point,
    wide: f64,
}

impl DayLabel {
    /// Would a figure of this half width, centred there, lie under it?
    fn covers(&self, (x, y): Point, half: f64) -> bool {
        x + half > self.at.0 - 3.0 && x - half < self.at.0 + self.wide + 3.0 && (y - self.at.1 + 4.0).abs() < LABEL
    }
}

/// Right of each day's cross, above it where the frame ends, and one over the other where days lie close.
fn labels(v: &Answer, frame: &Frame) -> Vec<Option<DayLabel>> {
    let mut all: Vec<Option<DayLabel>> = Vec::new();
    for (day, words) in v.days.iter().zip(own(v)) {
        let [sp, sg] = day.place_sd.map(|sd| NINETY * sd);
        let centre = (frame.px(1.0), frame.py(day.grip));
        if !(frame.left..=frame.right()).contains(&centre.0) || !(frame.top..=frame.bottom()).contains(&centre.1) {
            all.push(None);
            continue;
        }
        let wide = Face::Semibold.width(&words, LABEL);
        let beside = frame.px(1.0 + sp).clamp(centre.0 + 5.0, frame.right()) + 6.0;
        let above = frame.py(day.grip * (1.0 + sg)).max(frame.top + 14.0) - 8.0;
        let mut at = if beside + wide < frame.right() - 2.0 {
            (beside, centre.1 + centred(LABEL))
        } else {
            ((frame.right() - 4.0 - wide).min(centre.0 - 0.5 * wide).max(frame.left + 2.0), above)
        };
        while all
            .iter()
            .flatten()
            .any(|l| (l.at.1 - at.1).abs() < LABEL + 3.0 && l.at.0 < at.0 + wide && at.0 < l.at.0 + l.wide)
        {
            at.1 += LABEL + 3.0;
        }
        all.push(Some(DayLabel { words, at, wide }));
    }
    all
}

/// What B gains in each cell, where there is room and no car stands.
fn figures(canvas: &mut Canvas, v: &Answer, frame: &Frame, half: (f64, f64), most: f64, labels: &[Option<DayLabel>]) {
    let (w, h) = size(frame, half);
    if w < FIGURES.0 || h < FIGURES.1 {
        return;
    }
    canvas.part("figures", |canvas| {
        for cell in &v.map.cells {
            let middle = (frame.px(cell.power), frame.py(cell.grip));
            let taken = |day: &Day| {
                (frame.px(1.0) - middle.0).abs() < 0.5 * w && (frame.py(day.grip) - middle.1).abs() < 0.6 * h
            };
            let own = 0.5 * Face::Regular.width("−13.00", SMALL) + 2.0;
            let under = |l: &DayLabel| l.covers(middle, own);
            if v.days.iter().any(taken) || labels.iter().flatten().any(under) {
                continue;
            }
            let words = match cell.gain_s() {
                Some(gain) => signed(&fixed(gain, if most < 0.1 { 3 } else { 2 })).replace('-', "−"),
                None => "no lap".into(),
            };
            let at = (middle.0, middle.1 + centred(SMALL));
            // Near the line, which may run behind it.
            let halo = cell.gain_s().is_some_and(|gain| gain.abs() < 0.2 * most);
            canvas.text(Text { anchor: Anchor::Middle, colour: INK, halo, ..small(&words, at) });
        }
    });
}

fn axes(canvas: &mut Canvas, v: &Answer, frame: &Frame) {
    canvas.part("axes", |canvas| {
        let every = |n: usize| n.div_ceil(14);
        let across = ((40.0 * v.map.powers.len() as f64 / frame.width).ceil() as usize).max(1);
        for &p in v.map.powers.iter().step_by(across.max(every(v.map.powers.len()))) {
            let at = (frame.px(p), frame.bottom() + 15.0);
            canvas.text(Text { anchor: Anchor::Middle, ..small(&percent(p), at) });
        }
        for &g in v.map.grips.iter().step_by(every(v.map.grips.len())) {
            let at = (frame.left - 7.0, frame.py(g) + centred(SMALL));
            canvas.text(Text { anchor: Anchor::End, ..small(&fixed(g, 2), at) });
        }
        canvas.text(small(
            "torque of both engines, of what they have →",
            (frame.left, frame.bottom() + TICKS_BELOW + 14.0),
        ));
        canvas.text(Text { anchor: Anchor::End, ..small("grip", (frame.left - 7.0, frame.top - 8.0)) });
    });
}

/// Where the cars are, with the 90 % of power and grip that their files leave open: a cross, and an ellipse where both
/// are.
fn places(canvas: &mut Canvas, v: &Answer, frame: &Frame, labels: &[Option<DayLabel>]) {
    canvas.part("places", |canvas| {
        for (day, label) in v.days.iter().zip(labels) {
            let [sp, sg] = day.place_sd.map(|sd| NINETY * sd);
            let clamp = |(x, y): Point| (x.clamp(frame.left, frame.right()), y.clamp(frame.top, frame.bottom()));
            let at = |p: f64, g: f64| clamp((frame.px(1.0 + p), frame.py(day.grip * (1.0 + g))));
            let centre = (frame.px(1.0), frame.py(day.grip));
            if centre != clamp(centre) {
                continue;
            }
            let arms = [[at(-sp, 0.0), at(sp, 0.0)], [at(0.0, -sg), at(0.0, sg)]];
            for (colour, width) in [(PAPER, 4.6), (INK, 1.8)] {
                for arm in &arms {
                    canvas.line(arm, stroke(colour, width));
                }
                if sp > 0.0 && sg > 0.0 {
                    let turn = (0..64).map(|i| (f64::from(i) * std::f64::consts::TAU / 64.0).sin_cos());
                    let ring: Vec<Point> = turn.map(|(s, c)| at(sp * c, sg * s)).collect();
                    canvas.ring(&ring, stroke(colour, width));
                }
            }
            canvas.disc(centre, 5.2, PAPER);
            canvas.disc(centre, 3.6, INK);
            if let Some(DayLabel { words, at, .. }) = label {
                canvas.text(Text { face: Face::Semibold, halo: true, ..crate::draw::svg::label(words, *at) });
            }
        }
    });
}

fn key(canvas: &mut Canvas, frame: &Frame, range: &Range, paper: Paper) {
    let left = paper.of(frame.right() + 18.0, frame.left);
    let mut top = paper.of(frame.top + 4.0, frame.bottom() + TICKS_BELOW + 26.0);
    canvas.part("key", |canvas| {
        for (letter, series) in LETTERS.iter().zip(SERIES) {
            canvas.rect((left, top), (16.0, 12.0), PAPER.mix(series, 0.40));
            canvas.text(label(&format!("{letter} is quicker"), (left + 24.0, top + 10.5)));
            top += 22.0;
        }
        canvas.line(&[(left, top + 6.0), (left + 16.0, top + 6.0)], stroke(INK, 2.4));
        canvas.text(label("as quick", (left + 24.0, top + 6.0 + centred(LABEL))));
        top += 22.0;
        canvas.disc((left + 8.0, top + 6.0), 3.6, INK);
        canvas.text(label("the cars on a day", (left + 24.0, top + 6.0 + centred(LABEL))));
        top += 8.0;
        let words = format!("arms: the 90 % that the ± of engine and grip leave; {}", range.words());
        canvas.notes(&words, (left, top + 24.0), paper.right() - left);
    });
}

/// Where B gains nothing: pieces of a line, straight within each square of the map (linear along its edges).
fn zero_line(powers: &[f64], grips: &[f64], cells: &[Cell]) -> Vec<[(f64, f64); 2]> {
    let gain = |i: usize, j: usize| cells[i * grips.len() + j].gain_s();
    let mut out = Vec::new();
    for i in 0..powers.len() - 1 {
        for j in 0..grips.len() - 1 {
            let corners = [(i, j), (i + 1, j), (i + 1, j + 1), (i, j + 1)];
            let Some(values) = corners.iter().map(|&(i, j)| gain(i, j)).collect::<Option<Vec<f64>>>() else { continue };
            let cuts: Vec<(f64, f64)> = (0..4)
                .filter_map(|k| {
                    let (a, b) = (values[k], values[(k + 1) % 4]);
                    if (a > 0.0) == (b > 0.0) {
                        return None;
                    }
                    let w = a / (a - b);
                    let place = |(i, j): (usize, usize)| (powers[i], grips[j]);
                    let (p, q) = (place(corners[k]), place(corners[(k + 1) % 4]));
                    Some((p.0 + w * (q.0 - p.0), p.1 + w * (q.1 - p.1)))
                })
                .collect();
            // Two edges are cut, or all four at a saddle: then as pairs round the square.
            out.extend(cuts.chunks_exact(2).map(|pair| [pair[0], pair[1]]));
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Gain g − p: the line p = g, straight through all squares.
    #[test]
    fn closed_form_the_zero_line_is_where_the_gain_is_zero() {
        let (powers, grips) = ([0.8, 1.0, 1.2], [0.7, 0.9, 1.1, 1.3]);
        let cell = |p: f64, g: f64| Cell { power: p, grip: g, times_s: [Some(60.0 + g - p), Some(60.0)] };
        let cells: Vec<Cell> = powers.iter().flat_map(|&p| grips.iter().map(move |&g| cell(p, g))).collect();
        let line = zero_line(&powers, &grips, &cells);
        assert!(!line.is_empty() && line.iter().flatten().all(|(p, g)| (p - g).abs() < 1e-9), "{line:?}");
        let mut holes = cells;
        holes.iter_mut().for_each(|c| c.times_s[0] = None);
        assert!(zero_line(&powers, &grips, &holes).is_empty());
    }
}
