//! Ceilings along a course, found where they are asked for, each from those found before.

use unladen_vehicle::road::Road;
use unladen_vehicle::{Dual, Model};

use crate::backward::brake::{NoSpeed, STANDSTILL};
use crate::set::ceiling::{Found, Top, ceiling, follow_seam, holds_at, search};
use crate::step::mesh::Mesh;

/// A ceiling's own slack is 0 but for this: at a cusp, rounding of its X shows.
const AT_TOP: f64 = -1e-9;

/// A ceiling at a corner of the envelope, and the lateral acceleration per X where it was.
struct Seen {
    found: Found,
    y_x: f64,
}

/// Corners remembered.
const SEAMS: usize = 8;

/// Ceilings found so far.
pub struct Tops<'a> {
    mesh: &'a Mesh,
    model: &'a Model,
    model_2: &'a Model<Dual<2>>,
    x_limit: f64,
    near: Found,
    /// The road for which a ceiling was looked up last, and that ceiling: along an arc of constant grade it stays.
    last: Option<(Road, Found)>,
    found: Vec<Found>,
    /// Which of them is at each cell's start and end.
    which: [Vec<Option<u32>>; 2],
    /// Corners of the envelope met so far: one of them is often the next ceiling's.
    seams: Vec<Seen>,
}

impl<'a> Tops<'a> {
    /// None yet.
    pub fn new(mesh: &'a Mesh, model: &'a Model, model_2: &'a Model<Dual<2>>, x_limit: f64) -> Self {
        let none = || vec![None; mesh.cells.len()];
        let near = Found::plain(400.0, 0.0);
        let which = [none(), none()];
        Self { mesh, model, model_2, x_limit, near, last: None, found: vec![], which, seams: vec![] }
    }

    /// The a_x of the last one.
    pub fn near_a(&self) -> f64 {
        self.near.top.a_x
    }

    /// The ceiling at a cell's start, or at its end.
    pub fn at(&mut self, cell: usize, end: bool) -> Result<Top, NoSpeed> {
        if let Some(which) = self.which[usize::from(end)][cell] {
            let found = self.found[which as usize];
            if found.top.x.is_finite() {
                self.near = found;
            }
            return Ok(found.top);
        }
        let c = &self.mesh.cells[cell];
        let road = if end { &c.forward[2] } else { &c.backward[2] };
        let found = match self.last {
            Some((of, found)) if of == *road => found,
            _ => self.find_top(road, cell)?,
        };
        self.last = Some((*road, found));
        self.which[usize::from(end)][cell] = Some(self.found.len() as u32);
        self.found.push(found);
        Ok(found.top)
    }

    fn find_top(&mut self, road: &Road, cell: usize) -> Result<Found, NoSpeed> {
        let coast = -(road.x_0 + 0.5);
        let free = |x: f64, a: f64| self.model.grip(road, x, a).value >= 0.0;
        if free(self.x_limit, coast) {
            return Ok(Found::plain(f64::INFINITY, coast));
        }
        let here = follow_seam(self.model, road, &self.near);
        let scaled = |Seen { found, y_x }: &Seen| {
            let mut found = *found;
            found.top.x *= (y_x / road.y_x).abs();
            found
        };
        let elsewhere = || self.seams.iter().find_map(|s| follow_seam(self.model, road, &scaled(s)));
        // A corner below which the set closes is a ceiling only if the set stays closed above.
        let closed = |Found { top, .. }: &Found| {
            !free(1.2 * top.x, top.a_x) && !free(1.2 * top.x, coast) && !free(1.02 * top.x, coast)
        };
        // One found anew, or known from elsewhere, may be the lower one of two.
        let alone = |Found { top, .. }: &Found| (-24..=24).all(|i| !free(1.01 * top.x, top.a_x + 0.25 * f64::from(i)));
        let known = |found: &Found| closed(found) && alone(found);
        if let Some(found) = here.filter(closed).or_else(|| elsewhere().filter(known)) {
            self.near = found;
            return Ok(found);
        }
        let near = (self.near.top.x.min(self.x_limit), self.near.top.a_x);
        let sound = |found: &Found| match found.top.x {
            x if x.is_infinite() => holds_at(self.model, road, self.x_limit),
            x => x >= STANDSTILL && self.model.grip(road, x, found.top.a_x).value > AT_TOP && known(found),
        };
        let found = match ceiling(self.model, self.model_2, road, near, self.x_limit).filter(sound) {
            Some(found) => found,
            None => self.searched(road).ok_or(NoSpeed { cell })?,
        };
        if found.top.x < STANDSTILL {
            return Err(NoSpeed { cell });
        }
        if found.top.x.is_finite() {
            self.near = found;
            if found.seam.is_some() && self.seams.len() < SEAMS {
                self.seams.push(Seen { found, y_x: road.y_x });
            }
        }
        Ok(found)
    }

    /// The ceiling from a search on a net, polished where that leads to the same place.
    fn searched(&self, road: &Road) -> Option<Found> {
        let near = |close: f64| search(self.model, road, self.x_limit, self.near.top.x, close);
        let Some((x, a_x)) = near(1e-5)? else {
            return Some(Found::plain(f64::INFINITY, 0.0));
        };
        let polished = ceiling(self.model, self.model_2, road, (x, a_x), self.x_limit);
        polished.filter(|found| (found.top.x - x).abs() < 1e-3 * x).or_else(|| {
            let (x, a_x) = near(1e-12)??;
            Some(Found::plain(x, a_x))
        })
    }
}
