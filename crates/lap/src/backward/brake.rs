//! The backward pass: K(s), the fastest the car may be at s and still hold all that follows (`docs/model.md` §7).

use unladen_vehicle::{Dual, Model};

use crate::backward::ceilings::Ceilings;
use crate::backward::fastest::most_x;
use crate::set::ceiling::{Top, best_power};
use crate::step::arc::{Arc, Tracer, slope_per_a};
use crate::step::mesh::Mesh;

/// What K is at a station.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Anchor {
    /// The braking curve of the cell that starts here.
    Brake,
    /// The limiter.
    Limiter,
    /// The ceiling on the side of the cell before (`true`) or of the cell that starts here.
    Ceiling(Top, bool),
}

/// K over the whole track.
#[derive(Clone, Debug)]
pub struct Braking {
    /// K at each station (one more than cells), m²/s².
    pub k: Vec<f64>,
    /// Why, for each station.
    pub anchor: Vec<Anchor>,
    /// Where K is a braking curve: which of `arcs` run back through each cell; else empty.
    pub curve: Vec<std::ops::Range<usize>>,
    /// Braking curves, backwards.
    pub arcs: Vec<Arc>,
    /// X at the limiter in top gear, m²/s².
    pub x_limit: f64,
}

/// No speed at all is feasible here.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct NoSpeed {
    /// Cell at whose start it happened.
    pub cell: usize,
}

impl Braking {
    /// The braking curve through a cell, from its end to its start.
    pub fn curve(&self, cell: usize) -> &[Arc] {
        &self.arcs[self.curve[cell].clone()]
    }

    /// K at a place in a cell, where it is a braking curve there.
    pub fn at(&self, cell: usize, share: f64) -> Option<f64> {
        let arc = self.curve(cell).iter().find(|a| share >= a.share[1])?;
        Some(arc.poly.at(arc.tau(share)))
    }
}

/// A car slower than a millimetre a second stands still, m²/s².
pub const STANDSTILL: f64 = 1e-6;

/// Slacks below this are not rounding.
const OFF: f64 = -1e-10;

struct Pass<'a> {
    mesh: &'a Mesh,
    model: &'a Model,
    x_limit: f64,
    /// At each station the X above which K is of no account.
    most: Vec<f64>,
    tracer: Tracer<'a>,
    ceilings: Ceilings<'a>,
}

/// X at which the top gear's limiter stands.
pub fn limiter(model: &Model) -> f64 {
    model.gearing.modes.iter().map(|m| m.x_end).fold(0.0, f64::max)
}

impl Pass<'_> {
    /// Hardest braking over a cell, from `x_end` at its end to its start; `None` where no braking curve leads there.
    fn brake(&mut self, i: usize, x_end: f64, end: Anchor, arcs: &mut Vec<Arc>) -> Option<f64> {
        let (mut share, mut x, mut wide) = (1.0, x_end, true);
        if let Anchor::Ceiling(top, _) = end {
            self.tracer.look_near(top.a_x);
            wide = false;
        }
        while share > 0.0 {
            let arc = self.tracer.grip_arc(i, [share, 0.0], x, wide)?;
            wide = true;
            x = arc.poly.at(1.0);
            share = arc.share[1];
            if x.is_nan() || x < STANDSTILL {
                return None;
            }
            // The set is empty where even the least a_x asks for more than the engine has.
            let road = self.mesh.road_in(&self.mesh.cells[i], share);
            let (model, a) = (self.model, arc.a[2]);
            if model.axles(&road, x, a).f_x > 0.0 && best_power(model, &road, x, a) < 0.0 {
                return None;
            }
            arcs.push(arc);
        }
        Some(x)
    }

    /// A feasible a_x at a cell's start that does not ask for more speed, as fast as a car gets there.
    fn open(&self, i: usize) -> bool {
        let (road, x) = (&self.mesh.cells[i].backward[2], self.most[i]);
        let coast = -(road.x_0 + 0.5);
        self.model.grip(road, x, 0.0).value >= 0.0 || self.model.grip(road, x, coast.min(0.0)).value >= 0.0
    }
}

