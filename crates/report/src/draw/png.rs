//! Pixels from a picture's own SVG, so that both formats show the same.

use resvg::tiny_skia::{Pixmap, Transform};
use resvg::usvg::{Options, Tree};

use crate::draw::measure::outline::outlined;
use crate::draw::picture::{Picture, PlotError};
use crate::files::marks::MARK;

/// Pixels a px: sharp on today's screens, and 200 dpi over the width of an A4 page.
pub const SCALE: f64 = 2.0;

/// Where it stands: behind the signature and the header.
const HEADER: usize = 33;

/// The picture as a PNG file, `scale` pixels a px.
pub fn render(picture: &Picture, scale: f64) -> Result<Vec<u8>, PlotError> {
    let svg = outlined(&picture.svg).map_err(|e| PlotError::Raster(Box::new(e)))?;
    let tree = Tree::from_str(&svg, &Options::default()).map_err(|e| PlotError::Raster(Box::new(e)))?;
    let pixels = |px: f64| (px * scale).round().clamp(1.0, 32_000.0) as u32;
    let mut pixmap = Pixmap::new(pixels(picture.width), pixels(picture.height))
        .ok_or(PlotError::Empty { what: "the picture's area" })?;
    let scale = scale as f32;
    resvg::render(&tree, Transform::from_scale(scale, scale), &mut pixmap.as_mut());
    let mut png = pixmap.encode_png().map_err(|e| PlotError::Raster(Box::new(e)))?;
    png.splice(HEADER..HEADER, MARK.iter().copied());
    Ok(png)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::draw::colour::Colour;
    use crate::draw::svg::{Canvas, label};

    #[test]
    fn property_pixels_show_shapes_and_letters() {
        let red = Colour(255, 0, 0);
        let mut canvas = Canvas::new("t", 60.0, 30.0);
        canvas.rect((0.0, 0.0), (10.0, 30.0), red);
        canvas.text(label("M", (30.0, 20.0)));
        let png = render(&canvas.finish("t", "a").unwrap(), 2.0).unwrap();
        let map = Pixmap::decode_png(&png).unwrap();
        assert_eq!((map.width(), map.height()), (120, 60));
        let at = |x, y| map.pixel(x, y).map(|p| (p.red(), p.green(), p.blue())).unwrap();
        assert_eq!(at(5, 30), (255, 0, 0));
        assert_eq!(at(115, 5), (255, 255, 255));
        let dark = (60..90).flat_map(|x| (20..42).map(move |y| (x, y))).filter(|(x, y)| at(*x, *y).0 < 128).count();
        assert!(dark > 40, "{dark} dark pixels where the letter should be");
    }

    #[test]
    fn bad_input_broken_svg_is_an_error() {
        let none = String::new;
        let broken = Picture { svg: "<svg".into(), width: 1.0, height: 1.0, title: none(), about: none(), alt: none() };
        assert!(matches!(render(&broken, 1.0), Err(PlotError::Raster(_))));
    }
}
