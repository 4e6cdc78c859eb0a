//! Lets plotters draw on a [`Canvas`].
//!
//! Its own SVG output leaves text to the reader's fonts and puts every point on a whole pixel. Here a px has [`UNITS`]
//! steps, and text is laid out with the widths of the embedded typeface.

use std::convert::Infallible;

use plotters_backend::text_anchor::{HPos, VPos};
use plotters_backend::{
    BackendColor, BackendCoord, BackendStyle, BackendTextStyle, DrawingBackend, DrawingErrorKind, FontStyle,
    FontTransform,
};

use crate::draw::colour::Colour;
use crate::draw::look::stroke;
use crate::draw::measure::font::Face;
use crate::draw::svg::{Anchor, Canvas, Point, Text};

/// Steps a px.
pub const UNITS: f64 = 20.0;

type Drawn = Result<(), DrawingErrorKind<Infallible>>;

/// A canvas that plotters can draw on.
#[derive(Debug)]
pub struct Plane<'a>(pub &'a mut Canvas);

/// px in plotters' steps.
pub fn steps(px: f64) -> i32 {
    (px * UNITS).round() as i32
}

fn px(at: BackendCoord) -> Point {
    (f64::from(at.0) / UNITS, f64::from(at.1) / UNITS)
}

fn colour(c: BackendColor) -> Colour {
    Colour(c.rgb.0, c.rgb.1, c.rgb.2)
}

impl DrawingBackend for Plane<'_> {
    type ErrorType = Infallible;

    fn get_size(&self) -> (u32, u32) {
        let (w, h) = self.0.size();
        (steps(w).unsigned_abs(), steps(h).unsigned_abs())
    }

    fn ensure_prepared(&mut self) -> Drawn {
        Ok(())
    }

    fn present(&mut self) -> Drawn {
        Ok(())
    }

    fn draw_pixel(&mut self, at: BackendCoord, c: BackendColor) -> Drawn {
        if c.alpha > 0.0 {
            self.0.rect(px(at), (1.0 / UNITS, 1.0 / UNITS), colour(c));
        }
        Ok(())
    }

    fn draw_line<S: BackendStyle>(&mut self, from: BackendCoord, to: BackendCoord, style: &S) -> Drawn {
        self.draw_path([from, to], style)
    }

    fn draw_rect<S: BackendStyle>(&mut self, a: BackendCoord, b: BackendCoord, style: &S, fill: bool) -> Drawn {
        let corners = [a, (b.0, a.1), b, (a.0, b.1)];
        if fill { self.fill_polygon(corners, style) } else { self.draw_path(corners.into_iter().chain([a]), style) }
    }

    fn draw_path<S: BackendStyle, I: IntoIterator<Item = BackendCoord>>(&mut self, path: I, style: &S) -> Drawn {
        if style.color().alpha > 0.0 {
            let points: Vec<Point> = path.into_iter().map(px).collect();
            self.0.line(&points, stroke(colour(style.color()), f64::from(style.stroke_width()) / UNITS));
        }
        Ok(())
    }

    fn draw_circle<S: BackendStyle>(&mut self, at: BackendCoord, radius: u32, style: &S, fill: bool) -> Drawn {
        if style.color().alpha > 0.0 {
            let (centre, r) = (px(at), f64::from(radius) / UNITS);
            if fill {
                self.0.disc(centre, r, colour(style.color()));
            } else {
                let turn = (0..48).map(|i| (f64::from(i) * std::f64::consts::TAU / 48.0).sin_cos());
                let ring: Vec<Point> = turn.map(|(s, c)| (centre.0 + r * c, centre.1 + r * s)).collect();
                self.0.ring(&ring, stroke(colour(style.color()), f64::from(style.stroke_width()) / UNITS));
            }
        }
        Ok(())
    }

    fn fill_polygon<S: BackendStyle, I: IntoIterator<Item = BackendCoord>>(&mut self, vert: I, style: &S) -> Drawn {
        if style.color().alpha > 0.0 {
            let points: Vec<Point> = vert.into_iter().map(px).collect();
            self.0.fill(&points, colour(style.color()), style.color().alpha);
        }
        Ok(())
    }

    fn draw_text<T: BackendTextStyle>(&mut self, text: &str, style: &T, at: BackendCoord) -> Drawn {
        if style.color().alpha == 0.0 {
            return Ok(());
        }
        let (face, size) = (face_of(style), style.size() / UNITS);
        let anchor = match style.anchor().h_pos {
            HPos::Left => Anchor::Start,
            HPos::Center => Anchor::Middle,
            HPos::Right => Anchor::End,
        };
        // From the anchor's height down to the base line, in the text's own direction.
        let down = size
            * match style.anchor().v_pos {
                VPos::Top => ASCENT,
                VPos::Center => 0.33,
                VPos::Bottom => ASCENT - HEIGHT,
            };
        let (angle, shift) = match style.transform() {
            FontTransform::None => (0.0, (0.0, down)),
            FontTransform::Rotate90 => (90.0, (-down, 0.0)),
            FontTransform::Rotate180 => (180.0, (0.0, -down)),
            FontTransform::Rotate270 => (-90.0, (down, 0.0)),
        };
        let (x, y) = px(at);
        let at = (x + shift.0, y + shift.1);
        let colour = colour(style.color());
        self.0.text(Text { words: text, at, anchor, size, face, colour, angle, halo: false });
        Ok(())
    }

    fn estimate_text_size<T: BackendTextStyle>(
        &self,
        text: &str,
        style: &T,
    ) -> Result<(u32, u32), DrawingErrorKind<Infallible>> {
        let width = face_of(style).width(text, style.size());
        Ok((width.ceil() as u32, (HEIGHT * style.size()).ceil() as u32))
    }
}

/// Base line below the top of a text, in sizes.
const ASCENT: f64 = 0.75;
/// Height of a line of text, in sizes.
const HEIGHT: f64 = 0.95;

fn face_of<T: BackendTextStyle>(style: &T) -> Face {
    match style.style() {
        FontStyle::Bold => Face::Semibold,
        FontStyle::Normal | FontStyle::Oblique | FontStyle::Italic => Face::Regular,
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use plotters::prelude::*;

    #[test]
    fn property_plotters_draws_finely_and_its_text_is_text() {
        let mut canvas = Canvas::new("t", 200.0, 100.0);
        {
            let area = Plane(&mut canvas).into_drawing_area();
            let mut chart = ChartBuilder::on(&area)
                .set_label_area_size(LabelAreaPosition::Left, steps(30.0))
                .build_cartesian_2d(0.0..1.0, 0.0..1.0)
                .unwrap();
            chart.configure_mesh().disable_mesh().label_style(("sans-serif", steps(10.0))).draw().unwrap();
            let style = plotters::style::Color::stroke_width(&RGBColor(1, 2, 3), steps(1.5) as u32);
            chart.draw_series(LineSeries::new([(0.0, 0.0), (0.501, 0.503), (1.0, 1.0)], style)).unwrap();
            chart.draw_series([Circle::new((0.5, 0.5), steps(2.0), BLUE)]).unwrap();
        }
        let svg = canvas.finish("t", "a").unwrap().svg;
        let doc = roxmltree::Document::parse(&svg).unwrap();
        let line = doc.descendants().find(|n| n.attribute("stroke") == Some("#010203")).unwrap();
        assert_eq!(line.attribute("stroke-width"), Some("1.5"));
        assert!(line.attribute("d").unwrap().contains('.'), "finer than a pixel: {line:?}");
        assert!(doc.descendants().any(|n| n.text() == Some("0.5") && n.tag_name().name() == "text"));
    }
}
