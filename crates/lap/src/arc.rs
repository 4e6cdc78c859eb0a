//! A step along the edge of the feasible set, forwards or backwards, cut where the set's edge has a kink.

use unladen_vehicle::branches::Branches;
use unladen_vehicle::grip::Bound;
use unladen_vehicle::road::Road;
use unladen_vehicle::{Model, Scalar};

use crate::connected;
use crate::edge::outer_edge;
use crate::mesh::Mesh;
use crate::tableau::{A, C, Poly, travel_time};

/// How closely a kink is placed, m.
const PLACED: f64 = 1e-4;

/// How far inside the envelope branches are read, m/s²: on it, conditions that coincide with it would flicker with
/// rounding.
const INSIDE: f64 = 1e-3;

/// A kink before this τ is approached again with a shorter step, …
const FAR: f64 = 0.9;

/// … that reaches this much past it.
const BEYOND: f64 = 1.03;

/// How roughly a kink is placed at first, as a share of the step.
const ROUGHLY: f64 = 0.01;

/// How often a step is tried again.
const ATTEMPTS: usize = 16;

/// A kink within a step shorter than this is taken to lie on its start, m.
const AT_START: f64 = 0.02;

enum Kink {
    None,
    /// Before the first stage.
    Early,
    /// Between these τ.
    Between(f64, f64),
}

/// One step: X along part of a cell.
#[derive(Clone, Copy, Debug)]
pub struct Arc {
    /// Which cell.
    pub cell: usize,
    /// From and to where in the cell it was set up, 0…1; falling for a step backwards.
    pub share: [f64; 2],
    /// τ up to which it holds: 1, or where the envelope has a kink.
    pub end: f64,
    /// X at its start.
    pub x_0: f64,
    /// a_x at its stages.
    pub a: [f64; 3],
    /// The piece of the grip envelope it follows, if one is held.
    pub branches: Option<Branches>,
    /// X along it.
    pub poly: Poly,
}

impl Arc {
    /// Where in the cell τ is.
    pub fn place(&self, tau: f64) -> f64 {
        self.share[0] + tau * (self.share[1] - self.share[0])
    }

    /// τ of a place in the cell.
    pub fn tau(&self, place: f64) -> f64 {
        (place - self.share[0]) / (self.share[1] - self.share[0])
    }

    /// Signed length, m.
    pub fn length(&self, mesh: &Mesh) -> f64 {
        mesh.cells[self.cell].length * (self.share[1] - self.share[0])
    }

    /// a_x along it, from its slope.
    pub fn a_x(&self, mesh: &Mesh, road: &Road, tau: f64) -> f64 {
        self.poly.slope(tau) / self.length(mesh) / slope_per_a(road)
    }

    /// Whose limit it follows, looked up just inside the envelope at its end.
    pub fn bound(&self, mesh: &Mesh, model: &Model) -> Bound {
        let road = mesh.road_in(&mesh.cells[self.cell], self.place(self.end));
        let inside = INSIDE * (self.share[0] - self.share[1]).signum();
        let a = self.a_x(mesh, &road, self.end) + inside;
        model.grip(&road, self.poly.at(self.end), a).bound
    }

    /// Travel time from τ to τ, s.
    pub fn time(&self, mesh: &Mesh, from: f64, to: f64) -> f64 {
        let cell = &mesh.cells[self.cell];
        travel_time(&self.poly, self.length(mesh), from, to, |tau| mesh.sec_in(cell, self.place(tau)))
    }
}

/// dX/ds per unit of a_x: a_x = ½ cosθ dX/ds (`model.md` §1).
pub fn slope_per_a<S: Scalar>(road: &Road<S>) -> S {
    S::from(2.0) / road.cos_theta
}

/// Follows one edge of the feasible set; keeps what makes the next root cheap.
pub struct Tracer<'a> {
    /// Stations.
    pub mesh: &'a Mesh,
    /// Car.
    pub model: &'a Model,
    /// +1 the largest a_x, forwards; −1 the smallest, backwards.
    pub side: f64,
    guess: f64,
    slope: f64,
    /// d(side a_x)/ds lately, 1/s²: where the next root is looked for; `None` while `guess` is no point of this edge.
    rate: Option<f64>,
    branches: Option<Branches>,
}

impl<'a> Tracer<'a> {
    /// A tracer of the upper (`side` +1) or lower (−1) edge.
    pub fn new(mesh: &'a Mesh, model: &'a Model, side: f64) -> Self {
        Self { mesh, model, side, guess: 5.0, slope: -0.2, rate: None, branches: None }
    }

    /// Forget on which smooth piece the last step ended.
    pub fn lift(&mut self) {
        self.branches = None;
        self.rate = None;
    }

    /// Look near this a_x first.
    pub fn look_near(&mut self, a_x: f64) {
        self.guess = self.side * a_x;
        self.rate = None;
    }

    /// The a_x last found.
    pub fn last_a(&self) -> f64 {
        self.side * self.guess
    }

