//! Gains as bars, each with its 90 % interval, most gained first.

use unladen_questions::rank::Answer;
use unladen_study::rank::ranked::Ranked;

use crate::draw::font::Face;
use crate::draw::header::{Header, sentence};
use crate::draw::look::{ACCENT, GRID, INK, INK_SOFT, LABEL, MARGIN, RULE, SERIES, SMALL, TITLE, WIDTH, stroke};
use crate::draw::picture::{Picture, PlotError};
use crate::draw::svg::{Anchor, Canvas, Text, centred, label, small};
use crate::draw::ticks::Axis;
use crate::rank::brief::tuned;
use crate::rank::text::{place, title};
use crate::words::number::{fixed, signed};
use crate::words::verdict::ranked as counted;

const ROW: f64 = 25.0;
const BAR: f64 = 13.0;
const WHISKER: f64 = 5.0;
const NAMES: f64 = 330.0;
const PLACES: f64 = 40.0;
const FIGURES: f64 = 64.0;
/// More rows than this are not drawn.
const MOST: usize = 60;

/// Draws it.
pub fn rank_picture(v: &Answer) -> Result<Picture, PlotError> {
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
    let header = Header::plan(&finding, &subtitle, WIDTH);
    let name = |i: &Ranked| Face::Regular.fit(&title(i, &v.entries), LABEL, NAMES);
    let wide = all.iter().map(|i| Face::Regular.width(&name(i), LABEL)).fold(0.0, f64::max);
    let left = MARGIN + PLACES + wide + 10.0;
    let right = WIDTH - MARGIN - FIGURES;
    let ends = || {
        all.iter().flat_map(|i| {
            let c = counted(i);
            c.interval.into_iter().flatten().chain([c.quicker_s])
        })
    };
    let axis = Axis::round(ends().fold(0.0, f64::min), ends().fold(0.0, f64::max), 6);
    let px = |s: f64| left + (right - left) * axis.share(s);
    let top = header.height + 40.0;
    let bottom = top + ROW * all.len() as f64;
    let mut canvas = Canvas::new("rank", WIDTH, bottom + MARGIN);
    header.draw(&mut canvas);
    canvas.part("axis", |canvas| {
        for &tick in &axis.ticks {
            let colour = if tick == 0.0 { RULE } else { GRID };
            canvas.line(&[(px(tick), top - 4.0), (px(tick), bottom)], stroke(colour, 1.0));
            canvas.text(Text { anchor: Anchor::Middle, ..small(&axis.label(tick), (px(tick), top - 10.0)) });
        }
        canvas.text(Text { anchor: Anchor::End, ..small("s a lap", (right + FIGURES, top - 10.0)) });
        canvas.text(small("place", (MARGIN, top - 10.0)));
    });
    canvas.part("bars", |canvas| {
        for (k, i) in all.iter().enumerate() {
            let y = top + ROW * (k as f64 + 0.5);
            let base = y + centred(LABEL);
            let for_scale = i.places.is_none();
            canvas.text(Text { size: SMALL, colour: INK_SOFT, ..label(&place(i.places), (MARGIN, base)) });
            let ink = if for_scale { INK_SOFT } else { INK };
            canvas.text(Text { anchor: Anchor::End, colour: ink, ..label(&name(i), (left - 8.0, base)) });
            // A bar's least length would hide what is no number.
            let change = counted(i);
            canvas.note(change.quicker_s);
            let (from, to) = (px(0.0), px(change.quicker_s));
            let colour = match (for_scale, change.quicker_s >= 0.0) {
                (true, _) => RULE,
                (false, true) => SERIES[0],
                (false, false) => ACCENT,
            };
            canvas.rect((from.min(to), y - 0.5 * BAR), ((to - from).abs().max(1.0), BAR), colour);
            let [low, high] = change.interval.unwrap_or([change.quicker_s; 2]).map(px);
            if high - low > 1.0 {
                for ink in [stroke(crate::draw::look::PAPER, 3.4), stroke(INK, 1.3)] {
                    canvas.line(&[(low, y), (high, y)], ink);
                    for x in [low, high] {
                        canvas.line(&[(x, y - WHISKER), (x, y + WHISKER)], ink);
                    }
                }
            }
            let figure = signed(&fixed(change.quicker_s, 3)).replace('-', "−");
            canvas.text(Text { anchor: Anchor::End, colour: ink, ..label(&figure, (right + FIGURES, base)) });
        }
    });
    let alt = format!("Bars: what each planned change of {} gains in lap time, with 90 % intervals. {finding}.", v.car);
    canvas.finish(&finding, &alt)
}
