//! Derivatives of the discrete lap, exact: the solved lap is run through once more in numbers that carry derivatives, each
//! root's derivative from the implicit function theorem (`docs/model.md` §8).
//!
//! The sequence of gears, events and stations is held as solved.

use unladen_vehicle::road::Road;
use unladen_vehicle::{Model, Scalar};

use crate::backward::brake::{Anchor, Braking};
use crate::forward::profile::{Event, Gears, Piece, Regime, Step, stage};
use crate::set::ceiling::{Top, slack};
use crate::set::connected::coasting;
use crate::set::pull::{Pull, advantage};
use crate::solved::lap::Solved;
use crate::step::arc::{Arc, slope_per_a};
use crate::step::mesh::Mesh;
use crate::step::tableau::{A, C, Poly, travel_time};

/// How roots are differentiated.
pub trait Roots<S> {
    /// z with f(z) = 0, known.
    fn root(&self, z: f64, f: impl FnOnce(S) -> S) -> S;
    /// The same where f has roots of its own.
    fn outer(&self, z: f64, f: impl Fn(S) -> S) -> S;
    /// Whether a lap's derivatives have come back to what they were a lap ago.
    fn settled(&self, before: S, after: S) -> bool;
}

/// What runs along with X while driving.
#[derive(Clone, Copy)]
struct State<S> {
    x: S,
    share: S,
    elapsed: S,
}

struct Curve<S> {
    poly: Poly<S>,
    length: S,
    /// Shares of the cell between which it was set up.
    share: [S; 2],
    /// a_x at its last stage.
    a_end: S,
}

impl<S: Scalar> Curve<S> {
    fn place(&self, tau: S) -> S {
        self.share[0] + (self.share[1] - self.share[0]) * tau
    }

    fn tau(&self, place: f64) -> S {
        (-self.share[0] + place) / (self.share[1] - self.share[0])
    }
}

/// A solved lap, ready to be run through again.
pub struct Replay<'a, S, R> {
    /// Stations.
    pub mesh: &'a Mesh,
    /// The car, in numbers that carry derivatives.
    pub model: &'a Model<S>,
    /// The lap.
    pub solved: &'a Solved,
    /// How its roots are differentiated.
    pub roots: &'a R,
}