    /// One step from share `from` to `to`; `None` where the set lies off the step.
    pub fn arc(
        &mut self,
        cell: usize,
        share: [f64; 2],
        x_0: f64,
        slack: impl Fn(&Road, f64, f64) -> f64,
    ) -> Option<Arc> {
        let c = &self.mesh.cells[cell];
        let length = c.length * (share[1] - share[0]);
        let (mut a, mut u) = ([0.0; 3], [0.0; 3]);
        let mut looked = 0.0;
        for j in 0..3 {
            let local;
            let road = if share == [0.0, 1.0] {
                &c.forward[j]
            } else if share == [1.0, 0.0] {
                &c.backward[j]
            } else {
                local = self.mesh.road_in(c, share[0] + C[j] * (share[1] - share[0]));
                &local
            };
            let per_a = slope_per_a(road);
            let base = x_0 + length * (0..j).map(|l| A[j][l] * u[l]).sum::<f64>();
            let k = length * A[j][j] * per_a;
            let side = self.side;
            let ahead = length.abs() * (C[j] - looked);
            let guess = self.guess + (self.rate.unwrap_or(0.0) * ahead).clamp(-1.0, 1.0);
            let z = outer_edge(|z| slack(road, base + k * side * z, side * z), guess, &mut self.slope)?;
            let rate = if ahead > 0.0 { (z - self.guess) / ahead } else { 0.0 };
            self.rate = Some(if self.rate.is_some() { rate } else { 0.0 });
            self.guess = z;
            looked = C[j];
            a[j] = side * z;
            u[j] = a[j] * per_a;
        }
        Some(Arc { cell, share, end: 1.0, x_0, a, branches: None, poly: Poly::new(x_0, length, u) })
    }

    /// [`Tracer::arc`] along the grip envelope, up to its first kink.
    ///
    /// The piece of the envelope that holds at the start is continued smoothly over the whole step; where the state it
    /// leads through no longer belongs to that piece, the step ends.
    pub fn grip_arc(&mut self, cell: usize, share: [f64; 2], x_0: f64) -> Option<Arc> {
        let model = self.model;
        let mut to = share[1];
        let c = &self.mesh.cells[cell];
        let road = if self.side > 0.0 { &c.backward[2] } else { &c.forward[2] };
        // A gap in the set is no kink: where there may be one the set is followed as it comes.
        let gap = self.side > 0.0 && connected::may_gap(model, road, x_0, self.guess);
        if gap {
            self.branches = None;
        }
        for _ in 0..ATTEMPTS {
            let Some(held) = self.branches else { break };
            let on_piece = |road: &Road, x: f64, a: f64| model.grip_held(road, x, a, held).value;
            let kept = (self.guess, self.slope, self.rate);
            let Some(mut arc) = self.arc(cell, [share[0], to], x_0, on_piece) else {
                (self.guess, self.slope, self.rate) = kept;
                break;
            };
            arc.branches = Some(held);
            match self.kink(&arc, held) {
                Kink::None => return Some(arc),
                Kink::Between(before, after) if before >= FAR => {
                    self.branches = Some(self.branches_at(&arc, after));
                    let road = self.mesh.road_in(&self.mesh.cells[cell], arc.place(before));
                    self.guess = self.side * arc.a_x(self.mesh, &road, before);
                    arc.end = before;
                    return Some(arc);
                }
                // Far past its end a piece's continuation is no guide: a step just past it is.
                Kink::Between(before, _) => to = arc.place(before * BEYOND),
                Kink::Early if arc.length(self.mesh).abs() < AT_START => {
                    self.branches = Some(self.branches_at(&arc, C[0]));
                    to = share[1];
                }
                Kink::Early => to = arc.place(0.5 * C[0]),
            }
            (self.guess, self.slope, self.rate) = kept;
        }
        let arc = self.arc(cell, share, x_0, |road, x, a| connected::grip(model, road, x, a))?;
        self.branches = if gap { None } else { Some(self.branches_at(&arc, 1.0)) };
        Some(arc)
    }

    /// Where the arc leaves the piece of the envelope it follows.
    fn kink(&self, arc: &Arc, held: Branches) -> Kink {
        if self.branches_at(arc, 1.0) == held {
            return Kink::None;
        }
        // Before its first stage an arc is an extrapolation.
        if self.branches_at(arc, C[0]) != held {
            return Kink::Early;
        }
        let length = arc.length(self.mesh).abs();
        let (mut lo, mut hi) = if self.branches_at(arc, C[1]) == held { (C[1], 1.0) } else { (C[0], C[1]) };
        // A kink that will be approached again need only be found roughly.
        while (hi - lo) * length > PLACED && (hi > FAR || hi - lo > ROUGHLY) {
            let mid = 0.5 * (lo + hi);
            if self.branches_at(arc, mid) == held { lo = mid } else { hi = mid }
        }
        Kink::Between(lo, hi)
    }

    /// Branches on a step's way.
    fn branches_at(&self, arc: &Arc, tau: f64) -> Branches {
        let cell = &self.mesh.cells[arc.cell];
        let (road, a) = if tau == 1.0 && arc.share[1] == 1.0 {
            (cell.forward[2], arc.a[2])
        } else if tau == 1.0 && arc.share[1] == 0.0 {
            (cell.backward[2], arc.a[2])
        } else {
            let road = self.mesh.road_in(cell, arc.place(tau));
            (road, arc.a_x(self.mesh, &road, tau))
        };
        self.model.grip_branches(&road, arc.poly.at(tau), a - self.side * INSIDE).1
    }
}
