//! Gains as bars, each with its 90 % interval, most gained first; beneath, where a budget was asked for, the order to work in and
//! what is gained so far.

use unladen_questions::rank::Answer;
use unladen_study::rank::ranked::Ranked;

use crate::draw::header::{Header, sentence};
use crate::draw::look::{ACCENT, GRID, INK, INK_SOFT, LABEL, PAPER, Paper, RULE, SERIES, SMALL, TITLE, stroke};
use crate::draw::measure::font::Face;
use crate::draw::measure::ticks::Axis;
use crate::draw::picture::{Picture, PlotError};
use crate::draw::svg::{Anchor, Canvas, Text, centred, label, small};
use crate::rank::brief::tuned;
use crate::rank::text::{place, title};
use crate::words::number::{fixed, signed};
use crate::words::verdict::ranked as counted;

/// A row's height: beside its name, or beneath it.
const ROW: [f64; 2] = [25.0, 38.0];
const BAR: f64 = 13.0;
const WHISKER: f64 = 5.0;
/// Longest name beside a bar, px.
const NAMES: f64 = 330.0;
const PLACES: f64 = 40.0;
const FIGURES: f64 = 64.0;
/// More rows than this are not drawn.
const MOST: usize = 60;

/// Rows of bars over one axis.
struct Sheet {
    paper: Paper,
    axis: Axis,
    left: f64,
    right: f64,
    row: f64,
}

impl Sheet {
    fn px(&self, s: f64) -> f64 {
        self.left + (self.right - self.left) * self.axis.share(s)
    }

    /// Lines at the ticks, and their figures above.
    fn grid(&self, canvas: &mut Canvas, top: f64, bottom: f64) {
        for &tick in &self.axis.ticks {
            let (x, colour) = (self.px(tick), if tick == 0.0 { RULE } else { GRID });
            canvas.line(&[(x, top - 4.0), (x, bottom)], stroke(colour, 1.0));
            canvas.text(Text { anchor: Anchor::Middle, ..small(&self.axis.label(tick), (x, top - 10.0)) });
        }
    }

    /// Writes a row's number, name and figure; hands back the height of its bar's middle.
    fn words(
        &self,
        canvas: &mut Canvas,
        top: f64,
        [number, name, figure]: [&str; 3],
        ink: crate::draw::colour::Colour,
    ) -> f64 {
        let margin = self.paper.margin();
        let end = (self.paper.right(), top + 0.5 * self.row + centred(LABEL));
        if self.paper.narrow() {
            let room = self.paper.right() - margin - PLACES;
            let base = top + 13.0;
            canvas.text(Text { size: SMALL, colour: INK_SOFT, ..label(number, (margin, base)) });
            canvas.text(Text {
                colour: ink,
                halo: true,
                ..label(&Face::Regular.fit(name, LABEL, room), (margin + PLACES, base))
            });
            let middle = top + 26.0;
            canvas.text(Text {
                anchor: Anchor::End,
                colour: ink,
                halo: true,
                ..label(figure, (end.0, middle + centred(LABEL)))
            });
            return middle;
        }
        canvas.text(Text { size: SMALL, colour: INK_SOFT, ..label(number, (margin, end.1)) });
        let name = Face::Regular.fit(name, LABEL, NAMES);
        canvas.text(Text { anchor: Anchor::End, colour: ink, ..label(&name, (self.left - 8.0, end.1)) });
        canvas.text(Text { anchor: Anchor::End, colour: ink, ..label(figure, end) });
        top + 0.5 * self.row
    }
}

