//! The diary's picture: of intervals that claim so much, how many held.

use unladen_questions::trial::diary::Answer;

use crate::draw::frame::{Frame, Series, TICKS_BELOW, TICKS_LEFT};
use crate::draw::header::Header;
use crate::draw::look::{ACCENT, INK_SOFT, MARGIN, Paper, RULE, WIDTH, stroke};
use crate::draw::measure::ticks::Axis;
use crate::draw::picture::{Picture, PlotError};
use crate::draw::svg::{Canvas, small};
use crate::trial::diary_text::verdict;

const SIDE: f64 = 420.0;

/// Draws it.
///
/// # Errors
/// [`PlotError::Empty`] where nothing was read yet.
pub fn reliability(v: &Answer) -> Result<Picture, PlotError> {
    let Some(d) = &v.diary else { return Err(PlotError::Empty { what: "the list of trials that were read" }) };
    let words = verdict(v);
    let title = words.split([':', '.']).next().unwrap_or(&words).to_owned();
    let header = Header::plan(
        &title,
        "Of the intervals that claim this share, how many held; on the line they say what they know",
        Paper::FILE,
    );
    let percent = || Axis::over(0.0, 100.0, 10);
    let frame = Frame {
        left: MARGIN + TICKS_LEFT + 10.0,
        top: header.height + 34.0,
        width: 1.6 * SIDE,
        height: SIDE,
        x: percent(),
        y: percent(),
    };
    let mut canvas = Canvas::new("diary", WIDTH, frame.bottom() + TICKS_BELOW + 26.0 + MARGIN);
    header.draw(&mut canvas);
    frame.draw_grid(&mut canvas, true)?;
    canvas.line(&[(frame.px(0.0), frame.py(0.0)), (frame.px(100.0), frame.py(100.0))], stroke(RULE, 1.4));
    let points: Vec<(f64, f64)> =
        [(0.0, 0.0)].into_iter().chain(d.reliability.iter().map(|(a, b)| (100.0 * a, 100.0 * b))).collect();
    for &(x, y) in &points[1..] {
        canvas.disc((frame.px(x), frame.py(y)), 4.0, ACCENT);
    }
    frame.draw_series(&mut canvas, &[Series { points, stroke: stroke(ACCENT, 2.0), fill: 0.0 }])?;
    canvas.text(small("held, %", (frame.left, frame.top - 8.0)));
    canvas.text(crate::draw::svg::Text {
        colour: INK_SOFT,
        ..small("claimed, %", (frame.left, frame.bottom() + TICKS_BELOW + 16.0))
    });
    canvas.finish(&title, &format!("Share of intervals that held against the share that they claim. {words}"))
}