impl<S: Scalar, R: Roots<S>> Replay<'_, S, R> {
    /// Time at every station; `begins` is told which cell is about to be run through, braking and driving.
    pub fn run(&self, begins: &mut impl FnMut(usize)) -> Vec<S> {
        let n = self.mesh.cells.len();
        let (braking, profile) = (&self.solved.braking, &self.solved.profile);
        let (k, curves) = self.braking(braking, begins);
        let first = profile.first;
        let zero = S::from(0.0);
        let x = if profile.states[first].on_k { k[first] } else { S::from(profile.states[first].x) };
        let mut state = State { x, share: zero, elapsed: zero };
        let mut dt = vec![zero; n];
        // Without a point where the profile is pinned to K, the start's derivatives settle from lap to lap.
        let laps = if self.mesh.closed && !profile.states[first].on_k { 60 } else { 1 };
        for _ in 0..laps {
            let before = state.x;
            for count in 0..n {
                let i = (first + count) % n;
                begins(i);
                if profile.states[i].on_k {
                    state.x = k[i];
                }
                state.share = zero;
                dt[i] = self.cell(i, &mut state, &k, &curves);
            }
            if self.roots.settled(before, state.x) {
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
    fn braking(&self, braking: &Braking, begins: &mut impl FnMut(usize)) -> (Vec<S>, Vec<Vec<Curve<S>>>) {
        let n = self.mesh.cells.len();
        let zero = S::from(0.0);
        let mut k: Vec<S> = braking.k.iter().map(|&k| S::from(k)).collect();
        let mut curves: Vec<Vec<Curve<S>>> = (0..n).map(|_| vec![]).collect();
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
            begins(i);
            end = match braking.anchor[i + 1] {
                Anchor::Brake if count > 0 => end,
                Anchor::Brake => S::from(braking.k[i + 1]),
                Anchor::Limiter => self.limiter(),
                Anchor::Ceiling(top, before) if on[i] || on[(i + 1) % n] => self.top(i + 1, &top, before),
                Anchor::Ceiling(top, _) => S::from(top.x),
            };
            k[i + 1] = end;
            if i + 1 == n && self.mesh.closed {
                k[0] = end;
            }
            let mut x = end;
            let arcs = braking.curve(i);
            if on[i] || arcs.is_empty() {
                let mut from = S::from(1.0);
                for arc in arcs {
                    let curve = self.arc(arc, from, x, |road, x, a| self.grip(arc, road, x, a));
                    x = curve.poly.at(S::from(1.0));
                    from = curve.share[1];
                    curves[i].push(curve);
                }
            } else {
                let last = &arcs[arcs.len() - 1];
                x = S::from(last.poly.at(1.0));
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

    fn limiter(&self) -> S {
        self.model.gearing.modes.iter().map(|m| m.x_end).fold(S::from(0.0), |a, b| a.max(b))
    }

    /// X_max at a station.
    fn top(&self, station: usize, top: &Top, before: bool) -> S {
        let n = self.mesh.cells.len();
        let road = if before || station == n && !self.mesh.closed {
            &self.mesh.cells[(station + n - 1) % n].forward[2]
        } else {
            &self.mesh.cells[station % n].backward[2]
        };
        let road: Road<S> = road.lift();
        let off = |x: S, a: S| slack(self.model, &road, x, a);
        match top.corner {
            None => self.roots.root(top.x, |x| off(x, S::from(top.a_x))),
            Some([left, right]) => self.roots.outer(top.x, |x| {
                let a = self.roots.root(right, |a| off(x, a));
                off(x, a - right + left)
            }),
        }
    }

    /// A step's curve, its start place and X given with their derivatives. Where it ends at a kink that end moves too.
    fn arc(&self, arc: &Arc, from: S, x_0: S, residual: impl Fn(&Road<S>, S, S) -> S) -> Curve<S> {
        let to = S::from(arc.share[1]);
        let Some(next) = arc.meets else { return self.arc_to(arc, [from, to], x_0, &residual) };
        let to = self.roots.outer(arc.share[1], |to| {
            let curve = self.arc_to(arc, [from, to], x_0, &residual);
            let road = self.mesh.road_in(&self.mesh.cells[arc.cell], to);
            self.model.grip_held(&road, curve.poly.at(S::from(1.0)), curve.a_end, next).value
        });
        self.arc_to(arc, [from, to], x_0, &residual)
    }

    fn arc_to(&self, arc: &Arc, share: [S; 2], x_0: S, residual: &impl Fn(&Road<S>, S, S) -> S) -> Curve<S> {
        let cell = &self.mesh.cells[arc.cell];
        let width = share[1] - share[0];
        let length = width * cell.length;
        let zero = S::from(0.0);
        let (mut u, mut a_end) = ([zero; 3], zero);
        for j in 0..3 {
            let road: Road<S> = if arc.share == [0.0, 1.0] {
                cell.forward[j].lift()
            } else if arc.share == [1.0, 0.0] {
                cell.backward[j].lift()
            } else {
                self.mesh.road_in(cell, share[0] + width * C[j])
            };
            let per_a = slope_per_a(&road);
            let base = x_0 + length * (0..j).fold(zero, |sum, l| sum + u[l] * A[j][l]);
            let k = length * per_a * A[j][j];
            a_end = self.roots.root(arc.a[j], |a| residual(&road, base + k * a, a));
            u[j] = a_end * per_a;
        }
        let mut poly = Poly::new(x_0, length, u);
        if let Some(a) = arc.leaves_at {
            let road: Road<S> = self.mesh.road_in(cell, share[0]);
            let start = self.roots.root(a, |a| residual(&road, x_0, a)) * slope_per_a(&road);
            poly = poly.leaving_at(length, [start, u[2]]);
        }
        Curve { poly, length, share, a_end }
    }

    /// Slack of the piece of the grip envelope that a step followed.
    fn grip(&self, arc: &Arc, road: &Road<S>, x: S, a_x: S) -> S {
        match arc.branches {
            Some(held) => self.model.grip_held(road, x, a_x, held).value,
            None => self.model.grip(road, x, a_x).value,
        }
    }

    /// One cell; returns its time.
    fn cell(&self, i: usize, state: &mut State<S>, k: &[S], curves: &[Vec<Curve<S>>]) -> S {
        let cell = &self.mesh.cells[i];
        let profile = &self.solved.profile;
        let mut t = S::from(0.0);
        for piece in profile.pieces(i) {
            match *piece {
                Piece::Step(j) => t = t + self.step(&profile.steps[j], state, k),
                Piece::Brake { from, .. } => {
                    for (arc, curve) in self.solved.braking.curve(i).iter().zip(&curves[i]) {
                        if arc.share[0] > from {
                            // Where K was met may stand still: X is the same on both.
                            let tau = if arc.tau(from) < 1.0 { curve.tau(from) } else { S::from(1.0) };
                            let sec = |tau| self.mesh.sec_in(cell, curve.place(tau));
                            t = t + travel_time(&curve.poly, curve.length, tau, S::from(0.0), sec);
                        }
                    }
                    state.x = k[i + 1];
                }
                Piece::Ceiling { from, x, .. } => {
                    let sec = self.mesh.sec_in(cell, 0.5 * (1.0 + from));
                    let end = if x[1] == k[i + 1].value() { k[i + 1] } else { state.x + (x[1] - x[0]) };
                    let v = state.x.sqrt() + end.sqrt();
                    t = t + S::from(2.0 * cell.length * (1.0 - from) * sec) / v;
                    state.x = end;
                }
                Piece::Limiter { share, mode, rolls, .. } => {
                    let x = self.model.gearing.modes[mode].x_end;
                    // Where grip or K end it speed bends smoothly, and that place may stand still; not where drive ends.
                    let to = if rolls {
                        self.roots.root(share[1], |to| self.rolling(&self.mesh.road_in(cell, to), x))
                    } else {
                        S::from(share[1])
                    };
                    let from = if share[0] == 0.0 { S::from(0.0) } else { state.share };
                    let sec = self.mesh.sec_in(cell, (from + to) * 0.5);
                    (state.x, state.share) = (x, to);
                    t = t + (to - from) * sec * cell.length / x.sqrt();
                }
            }
        }
        t
    }

    /// Slack of rolling.
    fn rolling(&self, road: &Road<S>, x: S) -> S {
        self.model.grip(road, x, coasting(self.model, road, x)).value
    }

    /// One step of the forward pass to its event; returns its time.
    fn step(&self, step: &Step, state: &mut State<S>, k: &[S]) -> S {
        let (model, arc) = (self.model, &step.arc);
        let cell = &self.mesh.cells[arc.cell];
        let pull = Pull::new(model, step.engaged);
        if let Gears::Shifting { elapsed, .. } = step.gears
            && elapsed == 0.0
        {
            state.elapsed = S::from(0.0);
        }
        // A start inside the cell moves with the event that made it; at the cell's ends it is fixed.
        let from = if arc.share[0] == 0.0 { S::from(0.0) } else { state.share };
        let curve = self.arc(arc, from, state.x, |road, x, a| match step.regime {
            Regime::Grip => self.grip(arc, road, x, a),
            Regime::Power => pull.slack(model, road, x, a),
        });
        let road_at = |tau: S| self.mesh.road_in(cell, curve.place(tau));
        let sec = |tau: S| self.mesh.sec_in(cell, curve.place(tau));
        let time = |tau: S| travel_time(&curve.poly, curve.length, S::from(0.0), tau, sec);
        let tau_at = |x: S| self.roots.root(step.tau, |tau| curve.poly.at(tau) - x);
        let tau = match (step.event, step.gears) {
            // X is continuous there, so that place may stand still.
            (Event::Braking | Event::Limiter, _) => curve.tau(arc.place(step.tau)),
            (Event::End | Event::Ceiling, _) => S::from(step.tau),
            (Event::Turn, _) => self.roots.root(step.tau, |tau| {
                let road = road_at(tau);
                let a = curve.poly.slope(tau) / curve.length / slope_per_a(&road);
                stage(model, &pull, step.regime.other(), &road, curve.poly.at(tau), a)
            }),
            (Event::Piece(upper), Gears::In { mode, .. }) => {
                let x = match step.engaged {
                    crate::set::pull::Engaged::Mode { x, .. } => x,
                    crate::set::pull::Engaged::Shifting => arc.x_0,
                };
                let (_, [lo, hi]) = model.gearing.piece_at(mode, x);
                tau_at(if upper { hi } else { lo })
            }
            (Event::ModeEnd, Gears::In { mode, .. }) => tau_at(model.gearing.modes[mode].x_end),
            (Event::Better(to) | Event::UpshiftSpeed(to), Gears::In { mode, .. }) => {
                self.roots.root(step.tau, |tau| advantage(model, &road_at(tau), mode, to, curve.poly.at(tau)))
            }
            (Event::Under(to), _) => tau_at(model.gearing.modes[to].x_end * (1.0 - 1e-9)),
            (Event::ShiftEnd, _) => {
                self.roots.root(step.tau, |tau| state.elapsed + time(tau) - model.gearing.shift_time)
            }
            (Event::Rolls | Event::RollsNoMore, _) => {
                self.roots.root(step.tau, |tau| self.rolling(&road_at(tau), curve.poly.at(tau)))
            }
            _ => S::from(step.tau),
        };
        let t = time(tau);
        if let Gears::Shifting { .. } = step.gears {
            state.elapsed = state.elapsed + t;
        }
        state.share = if step.event == Event::End { curve.share[1] } else { curve.place(tau) };
        state.x = match step.event {
            Event::Ceiling => k[arc.cell + 1],
            Event::Limiter => self.limiter(),
            _ => curve.poly.at(tau),
        };
        t
    }
}
