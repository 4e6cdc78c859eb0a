//! A step along the edge of the feasible set, forwards or backwards, cut where the set's edge has a kink.

use unladen_vehicle::branches::Branches;
use unladen_vehicle::grip::Bound;
use unladen_vehicle::road::Road;
use unladen_vehicle::{Model, Scalar};

use crate::set::connected;
use crate::set::edge::{near_edge, outer_edge};
use crate::step::mesh::Mesh;
use crate::step::tableau::{A, C, Poly, travel_time};

/// a_x does not change by as much as this from stage to stage along one smooth piece, as a rule, m/s².
const LEAP: f64 = 4.0;

/// How closely a kink is placed where no root tells, m.
const PLACED: f64 = 1e-3;

/// How far inside the envelope branches are read, m/s²: on it, conditions that coincide with it would flicker with
/// rounding.
const INSIDE: f64 = 1e-5;

/// How roughly a kink is placed at first, as a share of the step.
const ROUGHLY: f64 = 0.02;

/// Slacks that differ by less are the same.
const SAME: f64 = 1e-10;

/// How far beside its bracket a kink may lie, as a share of the step.
const ASIDE: f64 = 0.05;

/// How often a step is tried again.
const ATTEMPTS: usize = 16;

/// Two pieces whose slacks part by less than this over a step, relative to the weight, are one there: where the one is left
/// for the other makes no difference, and that place stands still (a symmetric car's left and right).
const PARTS: f64 = 1e-5;

/// A kink within a step shorter than this is taken to lie on its start, m.
const AT_START: f64 = 0.02;

/// Where a step leaves its piece of the envelope, and for which.
enum Kink {
    /// Nowhere; known at its end by these branches.
    None(Branches),
    /// Before the first stage.
    Early(Branches),
    /// At this τ; where the two pieces cross, with the other's slack per τ.
    At(f64, Branches, Option<f64>),
}

/// One step: X along part of a cell.
#[derive(Clone, Copy, Debug)]
pub struct Arc {
    /// Which cell.
    pub cell: usize,
    /// From and to where in the cell it was set up, 0…1; falling for a step backwards.
    pub share: [f64; 2],
    /// X at its start.
    pub x_0: f64,
    /// a_x at its stages.
    pub a: [f64; 3],
    /// The piece of the grip envelope it follows, if one is held.
    pub branches: Option<Branches>,
    /// The piece of the envelope that it meets at its end, where a root placed that end.
    pub meets: Option<Branches>,
    /// a_x at its start, where that is known and X leaves with it.
    pub leaves_at: Option<f64>,
    /// X along it.
    pub poly: Poly,
}

impl Arc {
    /// The same, its a_x at the start known.
    pub fn leaving_at(mut self, mesh: &Mesh, [start, end]: [&Road; 2], a_x: f64) -> Self {
        let slopes = [a_x * slope_per_a(start), self.a[2] * slope_per_a(end)];
        self.poly = self.poly.leaving_at(self.length(mesh), slopes);
        self.leaves_at = Some(a_x);
        self
    }

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
        let road = mesh.road_in(&mesh.cells[self.cell], self.share[1]);
        let inside = INSIDE * (self.share[0] - self.share[1]).signum();
        model.grip(&road, self.poly.at(1.0), self.a[2] + inside).bound
    }

    /// Travel time from τ to τ, s.
    pub fn time(&self, mesh: &Mesh, from: f64, to: f64) -> f64 {
        let cell = &mesh.cells[self.cell];
        travel_time(&self.poly, self.length(mesh), from, to, |tau| mesh.sec_in(cell, self.place(tau)))
    }
}

/// dX/ds per unit of a_x: a_x = ½ cosθ dX/ds (`docs/model.md` §1).
pub fn slope_per_a<S: Scalar>(road: &Road<S>) -> S {
    S::from(2.0) / road.cos_theta
}

/// A place near `to` that does not move when `from` does a little.
fn round(from: f64, to: f64) -> f64 {
    let unit = (0.25 * (to - from).abs()).log2().floor().exp2();
    (to / unit).round() * unit
}

