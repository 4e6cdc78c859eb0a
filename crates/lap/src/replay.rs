//! Derivatives of the discrete lap, exact: the solved lap is run through once more in dual numbers, each root's
//! derivative from the implicit function theorem (`model.md` §8).
//!
//! The sequence of gears, events and stations is held as solved. Lane 0 of the dual numbers belongs to the unknown of
//! whatever equation is being differentiated; the lanes after it to the numbers asked for.

use unladen_vehicle::road::Road;
use unladen_vehicle::{Car, Dual, Model, Number, Scalar};

use crate::arc::{Arc, slope_per_a};
use crate::brake::{Anchor, Braking};
use crate::ceiling::{Top, slack};
use crate::events::KEPT;
use crate::lap::Solved;
use crate::mesh::Mesh;
use crate::profile::{Event, Gears, Piece, Regime, Step, stage};
use crate::pull::{Pull, advantage};
use crate::tableau::{A, C, Poly, travel_time};

/// Numbers differentiated in one replay.
const LANES: usize = 8;

/// ∂t/∂(number) at every station, for each number asked for: SI of the number, s. The last entry is ∂T.
pub fn derivatives(mesh: &Mesh, car: &Car, solved: &Solved, numbers: &[Number]) -> Vec<Vec<f64>> {
    let mut out = vec![];
    for chunk in numbers.chunks(LANES - 1) {
        let mut dual: Car<Dual<LANES>> = car.map(Dual::from);
        for (lane, &number) in chunk.iter().enumerate() {
            if let Some(place) = dual.number_mut(number) {
                place.d[lane + 1] = 1.0;
            }
        }
        let t = Replay { mesh, model: &Model::new(&dual), solved }.run();
        for lane in 1..=chunk.len() {
            out.push(t.iter().map(|t| t.d[lane]).collect());
        }
    }
    out
}

/// Solve f(z) = 0 for z's derivatives, z known.
fn implicit<const N: usize>(z: f64, f: impl FnOnce(Dual<N>) -> Dual<N>) -> Dual<N> {
    let r = f(Dual::variable(z, 0));
    let d = std::array::from_fn(|i| if i == 0 || r.d[0] == 0.0 { 0.0 } else { -r.d[i] / r.d[0] });
    Dual { v: z, d }
}

/// What runs along with X while driving.
#[derive(Clone, Copy)]
struct State<const N: usize> {
    x: Dual<N>,
    share: Dual<N>,
    elapsed: Dual<N>,
    x_up: Dual<N>,
}

struct Curve<const N: usize> {
    poly: Poly<Dual<N>>,
    length: Dual<N>,
    /// Shares of the cell between which it was set up.
    share: [Dual<N>; 2],
    /// a_x at its last stage.
    a_end: Dual<N>,
}

impl<const N: usize> Curve<N> {
    fn place(&self, tau: Dual<N>) -> Dual<N> {
        self.share[0] + (self.share[1] - self.share[0]) * tau
    }

    fn tau(&self, place: f64) -> Dual<N> {
        (-self.share[0] + place) / (self.share[1] - self.share[0])
    }
}

struct Replay<'a, const N: usize> {
    mesh: &'a Mesh,
    model: &'a Model<Dual<N>>,
    solved: &'a Solved,
}

