//! The error budget of a weighing: one bar a cause, and what would help.

use unladen_questions::weigh::Answer;

use crate::draw::header::Header;
use crate::draw::look::{ACCENT, GRID, INK_SOFT, LABEL, MARGIN, Paper, SERIES, SMALL, WIDTH, stroke};
use crate::draw::measure::font::Face;
use crate::draw::picture::{Picture, PlotError};
use crate::draw::svg::{Anchor, Canvas, Text, centred, label, small};
use crate::weigh::text::cause_words;
use crate::words::aboard::aboard;
use crate::words::number::{fixed, percent};

const ROW: f64 = 26.0;
const BAR: f64 = 15.0;

/// Draws it: shares of the variance of the height (without a lift: of x).
pub fn weigh_picture(v: &Answer) -> Result<Picture, PlotError> {
    let lifted = v.found.height.is_some();
    let (unknown, what) = if lifted { (3, "the CG's height") } else { (1, "the CG behind the front axle") };
    let mut causes: Vec<(&str, f64)> = v.found.budget.iter().map(|(c, s)| (cause_words(*c), s[unknown])).collect();
    causes.retain(|c| c.1 > 0.0);
    causes.sort_by(|a, b| b.1.total_cmp(&a.1));
    let Some(largest) = causes.first().copied() else { return Err(PlotError::Empty { what: "the error budget" }) };
    let now = v.found.height.map_or(v.found.x.sd, |h| h.sd) * 1e3;
    let plain = now / v.found.widened;
    let helps: Vec<(&str, f64)> =
        v.better.iter().map(|b| (b.what.as_str(), b.sd * 1e3)).filter(|b| b.1 < 0.99 * plain).take(6).collect();
    let title = match helps.first() {
        Some((first, sd)) => {
            format!(
                "{what} is known to ± {} mm (one standard deviation); {first} would make it {}",
                fixed(now, 1),
                fixed(*sd, 1)
            )
        }
        None => {
            format!("{what} is known to ± {} mm (one standard deviation), most of it from {}", fixed(now, 1), largest.0)
        }
    };
    let title = crate::draw::header::sentence(&title);
    let subtitle = format!(
        "{}, with {} aboard: parts of the variance, and the standard deviation with one thing better",
        v.name,
        aboard(v.aboard)
    );
    let header = Header::plan(&title, &subtitle, Paper::FILE);
    let names = causes.iter().map(|c| c.0).chain(helps.iter().map(|h| h.0));
    let wide = names.map(|n| Face::Regular.width(n, LABEL)).fold(0.0, f64::max).min(440.0);
    let left = MARGIN + wide + 12.0;
    let width = WIDTH - MARGIN - 70.0 - left;
    let mut top = header.height + 34.0;
    let height = top + ROW * (causes.len() + helps.len()) as f64 + if helps.is_empty() { 0.0 } else { 44.0 } + MARGIN;
    let mut canvas = Canvas::new("weigh", WIDTH, height);
    header.draw(&mut canvas);
    let bars = |canvas: &mut Canvas,
                head: &str,
                top: f64,
                rows: &[(&str, f64)],
                most: f64,
                colour,
                text: &dyn Fn(f64) -> String| {
        canvas.text(Text { colour: INK_SOFT, ..small(head, (left, top - 8.0)) });
        canvas.line(&[(left, top), (left, top + ROW * rows.len() as f64)], stroke(GRID, 1.0));
        for (i, (name, value)) in rows.iter().enumerate() {
            let y = top + ROW * (i as f64 + 0.5);
            let name = Face::Regular.fit(name, LABEL, 440.0);
            canvas.text(Text { anchor: Anchor::End, ..label(&name, (left - 8.0, y + centred(LABEL))) });
            let long = (width * value / most).max(1.0);
            canvas.rect((left, y - 0.5 * BAR), (long, BAR), colour);
            // Clear of the line at the end of the longest.
            let end = if long > 0.9 * width && long < width { width } else { long };
            canvas.text(label(&text(*value), (left + end + 6.0, y + centred(LABEL))));
        }
    };
    canvas.part("causes", |canvas| {
        bars(canvas, "part of the variance", top, &causes, largest.1, SERIES[0], &percent);
    });
    if !helps.is_empty() {
        top += ROW * causes.len() as f64 + 44.0;
        canvas.part("helps", |canvas| {
            bars(
                canvas,
                "± mm, one standard deviation, with one thing better; the line is now",
                top,
                &helps,
                plain,
                ACCENT,
                &|sd| fixed(sd, 1),
            );
            let x = left + width;
            canvas.line(&[(x, top), (x, top + ROW * helps.len() as f64)], stroke(INK_SOFT, 1.2));
            canvas.text(Text { anchor: Anchor::Middle, size: SMALL, ..small(&fixed(plain, 1), (x, top - 6.0)) });
        });
    }
    canvas.finish(
        &title,
        &format!("Bars: where the uncertainty of {what} comes from, and what would lessen it. {title}."),
    )
}
