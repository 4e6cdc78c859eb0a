//! The shades of speed on a map, the key to them, and the map's scale.

use crate::draw::colour::Colour;
use crate::draw::look::{INK, Paper, RULE, SMALL, speed_colour, stroke};
use crate::draw::measure::ticks::{Axis, nice_length};
use crate::draw::svg::{Anchor, Canvas, Point, Text, centred, small};

/// How many.
const COUNT: usize = 24;
/// Width of a key, px.
pub const KEY: f64 = 264.0;
const BAR: f64 = 9.0;
/// The longest scale bar, px.
const SCALE: f64 = 170.0;

/// A lap's speeds in steps of colour.
#[derive(Clone, Debug)]
pub struct Shades {
    range: Axis,
}

impl Shades {
    /// From the slowest to the fastest, km/h.
    pub fn over(low_kmh: f64, top_kmh: f64) -> Shades {
        Shades { range: Axis::over(low_kmh, top_kmh, 4) }
    }

    /// The shade of a speed, km/h.
    pub fn of(&self, kmh: f64) -> usize {
        ((self.range.share(kmh).clamp(0.0, 1.0) * COUNT as f64) as usize).min(COUNT - 1)
    }

    /// The colour of a shade.
    pub fn colour(&self, shade: usize) -> Colour {
        speed_colour(shade as f64 / (COUNT - 1) as f64)
    }

    /// Draws the key at the left margin with its words beside it, or beneath.
    pub fn draw_key(&self, canvas: &mut Canvas, top: f64, words: &str, paper: Paper) {
        let left = paper.margin();
        canvas.part("key", |canvas| {
            let step = KEY / COUNT as f64;
            for i in 0..COUNT {
                // Under the next one, so that no line of paper shines through.
                let under = if i + 1 < COUNT { 0.5 } else { 0.0 };
                canvas.rect((left + i as f64 * step, top), (step + under, BAR), self.colour(i));
            }
            let base = top + BAR + 13.0;
            for tick in &self.range.ticks {
                let x = left + KEY * self.range.share(*tick);
                canvas.line(&[(x, top + BAR), (x, top + BAR + 3.0)], stroke(RULE, 0.9));
                canvas.text(Text { anchor: Anchor::Middle, ..small(&self.range.label(*tick), (x, base)) });
            }
            explain(canvas, words, (left, top + 8.0), top + 42.0, paper);
        });
    }
}

/// Words right of a key, or beneath it.
pub fn explain(canvas: &mut Canvas, words: &str, (left, base): Point, beneath: f64, paper: Paper) {
    if paper.narrow() {
        canvas.notes(words, (left, beneath), paper.right() - left);
    } else {
        canvas.text(small(words, (left + KEY + 14.0, base)));
    }
}

/// Draws a bar of a round length at the right margin, on a narrow sheet above that height.
pub fn draw_scale(canvas: &mut Canvas, px_per_m: f64, top: f64, paper: Paper) {
    canvas.part("scale", |canvas| {
        let metres = nice_length(paper.of(SCALE, 90.0) / px_per_m);
        let (right, width) = (paper.right(), metres * px_per_m);
        let (y, left) = (top + paper.of(5.0, -18.0), right - width);
        for x in [left, right] {
            canvas.line(&[(x, y - 4.0), (x, y + 4.0)], stroke(INK, 1.2));
        }
        canvas.line(&[(left, y), (right, y)], stroke(INK, 1.2));
        let words = if metres < 1000.0 { format!("{metres} m") } else { format!("{} km", metres / 1000.0) };
        canvas.text(Text { anchor: Anchor::End, ..small(&words, (left - 8.0, y + centred(SMALL))) });
    });
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn property_shades_cover_the_range_and_no_more() {
        let shades = Shades::over(60.0, 205.0);
        let ends = [60.0, 205.0, -5.0, 900.0, f64::NAN].map(|v| shades.of(v));
        assert_eq!(ends, [0, COUNT - 1, 0, COUNT - 1, 0]);
        assert!((0..COUNT - 1).all(|i| shades.colour(i).luminance() < shades.colour(i + 1).luminance()));
        assert_eq!(Shades::over(90.0, 90.0).of(90.0), COUNT / 2);
    }

    #[test]
    fn closed_form_a_scale_bar_is_round_and_as_long_as_it_says() {
        let mut canvas = Canvas::new("k", Paper::FILE.width, 50.0);
        draw_scale(&mut canvas, 0.6, 10.0, Paper::FILE);
        let svg = canvas.finish("t", "a").unwrap().svg;
        // 200 m at 0.6 px/m, ending at the margin.
        assert!(svg.contains("M856 15l120 0\"") && svg.contains(">200 m</text>"), "{svg}");
    }
}