impl<const N: usize> Replay<'_, N> {
    fn run(&self) -> Vec<Dual<N>> {
        let n = self.mesh.cells.len();
        let (braking, profile) = (&self.solved.braking, &self.solved.profile);
        let (k, curves) = self.braking(braking);
        let first = profile.first;
        let zero = Dual::from(0.0);
        let x = if profile.states[first].on_k { k[first] } else { Dual::from(profile.states[first].x) };
        let mut state = State { x, share: zero, elapsed: zero, x_up: zero };
        let mut dt = vec![zero; n];
        // Without a point where the profile is pinned to K, the start's derivatives settle from lap to lap.
        let laps = if self.mesh.closed { 60 } else { 1 };
        for _ in 0..laps {
            let before = state.x;
            for count in 0..n {
                let i = (first + count) % n;
                if profile.states[i].on_k {
                    state.x = k[i];
                }
                state.share = zero;
                dt[i] = self.cell(i, &mut state, &k, &curves);
            }
            let moved = (0..N).map(|i| (state.x.d[i] - before.d[i]).abs()).fold(0.0, f64::max);
            let size = (0..N).map(|i| state.x.d[i].abs()).fold(0.0, f64::max);
            if !self.mesh.closed || moved <= 1e-12 * size {
                break;
            }
        }
        let mut t = vec![zero];
        for i in 0..n {
            t.push(t[i] + dt[i]);
        }
        t
    }

    /// K at the stations and along the cells, where the profile runs on it.
    fn braking(&self, braking: &Braking) -> (Vec<Dual<N>>, Vec<Vec<Curve<N>>>) {
        let n = self.mesh.cells.len();
        let zero = Dual::from(0.0);
        let mut k: Vec<Dual<N>> = braking.k.iter().map(|&k| Dual::from(k)).collect();
        let mut curves: Vec<Vec<Curve<N>>> = (0..n).map(|_| vec![]).collect();
        let on: Vec<bool> = (0..n)
            .map(|i| {
                let profile = &self.solved.profile;
                profile.pieces(i).iter().any(|p| matches!(p, Piece::Brake { .. }))
                    || profile.states[i].on_k
                    || profile.states[i + 1].on_k
            })
            .collect();
        let pinned = (0..n).rev().find(|&i| !matches!(braking.anchor[i + 1], Anchor::Brake));
        let start = pinned.unwrap_or(n - 1);
        let mut end = zero;
        for count in 0..n {
            let i = (start + n - count) % n;
            end = match braking.anchor[i + 1] {
                Anchor::Brake if count > 0 => end,
                Anchor::Brake => Dual::from(braking.k[i + 1]),
                Anchor::Limiter => self.limiter(),
                Anchor::Ceiling(top, before) if on[i] || on[(i + 1) % n] => self.top(i + 1, &top, before),
                Anchor::Ceiling(top, _) => Dual::from(top.x),
            };
            k[i + 1] = end;
            if i + 1 == n && self.mesh.closed {
                k[0] = end;
            }
            let mut x = end;
            let arcs = braking.curve(i);
            if on[i] || arcs.is_empty() {
                let mut from = Dual::from(1.0);
                for arc in arcs {
                    let curve = self.arc(arc, from, x, |road, x, a| self.grip(arc, road, x, a));
                    x = curve.poly.at(Dual::from(1.0));
                    from = curve.share[1];
                    curves[i].push(curve);
                }
            } else {
                let last = &arcs[arcs.len() - 1];
                x = Dual::from(last.poly.at(1.0));
            }
            end = x;
        }
        if !self.mesh.closed {
            k[0] = match braking.anchor[0] {
                Anchor::Brake => end,
                Anchor::Limiter => self.limiter(),
                Anchor::Ceiling(top, before) => self.top(0, &top, before),
            };
        }
        (k, curves)
    }

    fn limiter(&self) -> Dual<N> {
        self.model.gearing.modes.iter().map(|m| m.x_end).fold(Dual::from(0.0), |a, b| a.max(b))
    }

    /// X_max at a station.
    fn top(&self, station: usize, top: &Top, before: bool) -> Dual<N> {
        let n = self.mesh.cells.len();
        let road = if before || station == n && !self.mesh.closed {
            &self.mesh.cells[(station + n - 1) % n].forward[2]
        } else {
            &self.mesh.cells[station % n].backward[2]
        };
        let road: Road<Dual<N>> = road.lift();
        let by_x = |a: f64| slack(self.model, &road, Dual::variable(top.x, 0), Dual::from(a));
        let by_a = |a: f64| slack(self.model, &road, Dual::from(top.x), Dual::variable(a, 0)).d[0];
        let mut x = Dual::from(top.x);
        match top.corner {
            None => {
                let g = by_x(top.a_x);
                for i in 1..N {
                    x.d[i] = -g.d[i] / g.d[0];
                }
            }
            Some([left, right]) => {
                let (l, r, l_a, r_a) = (by_x(left), by_x(right), by_a(left), by_a(right));
                let det = l.d[0] * r_a - r.d[0] * l_a;
                for i in 1..N {
                    x.d[i] = (-l.d[i] * r_a + r.d[i] * l_a) / det;
                }
            }
        }
        x
    }

    /// A step's curve, its start place and X given with their derivatives. Where it ends at a kink that end moves too.
    fn arc(
        &self,
        arc: &Arc,
        from: Dual<N>,
        x_0: Dual<N>,
        residual: impl Fn(&Road<Dual<N>>, Dual<N>, Dual<N>) -> Dual<N>,
    ) -> Curve<N> {
        let mut to = Dual::from(arc.share[1]);
        let Some(next) = arc.meets else { return self.arc_to(arc, [from, to], x_0, &residual) };
        let ahead = |to: Dual<N>| {
            let curve = self.arc_to(arc, [from, to], x_0, &residual);
            let road = self.mesh.road_in(&self.mesh.cells[arc.cell], to);
            self.model.grip_held(&road, curve.poly.at(Dual::from(1.0)), curve.a_end, next).value
        };
        // Its slope over the end's place: what a derivative of 1 given to that place adds in one lane.
        let still = ahead(to);
        to.d[1] = 1.0;
        let rate = ahead(to).d[1] - still.d[1];
        to.d = still.d.map(|d| -d / rate);
        to.d[0] = 0.0;
        self.arc_to(arc, [from, to], x_0, &residual)
    }

    fn arc_to(
        &self,
        arc: &Arc,
        share: [Dual<N>; 2],
        x_0: Dual<N>,
        residual: &impl Fn(&Road<Dual<N>>, Dual<N>, Dual<N>) -> Dual<N>,
    ) -> Curve<N> {
        let cell = &self.mesh.cells[arc.cell];
        let width = share[1] - share[0];
        let length = width * cell.length;
        let zero = Dual::from(0.0);
        let (mut u, mut a_end) = ([zero; 3], zero);
        for j in 0..3 {
            let road: Road<Dual<N>> = if arc.share == [0.0, 1.0] {
                cell.forward[j].lift()
            } else if arc.share == [1.0, 0.0] {
                cell.backward[j].lift()
            } else {
                self.mesh.road_in(cell, share[0] + width * C[j])
            };
            let per_a = slope_per_a(&road);
            let base = x_0 + length * (0..j).fold(zero, |sum, l| sum + u[l] * A[j][l]);
            let k = length * per_a * A[j][j];
            a_end = implicit(arc.a[j], |a| residual(&road, base + k * a, a));
            u[j] = a_end * per_a;
        }
        Curve { poly: Poly::new(x_0, length, u), length, share, a_end }
    }

    /// Slack of the piece of the grip envelope that a step followed.
    fn grip(&self, arc: &Arc, road: &Road<Dual<N>>, x: Dual<N>, a_x: Dual<N>) -> Dual<N> {
        match arc.branches {
            Some(held) => self.model.grip_held(road, x, a_x, held).value,
            None => self.model.grip(road, x, a_x).value,
        }
    }

    /// One cell; returns its time.
    fn cell(&self, i: usize, state: &mut State<N>, k: &[Dual<N>], curves: &[Vec<Curve<N>>]) -> Dual<N> {
        let cell = &self.mesh.cells[i];
        let profile = &self.solved.profile;
        let mut t = Dual::from(0.0);
        for piece in profile.pieces(i) {
            match *piece {
                Piece::Step(j) => t = t + self.step(&profile.steps[j], state, k),
                Piece::Brake { from, .. } => {
                    for (arc, curve) in self.solved.braking.curve(i).iter().zip(&curves[i]) {
                        if arc.share[0] > from {
                            // Where K was met may stand still: X is the same on both.
                            let tau = if arc.tau(from) < 1.0 { curve.tau(from) } else { Dual::from(1.0) };
                            let sec = |tau| self.mesh.sec_in(cell, curve.place(tau));
                            t = t + travel_time(&curve.poly, curve.length, tau, Dual::from(0.0), sec);
                        }
                    }
                    state.x = k[i + 1];
                }
                Piece::Ceiling { from, x, .. } => {
                    let sec = self.mesh.sec_in(cell, 0.5 * (1.0 + from));
                    let end = if x[1] == k[i + 1].v { k[i + 1] } else { state.x + (x[1] - x[0]) };
                    let v = state.x.sqrt() + end.sqrt();
                    t = t + Dual::from(2.0 * cell.length * (1.0 - from) * sec) / v;
                    state.x = end;
                }
                Piece::Limiter { share, mode, .. } => {
                    let sec = self.mesh.sec_in(cell, 0.5 * (share[0] + share[1]));
                    state.x = self.model.gearing.modes[mode].x_end;
                    state.share = Dual::from(share[1]);
                    t = t + Dual::from(cell.length * (share[1] - share[0]) * sec) / state.x.sqrt();
                }
            }
        }
        t
    }

    /// One step of the forward pass to its event; returns its time.
    fn step(&self, step: &Step, state: &mut State<N>, k: &[Dual<N>]) -> Dual<N> {
        let (model, arc) = (self.model, &step.arc);
        let cell = &self.mesh.cells[arc.cell];
        let pull = Pull::new(model, step.engaged);
        if let Gears::Shifting { elapsed, .. } = step.gears
            && elapsed == 0.0
        {
            state.elapsed = Dual::from(0.0);
            state.x_up = state.x;
        }
        // A start inside the cell moves with the event that made it; at the cell's ends it is fixed.
        let from = if arc.share[0] == 0.0 { Dual::from(0.0) } else { state.share };
        let curve = self.arc(arc, from, state.x, |road, x, a| match step.regime {
            Regime::Grip => self.grip(arc, road, x, a),
            Regime::Power => pull.slack(model, road, x, a),
        });
        let road_at = |tau: Dual<N>| self.mesh.road_in(cell, curve.place(tau));
        let sec = |tau: Dual<N>| self.mesh.sec_in(cell, curve.place(tau));
        let time = |tau: Dual<N>| travel_time(&curve.poly, curve.length, Dual::from(0.0), tau, sec);
        let reach = |x: Dual<N>| implicit(step.tau, |tau| curve.poly.at(tau) - x);
        let tau = match (step.event, step.gears) {
            // X is continuous there, so that place may stand still.
            (Event::Braking | Event::Limiter, _) => curve.tau(arc.place(step.tau)),
            (Event::End | Event::Ceiling, _) => Dual::from(step.tau),
            (Event::Turn, _) => implicit(step.tau, |tau| {
                let road = road_at(tau);
                let a = curve.poly.slope(tau) / curve.length / slope_per_a(&road);
                stage(model, &pull, step.regime.other(), &road, curve.poly.at(tau), a)
            }),
            (Event::Piece(upper), Gears::In { mode, .. }) => {
                let x = match step.engaged {
                    crate::pull::Engaged::Mode { x, .. } => x,
                    crate::pull::Engaged::Shifting => arc.x_0,
                };
                let (_, [lo, hi]) = model.gearing.piece_at(mode, x);
                reach(if upper { hi } else { lo })
            }
            (Event::ModeEnd, Gears::In { mode, .. }) => reach(model.gearing.modes[mode].x_end),
            (Event::Better(to), Gears::In { mode, .. }) => {
                implicit(step.tau, |tau| advantage(model, &road_at(tau), mode, to, curve.poly.at(tau)))
            }
            (Event::Under(to), _) => reach(model.gearing.modes[to].x_end * (1.0 - 1e-9)),
            (Event::ShiftEnd, _) => implicit(step.tau, |tau| state.elapsed + time(tau) - model.gearing.shift_time),
            (Event::TooSlow, _) => reach(state.x_up * KEPT),
            _ => Dual::from(step.tau),
        };
        let t = time(tau);
        state.elapsed = state.elapsed + t;
        state.share = if step.event == Event::End { curve.share[1] } else { curve.place(tau) };
        state.x = match step.event {
            Event::Ceiling => k[arc.cell + 1],
            Event::Limiter => self.limiter(),
            _ => curve.poly.at(tau),
        };
        t
    }
}
