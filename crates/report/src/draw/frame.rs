//! A chart's plotting rectangle: grid, axes and series, drawn by plotters.

use std::ops::Range;

use plotters::coord::ranged1d::{KeyPointHint, NoDefaultFormatting, Ranged, ValueFormatter};
use plotters::prelude::*;

use crate::draw::backend::{Plane, steps};
use crate::draw::colour::Colour;
use crate::draw::look::{GRID, INK_SOFT, RULE, SMALL, Stroke};
use crate::draw::measure::ticks::Axis;
use crate::draw::picture::PlotError;
use crate::draw::svg::{Canvas, Point};

/// Room that tick labels take left of the rectangle, px.
pub const TICKS_LEFT: f64 = 44.0;
/// Room that tick labels take beneath it, px.
pub const TICKS_BELOW: f64 = 20.0;

/// plotters counts the last step as inside.
const LAST: i32 = 1;

/// Where a chart's data are drawn.
#[derive(Clone, Debug)]
pub struct Frame {
    /// Left edge, px.
    pub left: f64,
    /// Top edge, px.
    pub top: f64,
    /// Width, px.
    pub width: f64,
    /// Height, px.
    pub height: f64,
    /// From left to right.
    pub x: Axis,
    /// From bottom to top.
    pub y: Axis,
}

/// A curve through data.
#[derive(Clone, Debug)]
pub struct Series {
    /// In the units of the axes.
    pub points: Vec<Point>,
    /// How it is drawn.
    pub stroke: Stroke,
    /// Fill down to zero with this much of the colour, 0 none.
    pub fill: f64,
}

/// Our axes in place of plotters' own, which choose their ticks differently.
impl Ranged for Axis {
    type FormatOption = NoDefaultFormatting;
    type ValueType = f64;

    fn map(&self, value: &f64, (from, to): (i32, i32)) -> i32 {
        (f64::from(from) + f64::from(to - from) * self.share(*value)).round() as i32
    }

    fn key_points<H: KeyPointHint>(&self, hint: H) -> Vec<f64> {
        if hint.weight().allow_light_points() { Vec::new() } else { self.ticks.clone() }
    }

    fn range(&self) -> Range<f64> {
        self.from..self.to
    }
}

impl ValueFormatter<f64> for Axis {
    fn format_ext(&self, value: &f64) -> String {
        self.label(*value)
    }
}

fn rgb(c: Colour) -> RGBColor {
    RGBColor(c.0, c.1, c.2)
}

fn style(s: Stroke) -> ShapeStyle {
    ShapeStyle { color: rgb(s.colour).to_rgba(), filled: false, stroke_width: steps(s.width).unsigned_abs() }
}

fn failed<E: std::error::Error + Send + Sync + 'static>(error: E) -> PlotError {
    PlotError::Chart(Box::new(error))
}

impl Frame {
    /// Right edge, px.
    pub fn right(&self) -> f64 {
        self.left + self.width
    }

    /// Bottom edge, px.
    pub fn bottom(&self) -> f64 {
        self.top + self.height
    }

    /// px of an x.
    pub fn px(&self, x: f64) -> f64 {
        self.left + self.width * self.x.share(x)
    }

    /// px of a y.
    pub fn py(&self, y: f64) -> f64 {
        self.bottom() - self.height * self.y.share(y)
    }