/// Follows one edge of the feasible set; keeps what makes the next root cheap.
#[derive(Clone, Copy)]
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
        self.arc_looking(cell, share, x_0, true, slack)
    }

    /// [`Tracer::arc`]; a stage's edge is looked for far and wide, or only near where it is expected.
    fn arc_looking(
        &mut self,
        cell: usize,
        share: [f64; 2],
        x_0: f64,
        wide: bool,
        slack: impl Fn(&Road, f64, f64) -> f64,
    ) -> Option<Arc> {
        let c = &self.mesh.cells[cell];
        let length = c.length * (share[1] - share[0]);
        // From a ceiling, what is expected may lie beyond a second, lower peak: then from where the stage before was found.
        let again = !wide && self.branches.is_none();
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
            let on_line = |z: f64| slack(road, base + k * side * z, side * z);
            let search = if wide { outer_edge } else { near_edge };
            let z = search(&on_line, guess, &mut self.slope)
                .or_else(|| if again && j > 0 { near_edge(on_line, self.guess, &mut self.slope) } else { None })?;
            let rate = if ahead > 0.0 { (z - self.guess) / ahead } else { 0.0 };
            self.rate = Some(if self.rate.is_some() { rate } else { 0.0 });
            self.guess = z;
            looked = C[j];
            a[j] = side * z;
            u[j] = a[j] * per_a;
        }
        Some(Arc { cell, share, x_0, a, branches: None, meets: None, leaves_at: None, poly: Poly::new(x_0, length, u) })
    }

    /// [`Tracer::arc`] along the grip envelope, up to its first kink.
    ///
    /// The piece of the envelope that holds at the start is continued smoothly over the whole step; where the state it
    /// leads through no longer belongs to that piece, the step is taken again up to there. Edges are looked for far and
    /// wide, or, from a ceiling, only near its a_x.
    pub fn grip_arc(&mut self, cell: usize, share: [f64; 2], x_0: f64, wide: bool) -> Option<Arc> {
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
            let kept = (self.guess, self.slope, self.rate);
            let Some(arc) = self.held_arc(cell, [share[0], to], x_0, held) else {
                (self.guess, self.slope, self.rate) = kept;
                break;
            };
            match self.kink(&arc, held) {
                Kink::None(at_end) => {
                    self.branches = Some(at_end);
                    return Some(arc);
                }
                Kink::At(tau, next, rate) => {
                    (self.guess, self.slope, self.rate) = kept;
                    let Some(arc) = self.up_to_kink(&arc, held, tau, next, rate) else {
                        (self.guess, self.slope, self.rate) = kept;
                        break;
                    };
                    self.branches = Some(next);
                    return Some(arc);
                }
                Kink::Early(next) if arc.length(self.mesh).abs() < AT_START => {
                    self.branches = Some(next);
                    to = share[1];
                }
                Kink::Early(_) => to = round(share[0], arc.place(0.5 * C[0])),
            }
            (self.guess, self.slope, self.rate) = kept;
        }
        let arc = self.arc_looking(cell, share, x_0, wide, |road, x, a| connected::grip(model, road, x, a))?;
        self.branches = if gap { None } else { Some(self.look(&arc, 1.0).1) };
        Some(arc)
    }

    /// [`Tracer::arc`] along one piece of the envelope, continued smoothly.
    fn held_arc(&mut self, cell: usize, share: [f64; 2], x_0: f64, held: Branches) -> Option<Arc> {
        let model = self.model;
        // Where this piece leads nowhere the whole envelope is looked at, far and wide.
        let slack = |road: &Road, x, a| model.grip_held(road, x, a, held).value;
        let mut arc = self.arc_looking(cell, share, x_0, false, slack)?;
        arc.branches = Some(held);
        Some(arc)
    }

    /// Where the arc leaves the piece of the envelope it follows.
    fn kink(&self, arc: &Arc, held: Branches) -> Kink {
        let (on, at_end) = self.look(arc, 1.0);
        // Where a_x leaps from stage to stage, one of them may have led to another part of the set.
        let leaps = (arc.a[1] - arc.a[0]).abs().max((arc.a[2] - arc.a[1]).abs()) > LEAP;
        if on && !(leaps && C[..2].iter().any(|&tau| !self.look(arc, tau).0)) {
            return Kink::None(at_end);
        }
        // Before its first stage an arc is an extrapolation.
        let (on, early) = self.look(arc, C[0]);
        if !on {
            return Kink::Early(early);
        }
        let length = arc.length(self.mesh).abs();
        let (on, middle) = self.look(arc, C[1]);
        let (mut lo, mut hi, mut next) = if on { (C[1], 1.0, at_end) } else { (C[0], C[1], middle) };
        let mut tried = false;
        while (hi - lo) * length > PLACED {
            if !tried && hi - lo < ROUGHLY {
                if let Some((tau, rate)) = self.meeting(arc, held, next, lo, hi) {
                    return Kink::At(tau, next, Some(rate));
                }
                tried = true;
            }
            let mid = 0.5 * (lo + hi);
            let (on, branches) = self.look(arc, mid);
            if on { lo = mid } else { (hi, next) = (mid, branches) }
        }
        Kink::At(lo, next, None)
    }

    /// A step that was found to have a kink taken again up to there. The kink's place was read off between the stages;
    /// now that a stage stands on it, it is corrected once.
    fn up_to_kink(&mut self, arc: &Arc, held: Branches, tau: f64, next: Branches, rate: Option<f64>) -> Option<Arc> {
        let (cell, from, place, x_0) = (arc.cell, arc.share[0], arc.place(tau), arc.x_0);
        let kept = (self.guess, self.slope, self.rate);
        let first = self.held_arc(cell, [from, place], x_0, held)?;
        let Some(rate) = rate else { return Some(first) };
        let (road, x, a) = self.state(&first, held, 1.0);
        let off = self.model.grip_held(&road, x, a, next).value / rate;
        if off.abs() > ASIDE {
            return Some(first);
        }
        let place = arc.place(tau - off);
        if (place - from) * (arc.share[1] - place) <= 0.0 {
            return Some(first);
        }
        let after = (self.guess, self.slope, self.rate);
        (self.guess, self.slope, self.rate) = kept;
        let Some(mut second) = self.held_arc(cell, [from, place], x_0, held) else {
            (self.guess, self.slope, self.rate) = after;
            return Some(first);
        };
        second.meets = (rate.abs() > PARTS).then_some(next);
        Some(second)
    }

    /// τ near a bracket where the arc meets another piece of the envelope, and that one's slack per τ: there the slack
    /// of both is 0.
    fn meeting(&self, arc: &Arc, held: Branches, next: Branches, lo: f64, hi: f64) -> Option<(f64, f64)> {
        let ahead = |tau: f64| {
            let (road, x, a) = self.state(arc, held, tau);
            self.model.grip_held(&road, x, a, next).value
        };
        let (mut p, mut q) = (lo, hi);
        let (mut f_p, mut f_q) = (ahead(p), ahead(q));
        for _ in 0..6 {
            let rate = (f_q - f_p) / (q - p);
            let r = q - f_q / rate;
            if !(lo - ASIDE..=hi + ASIDE).contains(&r) || r > 1.0 {
                return None;
            }
            if (r - q).abs() < 1e-4 {
                return Some((r, rate));
            }
            (p, f_p, q, f_q) = (q, f_q, r, ahead(r));
        }
        None
    }

    /// Road, X and a_x on an arc's way. Between its stages its slope is not quite on the envelope: a few chords lead
    /// back to it.
    fn state(&self, arc: &Arc, held: Branches, tau: f64) -> (Road, f64, f64) {
        let cell = &self.mesh.cells[arc.cell];
        let x = arc.poly.at(tau);
        if tau == 1.0 {
            let road = match arc.share[1] {
                1.0 => cell.forward[2],
                0.0 => cell.backward[2],
                share => self.mesh.road_in(cell, share),
            };
            return (road, x, arc.a[2]);
        }
        let road = self.mesh.road_in(cell, arc.place(tau));
        let slack = |a: f64| self.model.grip_held(&road, x, a, held).value;
        let (mut a, mut rate) = (arc.a_x(self.mesh, &road, tau), self.side * self.slope);
        let mut f = slack(a);
        for _ in 0..5 {
            let next = a - f / rate;
            let f_next = slack(next);
            let chord = (f_next - f) / (next - a);
            if chord * self.side < 0.0 {
                rate = chord;
            }
            (a, f) = (next, f_next);
            if f.abs() < 1e-10 {
                break;
            }
        }
        (road, x, a)
    }

    /// Whether the arc still is the envelope at τ (a condition that went another way may make no difference), and
    /// which way the conditions go there.
    fn look(&self, arc: &Arc, tau: f64) -> (bool, Branches) {
        let (model, side) = (self.model, self.side);
        let held = arc.branches.unwrap_or_default();
        let (road, x, a) = self.state(arc, held, tau);
        let (slack, branches) = model.grip_branches(&road, x, a);
        if branches != held && (slack.value - model.grip_held(&road, x, a, held).value).abs() > SAME {
            return (false, branches);
        }
        (true, model.grip_branches(&road, x, a - side * INSIDE).1)
    }
}