/// Draws it.
pub fn rank_picture(v: &Answer, paper: Paper) -> Result<Picture, PlotError> {
    let mut all: Vec<&Ranked> = v.found.items.iter().chain(&v.found.yardsticks).filter(|i| i.resolved()).collect();
    all.sort_by(|a, b| a.before(b));
    let count = all.len();
    all.truncate(MOST);
    if all.is_empty() {
        return Err(PlotError::Empty { what: "the list of changes with a difference that can be resolved" });
    }
    let ranked: Vec<&&Ranked> = all.iter().filter(|i| i.places.is_some()).collect();
    let finding = match ranked[..] {
        [] => "No planned change makes a difference that can be resolved".to_owned(),
        [first, ..] if first.gain.gain <= 0.0 => "No planned change gains lap time".to_owned(),
        [first, ..] => {
            let tied = ranked.iter().filter(|i| i.places.is_some_and(|p| p[0] == 1)).count();
            let name = Face::Semibold.fit(&sentence(&title(first, &v.entries)), TITLE, 380.0);
            let gain = fixed(counted(first).quicker_s, 3);
            match tied {
                1 => format!("{name} gains most, {gain} s a lap"),
                _ => format!("{name} gains {gain} s a lap; {tied} changes can't be told apart at the top"),
            }
        }
    };
    let tracks: Vec<&str> = v.found.tracks.iter().map(|t| t.0.as_str()).collect();
    let first = if count > MOST { format!("; the first {MOST} of {count}") } else { String::new() };
    let subtitle = format!(
        "{} on {}: seconds gained, {}; whiskers hold nine of ten chances; grey: for scale{first}",
        v.car,
        tracks.join(", "),
        if tuned(v) { "re-tuned before and after" } else { "nothing else changed" }
    );
    let header = Header::plan(&finding, &subtitle, paper);
    let steps = steps(v);
    let names: Vec<String> = all.iter().map(|i| title(i, &v.entries)).collect();
    let wide = names.iter().chain(steps.iter().map(|s| &s.name)).map(|n| Face::Regular.width(n, LABEL).min(NAMES));
    let left = paper.margin() + paper.of(PLACES + wide.fold(0.0, f64::max) + 10.0, 8.0);
    let right = paper.right() - paper.of(FIGURES, 58.0);
    let ends = || {
        let own = all.iter().flat_map(|i| {
            let c = counted(i);
            c.interval.into_iter().flatten().chain([c.quicker_s])
        });
        own.chain(steps.iter().map(|s| s.so_far_s))
    };
    let axis = Axis::round(ends().fold(0.0, f64::min), ends().fold(0.0, f64::max), paper.of(6, 4));
    let sheet = Sheet { paper, axis, left, right, row: paper.of(ROW[0], ROW[1]) };
    let top = header.height + 40.0;
    let bottom = top + sheet.row * all.len() as f64;
    let order = if steps.is_empty() { 0.0 } else { 62.0 + sheet.row * steps.len() as f64 };
    let mut canvas = Canvas::new("rank", paper.width, bottom + order + paper.of(24.0, 8.0));
    header.draw(&mut canvas);
    canvas.part("axis", |canvas| {
        sheet.grid(canvas, top, bottom);
        canvas
            .text(Text { anchor: Anchor::End, ..small("s a lap", (paper.right(), top - 10.0 - paper.of(0.0, 14.0))) });
        canvas.text(small("place", (paper.margin(), top - 10.0 - paper.of(0.0, 14.0))));
    });
    canvas.part("bars", |canvas| {
        for (k, (i, name)) in all.iter().zip(&names).enumerate() {
            let for_scale = i.places.is_none();
            let ink = if for_scale { INK_SOFT } else { INK };
            let change = counted(i);
            // A bar's least length would hide what is no number.
            canvas.note(change.quicker_s);
            let figure = signed(&fixed(change.quicker_s, 3)).replace('-', "−");
            let y = sheet.words(canvas, top + sheet.row * k as f64, [&place(i.places), name, &figure], ink);
            let (from, to) = (sheet.px(0.0), sheet.px(change.quicker_s));
            let colour = match (for_scale, change.quicker_s >= 0.0) {
                (true, _) => RULE,
                (false, true) => SERIES[0],
                (false, false) => ACCENT,
            };
            canvas.rect((from.min(to), y - 0.5 * BAR), ((to - from).abs().max(1.0), BAR), colour);
            let [low, high] = change.interval.unwrap_or([change.quicker_s; 2]).map(|s| sheet.px(s));
            if high - low > 1.0 {
                for ink in [stroke(PAPER, 3.4), stroke(INK, 1.3)] {
                    canvas.line(&[(low, y), (high, y)], ink);
                    for x in [low, high] {
                        canvas.line(&[(x, y - WHISKER), (x, y + WHISKER)], ink);
                    }
                }
            }
        }
    });
    draw_order(&mut canvas, &sheet, &steps, bottom + 62.0);
    let alt = format!("{finding}. Bars: what each planned change of {} gains in lap time, with 90 % intervals.", v.car);
    canvas.finish(&finding, &alt)
}

/// A step of the order to work in.
struct Step {
    /// Its number, or its month.
    when: String,
    name: String,
    gain_s: f64,
    so_far_s: f64,
}

fn steps(v: &Answer) -> Vec<Step> {
    let Some(picked) = &v.found.within_budget else { return Vec::new() };
    let step = |(k, s): (usize, &unladen_study::rank::best_set::Step)| Step {
        when: s.month.map_or_else(|| format!("{}.", k + 1), |month| format!("mo. {month}")),
        name: s.candidates.iter().map(|&c| v.candidates[c].as_str()).collect::<Vec<_>>().join(" with "),
        gain_s: s.gain_s,
        so_far_s: s.so_far_s,
    };
    picked.order.iter().take(MOST).enumerate().map(step).collect()
}

/// The best set's steps, each from what was gained before it.
fn draw_order(canvas: &mut Canvas, sheet: &Sheet, steps: &[Step], top: f64) {
    if steps.is_empty() {
        return;
    }
    canvas.part("order", |canvas| {
        let words = "The best set, what gains most for its money and hours first; s gained so far";
        let head = Face::Semibold.fit(words, LABEL, sheet.paper.right() - sheet.paper.margin());
        canvas.text(Text { face: Face::Semibold, ..label(&head, (sheet.paper.margin(), top - 30.0)) });
        sheet.grid(canvas, top, top + sheet.row * steps.len() as f64);
        for (k, step) in steps.iter().enumerate() {
            let figure = signed(&fixed(step.so_far_s, 3)).replace('-', "−");
            let y = sheet.words(canvas, top + sheet.row * k as f64, [&step.when, &step.name, &figure], INK);
            let (from, to) = (sheet.px(step.so_far_s - step.gain_s), sheet.px(step.so_far_s));
            let colour = if step.gain_s >= 0.0 { SERIES[0] } else { ACCENT };
            canvas.rect((from.min(to), y - 0.5 * BAR), ((to - from).abs().max(1.0), BAR), colour);
        }
    });
}
