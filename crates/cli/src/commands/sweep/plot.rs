//! The picture of a sweep of one or two axes.

use unladen_report::draw::picture::{Picture, PlotError};
use unladen_report::sweep::picture::{Curve, SweepPlot, sweep_picture};
use unladen_report::sweep::text::SweepView;
use unladen_report::words::number::fixed;
use unladen_study::sweep::{Axis, Grid, Sweep};

use crate::error::Usage;

/// More cells than this are not drawn.
const MOST: u64 = 10_000;

/// An axis as it is drawn: its place among the values of a cell, its name, its unit and how many of it one SI unit is,
/// and decimals.
type Drawn = (usize, &'static str, &'static str, f64, usize);

/// What runs to the right, and what tells the curves apart.
pub struct Drawing {
    x: Drawn,
    by: Option<Drawn>,
}

impl Drawing {
    /// Of a grid with one or two axes that change.
    pub fn of(grid: &Grid) -> Result<Self, Usage> {
        let axes: [(Option<Axis>, Drawn); 5] = [
            (grid.mass, (2, "mass", "kg", 1.0, 0)),
            (grid.cg_height, (3, "height of the centre of gravity", "mm", 1e3, 0)),
            (grid.front_share, (4, "share of the weight on the front axle", "%", 100.0, 1)),
            (grid.fuel.map(|f| f.0), (1, "fuel", "L", 1e3, 1)),
            (grid.grip, (0, "grip", "", 1.0, 2)),
        ];
        let changing: Vec<Drawn> =
            axes.into_iter().filter(|(axis, _)| axis.is_some_and(|a| a.count() > 1)).map(|(_, drawn)| drawn).collect();
        let cells = grid.cells();
        match (&changing[..], cells) {
            (&[x], Some(..=MOST)) => Ok(Self { x, by: None }),
            (&[x, by], Some(..=MOST)) => Ok(Self { x, by: Some(by) }),
            _ => Err(Usage::NotDrawn { axes: changing.len(), cells, most: MOST }),
        }
    }

    /// Draws all rows, which have been kept.
    pub fn picture(&self, sweep: &Sweep, view: &SweepView) -> Result<Picture, PlotError> {
        let mut curves: Vec<Curve> = Vec::new();
        for (cell, row) in view.seen.rows.iter().enumerate() {
            let values = sweep.grid.values(cell as u64);
            let of = |d: &Drawn| values[d.0].unwrap_or_default() * d.3;
            let name =
                self.by.map_or_else(String::new, |d| format!("{} {}", fixed(of(&d), d.4), d.2).trim_end().to_owned());
            let point = (of(&self.x), row.lap.as_ref().ok().map(|lap| lap.lap_time_s));
            match curves.iter_mut().find(|c| c.0 == name) {
                Some(curve) => curve.1.push(point),
                None => curves.push((name, vec![point])),
            }
        }
        for (_, points) in &mut curves {
            points.sort_by(|a, b| a.0.total_cmp(&b.0));
        }
        let now = view.reference;
        let share = 100.0 * now.front_share;
        let here = [Some(now.grip), now.fuel_l, Some(now.mass_kg), Some(now.cg_height_mm), Some(share)];
        let x = if self.x.2.is_empty() { self.x.1.to_owned() } else { format!("{}, {}", self.x.1, self.x.2) };
        let time = now.lap.as_ref().map_or(f64::NAN, |lap| lap.lap_time_s);
        sweep_picture(&SweepPlot {
            car: view.car,
            track: view.track,
            x: &x,
            by: self.by.map_or("", |d| d.1),
            curves: &curves,
            now: (here[self.x.0], time),
        })
    }
}