/// Run the pass. A circuit is run on until it repeats itself. K that no profile reaches is left at the limiter.
pub fn braking(mesh: &Mesh, model: &Model, model_2: &Model<Dual<2>>) -> Result<Braking, NoSpeed> {
    let n = mesh.cells.len();
    let x_limit = limiter(model);
    let slowest = (0..n)
        .max_by(|&i, &j| {
            let k = |i: usize| mesh.cells[i].backward[2].y_x.abs();
            k(i).total_cmp(&k(j))
        })
        .unwrap_or(0);
    let start = if mesh.closed { slowest } else { n };
    let mut pass = Pass {
        mesh,
        model,
        x_limit,
        most: most_x(mesh, model, x_limit),
        tracer: Tracer::new(mesh, model, -1.0),
        ceilings: Ceilings::new(mesh, model, model_2, x_limit),
    };
    let mut out = Braking {
        k: vec![f64::NAN; n + 1],
        anchor: vec![Anchor::Limiter; n + 1],
        curve: vec![0..0; n],
        arcs: Vec::with_capacity(n / 2),
        x_limit,
    };
    let top = pass.ceilings.at((start + n - 1) % n, true)?;
    let mut x = top.x.min(x_limit);
    let mut anchor = if top.x < x_limit { Anchor::Ceiling(top, true) } else { Anchor::Limiter };
    out.k[start % (n + 1)] = x;
    out.anchor[start % (n + 1)] = anchor;
    let laps = if mesh.closed { 40 } else { 1 };
    for step in 0..laps * n {
        let i = (start + laps * n - 1 - step) % n;
        (x, anchor) = pass.cell(i, x, anchor, &mut out)?;
        let repeats = step >= n && (x - out.k[i]).abs() <= 1e-14 * x;
        out.k[i] = x;
        out.anchor[i] = anchor;
        if i == 0 && mesh.closed {
            out.k[n] = x;
            out.anchor[n] = anchor;
        }
        if repeats {
            break;
        }
    }
    Ok(out)
}

impl Pass<'_> {
    /// One cell backwards from `x_end`; returns K at its start.
    fn cell(&mut self, i: usize, x_end: f64, end: Anchor, out: &mut Braking) -> Result<(f64, Anchor), NoSpeed> {
        let mesh = self.mesh;
        let cell = &mesh.cells[i];
        out.curve[i] = 0..0;
        let (x, mut anchor);
        if x_end >= self.x_limit && self.open(i) {
            (x, anchor) = (self.x_limit, Anchor::Limiter);
            self.tracer.lift();
        } else {
            let ahead = match end {
                // No car comes as fast as that: it need not brake.
                Anchor::Limiter if self.most[i + 1] < self.x_limit => Some(self.ceilings.at(i, false)?),
                // On a ceiling that falls away backwards faster than the car could have slowed, no curve leads here.
                Anchor::Ceiling(top, _) => {
                    let here = self.ceilings.at(i, false)?;
                    let drop = 0.5
                        * cell.length
                        * (top.a_x * slope_per_a(&cell.forward[2]) + here.a_x * slope_per_a(&cell.backward[2]));
                    (here.x < x_end - drop - 1e-9 * x_end).then_some(here)
                }
                _ => None,
            };
            let first = out.arcs.len();
            let curve = if ahead.is_some() { None } else { self.brake(i, x_end, end, &mut out.arcs) };
            // A curve that slides along the ceiling may leave it by a little.
            let above = match (curve, out.arcs.last()) {
                (Some(x), Some(arc)) if self.model.grip(&cell.backward[2], x, arc.a[2]).value < OFF => {
                    Some(self.ceilings.at(i, false)?).filter(|top| top.x < x)
                }
                _ => None,
            };
            match curve.filter(|_| above.is_none()) {
                Some(x_start) => {
                    out.curve[i] = first..out.arcs.len();
                    (x, anchor) = (x_start, Anchor::Brake);
                }
                None => {
                    out.arcs.truncate(first);
                    self.tracer.lift();
                    let top = match ahead.or(above) {
                        Some(top) => top,
                        None => self.ceilings.at(i, false)?,
                    };
                    (x, anchor) = (top.x, Anchor::Ceiling(top, false));
                }
            }
        }
        let mut x = x;
        if x >= self.most[i] {
            (x, anchor) = (self.x_limit, Anchor::Limiter);
        }
        if cell.jump {
            self.tracer.lift();
            let n = mesh.cells.len();
            let before = (i + n - 1) % n;
            let road = &mesh.cells[before].forward[2];
            let coast = -road.x_0;
            let highest = x.min(self.most[i]);
            let holds = [coast, self.tracer.last_a(), self.ceilings.last_a()]
                .iter()
                .any(|&a| self.model.grip(road, highest, a).value >= 0.0);
            if !holds {
                let top = self.ceilings.at(before, true)?;
                if top.x < highest {
                    (x, anchor) = (top.x, Anchor::Ceiling(top, true));
                }
            }
        }
        Ok((x, anchor))
    }
}