    /// Draws grid lines at the ticks, their figures left of it, and beneath it where `below`.
    pub fn draw_grid(&self, canvas: &mut Canvas, below: bool) -> Result<(), PlotError> {
        let under = if below { TICKS_BELOW } else { 0.0 };
        let corner = (steps(self.left - TICKS_LEFT), steps(self.top));
        let size = (steps(self.width + TICKS_LEFT) + LAST, steps(self.height + under) + LAST);
        canvas.part("grid", |canvas| {
            let area = Plane(canvas).into_drawing_area().shrink(corner, size);
            let mut chart = ChartBuilder::on(&area)
                .set_label_area_size(LabelAreaPosition::Left, steps(TICKS_LEFT))
                .set_label_area_size(LabelAreaPosition::Bottom, steps(under))
                .build_cartesian_2d(self.x.clone(), self.y.clone())
                .map_err(failed)?;
            let figures = ("sans-serif", steps(SMALL)).into_font().color(&rgb(INK_SOFT));
            chart
                .configure_mesh()
                .label_style(figures)
                .light_line_style(TRANSPARENT)
                .bold_line_style(style(Stroke { colour: GRID, width: 0.8 }))
                // No axis lines or marks, but the room that marks would take keeps the figures off the grid.
                .axis_style(TRANSPARENT)
                .set_tick_mark_size(LabelAreaPosition::Left, steps(7.0))
                .set_tick_mark_size(LabelAreaPosition::Bottom, steps(5.0))
                .draw()
                .map_err(failed)
        })?;
        let base = [(self.left, self.bottom()), (self.right(), self.bottom())];
        canvas.line(&base, Stroke { colour: RULE, width: 1.0 });
        Ok(())
    }

    /// Draws curves.
    pub fn draw_series(&self, canvas: &mut Canvas, series: &[Series]) -> Result<(), PlotError> {
        let corner = (steps(self.left), steps(self.top));
        let size = (steps(self.width) + LAST, steps(self.height) + LAST);
        // plotters turns what is no number into a whole number without a word.
        series.iter().flat_map(|s| &s.points).for_each(|p| canvas.note(p.0 + p.1));
        canvas.part("series", |canvas| {
            let area = Plane(canvas).into_drawing_area().shrink(corner, size);
            let mut chart =
                ChartBuilder::on(&area).build_cartesian_2d(self.x.clone(), self.y.clone()).map_err(failed)?;
            for s in series {
                let points = s.points.iter().copied();
                if s.fill > 0.0 {
                    let base = 0f64.clamp(self.y.from, self.y.to);
                    let area = AreaSeries::new(points.clone(), base, rgb(s.stroke.colour).mix(s.fill));
                    chart.draw_series(area).map_err(failed)?;
                }
                chart.draw_series(LineSeries::new(points, style(s.stroke))).map_err(failed)?;
            }
            Ok(())
        })
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::draw::look::{INK, stroke};

    fn frame() -> Frame {
        let (x, y) = (Axis::over(0.0, 2.0, 4), Axis::round(0.0, 100.0, 4));
        Frame { left: 60.0, top: 10.0, width: 300.0, height: 100.0, x, y }
    }

    #[test]
    fn closed_form_data_land_where_the_frame_says() {
        let f = frame();
        assert_eq!((f.px(0.0), f.px(2.0), f.py(0.0), f.py(100.0)), (60.0, 360.0, 110.0, 10.0));
        let mut canvas = Canvas::new("f", 400.0, 140.0);
        let points = vec![(0.0, 0.0), (1.0, 30.0), (2.0, 100.0)];
        f.draw_series(&mut canvas, &[Series { points, stroke: stroke(INK, 2.0), fill: 0.2 }]).unwrap();
        let svg = canvas.finish("t", "a").unwrap().svg;
        assert!(svg.contains("M60 110l150-30 150-70\""), "{svg}");
        assert!(svg.contains("fill-opacity=\"0.2\""));
    }

    #[test]
    fn closed_form_the_grid_carries_every_tick() {
        let f = frame();
        let mut canvas = Canvas::new("f", 400.0, 140.0);
        f.draw_grid(&mut canvas, true).unwrap();
        let svg = canvas.finish("t", "a").unwrap().svg;
        for tick in ["0.5", "1.0", "1.5", "2.0", "0", "20", "40", "60", "80", "100"] {
            assert!(svg.contains(&format!(">{tick}</text>")), "{tick} in {svg}");
        }
        assert!(svg.contains("M60 110l300 0"), "{svg}");
    }
}
