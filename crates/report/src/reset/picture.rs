//! Adhesion that each axle asks for against braking rate, before and after.

use unladen_questions::reset::Answer;
use unladen_vehicle::adhesion::{FRONT_ABOVE_REAR, Stance};

use crate::draw::frame::{Frame, Series, TICKS_LEFT};
use crate::draw::header::Header;
use crate::draw::labels::spread;
use crate::draw::look::{ACCENT, BAND, GRID, INK_SOFT, LABEL, MARGIN, Paper, SERIES, SMALL, WIDTH, stroke};
use crate::draw::picture::{Picture, PlotError};
use crate::draw::svg::{Anchor, Canvas, Text, centred, label, small};
use crate::draw::ticks::Axis;
use crate::reset::text::unsafe_rear;
use crate::words::aboard::aboard;

const PLOT_HEIGHT: f64 = 380.0;
const END_LABEL: f64 = 190.0;
/// Braking rates that are drawn, g.
const MOST: f64 = 1.1;
const POINTS: usize = 110;

/// Draws it.
pub fn reset_picture(v: &Answer) -> Result<Picture, PlotError> {
    let (Some(first), Some(last)) = (v.stages.first(), v.stages.last()) else {
        return Err(PlotError::Empty { what: "the list of stages" });
    };
    let bad: Vec<&str> = v.stages.iter().filter(|s| unsafe_rear(s)).map(|s| s.name).collect();
    let title = match bad[..] {
        [] => "The front axle locks first in every stage, dry and wet".to_owned(),
        _ => format!("The REAR axle locks first: {}", bad.join(", ")),
    };
    let subtitle = format!(
        "{} with {} aboard, by pedal alone: adhesion that each axle asks for, {} (thin) and {} (thick)",
        v.car,
        aboard(v.aboard),
        first.name,
        last.name
    );
    let header = Header::plan(&title, &subtitle, Paper::FILE);
    let (left, top) = (MARGIN + TICKS_LEFT, header.height + 26.0);
    let right = WIDTH - MARGIN - END_LABEL;
    let most = 1.4;
    let frame = Frame {
        left,
        top,
        width: right - left,
        height: PLOT_HEIGHT,
        x: Axis::over(0.0, MOST, 6),
        y: Axis::over(0.0, most, 7),
    };
    let mut canvas = Canvas::new("reset", WIDTH, frame.bottom() + 46.0 + MARGIN);
    header.draw(&mut canvas);
    let (from, to) = (frame.px(FRONT_ABOVE_REAR.0), frame.px(FRONT_ABOVE_REAR.1));
    canvas.rect((from, top), (to - from, PLOT_HEIGHT), BAND);
    frame.draw_grid(&mut canvas, true)?;
    canvas.text(Text { halo: true, ..small("front must ask for more than rear here", (from + 5.0, top + 14.0)) });
    canvas.text(Text { colour: INK_SOFT, ..small("adhesion asked for, 1", (left - 30.0, top - 8.0)) });
    canvas.text(Text {
        anchor: Anchor::Middle,
        ..small("braking rate, g", (0.5 * (left + right), frame.bottom() + 36.0))
    });
    let even = Series { points: vec![(0.0, 0.0), (MOST, MOST)], stroke: stroke(GRID, 1.4), fill: 0.0 };
    let mut series = vec![even];
    let mut ends = Vec::new();
    for (stage, width) in [(first, 1.3), (last, 2.6)] {
        let stance = Stance::new(stage.mass, stage.x, stage.risen, v.wheelbase_m);
        for (axle, colour) in [(0, SERIES[0]), (1, ACCENT)] {
            let points: Vec<(f64, f64)> = (0..=POINTS)
                .map(|i| MOST * i as f64 / POINTS as f64)
                .map(|z| (z, stance.utilisation(&v.brakes, z)[axle]))
                .take_while(|p| p.1 <= most)
                .collect();
            if let Some(end) = points.last() {
                let name = if axle == 0 { "front" } else { "rear" };
                ends.push((format!("{name}, {}", stage.name), *end, colour));
            }
            series.push(Series { points, stroke: stroke(colour, width), fill: 0.0 });
        }
        if std::ptr::eq(first, last) {
            break;
        }
    }
    frame.draw_series(&mut canvas, &series)?;
    let wanted: Vec<f64> = ends.iter().map(|e| frame.py(e.1.1)).collect();
    let ys = spread(&wanted, LABEL + 4.0, top + 6.0, frame.bottom() - 4.0);
    canvas.part("ends", |canvas| {
        for ((words, end, colour), y) in ends.iter().zip(ys) {
            let x = frame.px(end.0);
            canvas.disc((x, frame.py(end.1)), 2.6, *colour);
            canvas.line(&[(x + 3.0, frame.py(end.1)), (right + 10.0, y)], stroke(GRID, 1.0));
            canvas.text(label(words, (right + 14.0, y + centred(SMALL))));
        }
    });
    let alt = format!("Adhesion that the front and the rear axle of {} ask for against braking rate. {title}.", v.car);
    canvas.finish(&title, &alt)
}
