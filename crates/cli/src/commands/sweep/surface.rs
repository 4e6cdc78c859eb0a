//! `sweep --contours`: the surface over the first two swept numbers, what else is swept held at its middle.

use std::collections::HashMap;

use unladen_report::draw::picture::{Picture, PlotError};
use unladen_report::sweep::contour::{ContourPlot, Swept, contour_picture};
use unladen_report::sweep::rows::SweepRow;
use unladen_report::words::number::fixed;
use unladen_study::sweep::{Axis, Grid, Sweep};

use crate::error::Usage;

/// A swept number as it is shown.
struct Shown {
    name: &'static str,
    unit: &'static str,
    /// Shown units in an SI unit.
    factor: f64,
    axis: Axis,
    /// Cells from one of its values to the next.
    stride: u64,
}

/// The cells of the picture, and what is known of them.
pub struct Surface {
    x: Shown,
    y: Shown,
    held: String,
    /// The cell at the first value of both.
    first: u64,
    seconds: HashMap<u64, Option<f64>>,
}

impl Surface {
    /// Of a grid with two numbers that take several values.
    pub fn of(grid: &Grid) -> Result<Self, Usage> {
        // The slowest first, as cells are counted; each axis's name, unit, factor and how much it is wanted in the
        // picture.
        let all = [
            (grid.grip, "grip", "", 1.0, 4),
            (grid.fuel.map(|f| f.0), "fuel", "L", 1e3, 3),
            (grid.mass, "mass", "kg", 1.0, 0),
            (grid.cg_height, "height of the centre of gravity", "mm", 1e3, 1),
            (grid.front_share, "front axle's share of the weight", "%", 100.0, 2),
        ];
        let mut stride = 1;
        let mut shown: Vec<(usize, Shown)> = Vec::new();
        for (axis, name, unit, factor, rank) in all.into_iter().rev() {
            let Some(axis) = axis else { continue };
            let count = axis.count();
            shown.push((rank, Shown { name, unit, factor, axis, stride }));
            stride *= count;
        }
        shown.sort_by_key(|(rank, s)| (s.axis.count() < 2, *rank));
        let mut shown = shown.into_iter().map(|(_, s)| s);
        let (Some(x), Some(y)) = (shown.next(), shown.next()) else { return Err(Usage::NoSurface) };
        if y.axis.count() < 2 {
            return Err(Usage::NoSurface);
        }
        let (mut held, mut first) = (Vec::new(), 0);
        for other in shown {
            let middle = other.axis.count() / 2;
            first += middle * other.stride;
            let value = other.factor * other.axis.at(middle);
            held.push(
                format!("{} {} {}", other.name, fixed(value, if value.abs() < 5.0 { 2 } else { 0 }), other.unit)
                    .trim_end()
                    .to_owned(),
            );
        }
        Ok(Self { x, y, held: held.join(", "), first, seconds: HashMap::new() })
    }

    fn cell(&self, i: u64, j: u64) -> u64 {
        self.first + i * self.x.stride + j * self.y.stride
    }

    /// Takes note of a row that belongs to the picture.
    pub fn see(&mut self, cell: u64, row: &SweepRow) {
        let Some(rest) = cell.checked_sub(self.first) else { return };
        let of = |s: &Shown| (rest / s.stride) % s.axis.count();
        if self.cell(of(&self.x), of(&self.y)) == cell {
            self.seconds.insert(cell, row.lap.as_ref().ok().map(|lap| lap.delta_s));
        }
    }

    /// Draws it; cells of a run before this one are lapped again.
    pub fn picture(&mut self, sweep: &Sweep, car: &str, now: [f64; 2], reference_s: f64) -> Result<Picture, PlotError> {
        let (nx, ny) = (self.x.axis.count(), self.y.axis.count());
        let mut seconds = Vec::new();
        for j in 0..ny {
            for i in 0..nx {
                let cell = self.cell(i, j);
                let again = || {
                    let found = sweep.cells(cell..cell + 1, &|| true);
                    found.first().and_then(|c| c.found.as_ref().ok()).map(|f| f.lap_time - reference_s)
                };
                seconds.push(*self.seconds.entry(cell).or_insert_with(again));
            }
        }
        let values = |s: &Shown| -> Vec<f64> { (0..s.axis.count()).map(|i| s.factor * s.axis.at(i)).collect() };
        let (x, y) = (values(&self.x), values(&self.y));
        let both = self.x.name == "mass" && self.y.unit == "mm";
        contour_picture(&ContourPlot {
            car,
            track: &sweep.course.track().name,
            held: &self.held,
            x: Swept { name: self.x.name, unit: self.x.unit, values: &x },
            y: Swept { name: self.y.name, unit: self.y.unit, values: &y },
            seconds: &seconds,
            now: both.then_some((now[0], 1e3 * now[1])),
        })
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    /// Cells are counted with the front share fastest: mass 3 × height 2 × share 5, the share held at its third value.
    #[test]
    fn closed_form_the_cells_of_a_plane() {
        let axis = |n| Axis::new(0.5, 0.9, n);
        let grid = Grid { mass: axis(3), cg_height: axis(2), front_share: axis(5), ..Grid::default() };
        let surface = Surface::of(&grid).unwrap();
        assert_eq!((surface.x.name, surface.y.unit, surface.first), ("mass", "mm", 2));
        assert_eq!((surface.cell(0, 0), surface.cell(2, 1)), (2, 2 * 10 + 5 + 2));
        assert_eq!(surface.held, "front axle's share of the weight 70 %");
    }

    #[test]
    fn bad_input_one_number_is_no_surface() {
        let grid = Grid { mass: Axis::new(1000.0, 1200.0, 3), cg_height: Axis::new(0.5, 0.5, 1), ..Grid::default() };
        assert!(matches!(Surface::of(&grid), Err(Usage::NoSurface)));
        assert!(matches!(Surface::of(&Grid::default()), Err(Usage::NoSurface)));
    }
}
