//! X_max: the highest X at which any a_x is feasible (`docs/model.md` §7), where the set shrinks to one point.

use unladen_vehicle::branches::Branches;
use unladen_vehicle::road::Road;
use unladen_vehicle::{Dual, Model, Scalar};

/// How far beside a corner of the set the two conditions that meet there are looked at, m/s²: enough for rounding not to
/// confuse them.
const BESIDE: f64 = 3e-7;

/// The top of the feasible set at a station.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Top {
    /// X_max, m²/s².
    pub x: f64,
    /// The one a_x feasible there, m/s².
    pub a_x: f64,
    /// Where two conditions meet at the top, a_x a little to its left and right, each ruled by one of them.
    pub corner: Option<[f64; 2]>,
}

/// A top, and what makes the next one cheap to find.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ceiling {
    /// It.
    pub top: Top,
    /// The two pieces of the envelope that meet at it, if two do.
    pub seam: Option<Seam>,
}

impl Ceiling {
    /// A top where no two pieces meet.
    pub fn plain(x: f64, a_x: f64) -> Self {
        Self { top: Top { x, a_x, corner: None }, seam: None }
    }
}

/// Two pieces of the envelope that meet at a top, on its left and on its right.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Seam {
    pieces: [Branches; 2],
    /// Their slacks' slopes over X and a_x.
    slopes: [[f64; 2]; 2],
}

/// How a_x compares with a relative change of X, m/s².
const A_SCALE: f64 = 10.0;

/// Slack of everything that bounds X: grip, and the engine in its best gear.
pub fn slack<S: Scalar>(model: &Model<S>, road: &Road<S>, x: S, a_x: S) -> S {
    let grip = model.grip(road, x, a_x).value;
    // Only a top that needs drive can be out of the engine's reach.
    if x.value() <= 0.0 || model.axles(road, x, a_x).f_x.value() <= 0.0 {
        return grip;
    }
    let suffices = powers(model, road, x, a_x).any(|p| p.value() >= grip.value());
    if suffices { grip } else { grip.min(best_power(model, road, x, a_x)) }
}

/// Slack of the power limit in the gear that has most of it.
pub fn best_power<S: Scalar>(model: &Model<S>, road: &Road<S>, x: S, a_x: S) -> S {
    let best = powers(model, road, x, a_x).reduce(S::max);
    best.unwrap_or_else(|| model.power(road, x, a_x, S::from(0.0), model.gearing.m_rot_shifting))
}

/// Slack of the power limit in each mode that reaches X.
fn powers<S: Scalar>(model: &Model<S>, road: &Road<S>, x: S, a_x: S) -> impl Iterator<Item = S> {
    let gearing = &model.gearing;
    let able = gearing.modes.iter().enumerate().filter(move |(_, mode)| x.value() <= mode.x_end.value());
    able.map(move |(i, mode)| {
        let (piece, _) = gearing.piece_at(i, x.value());
        model.power(road, x, a_x, gearing.force(mode, &piece, x), mode.m_rot)
    })
}

/// A point of the set's upper edge.
#[derive(Clone, Copy)]
struct Point {
    a: f64,
    x: f64,
    /// dX/da along the edge.
    rate: f64,
    /// The slack's slope over X there.
    slope: f64,
}

/// The top is between these two: the edge rises at the left one and falls at the right one.
struct Bracket {
    left: Point,
    right: Point,
}

impl Bracket {
    fn width(&self) -> f64 {
        self.right.a - self.left.a
    }

    fn higher(&self) -> &Point {
        if self.left.x >= self.right.x { &self.left } else { &self.right }
    }

    /// Too narrow for another point to raise the top.
    fn is_closed(&self) -> bool {
        let (width, least) = (self.width(), 1e-12 * self.left.x.max(1.0));
        // The edge lies below its tangents.
        width < 1e-8 || self.left.rate * width < least || -self.right.rate * width < least
    }

    /// The edge has a corner in it.
    fn is_corner(&self) -> bool {
        let (left, right) = (self.left.rate, self.right.rate);
        left - right > 1e-3 * (left.abs() + right.abs()).max(1e-6)
            && left > 1e-5
            && right < -1e-5
            && self.width() < 1e-5
    }

    /// Where the tangents meet, for a corner of the set.
    fn tangents(&self) -> f64 {
        let Bracket { left, right } = self;
        left.a + (right.x - left.x - right.rate * self.width()) / (left.rate - right.rate)
    }

    /// Where the rate vanishes, for a smooth top.
    fn vertex(&self) -> f64 {
        self.left.a + self.width() * self.left.rate / (self.left.rate - self.right.rate)
    }
}

/// Steps along X shorter than this, relative, come within reach of one with derivatives …
const NEARBY: f64 = 1e-6;

/// … and one with derivatives that is shorter than this lands: it leaves the square of its length.
const LANDS: f64 = 1e-8;

/// The same for the top itself.
const EXACT: f64 = 1e-12;

/// The edge is round where a point on it is so much flatter than the one before.
const FLATTER: f64 = 0.2;

/// Rounds of closing in on a top.
const ROUNDS: usize = 90;

/// The ceiling at a station, up to `x_limit`, looked for from (X, a_x) of the last one. `None` where no speed holds.
pub fn ceiling(plain: &Model, model: &Model<Dual<2>>, flat: &Road, from: (f64, f64), x_limit: f64) -> Option<Ceiling> {
    let edge = Edge { plain, model, flat, road: flat.lift(), x_limit };
    let first = edge.at(from.1, from.0, 0.0)?;
    let Some(mut bracket) = edge.uphill(first) else { return Some(Ceiling::plain(f64::INFINITY, 0.0)) };
    let (mut three_ago, mut round_top) = (bracket.width(), None);
    for round in 0..ROUNDS {
        if round % 4 == 1
            && let Some(corner) = edge.corner_in(&bracket)
        {
            return Some(corner);
        }
        if bracket.is_closed() {
            break;
        }
        let Some(point) = edge.between(&bracket, round, round_top, &mut three_ago) else { break };
        // As high everywhere: the end of a gear, above which no other pulls hard enough.
        if [bracket.left.x, bracket.right.x].iter().all(|x| (x - point.x).abs() <= 1e-12 * point.x) {
            bracket.left = point;
            break;
        }
        let end = if point.rate > 0.0 { &mut bracket.left } else { &mut bracket.right };
        let before = std::mem::replace(end, point);
        round_top = None;
        if point.rate.abs() < FLATTER * before.rate.abs() {
            let ahead = point.rate * (point.a - before.a) / (before.rate - point.rate);
            // A parabola has no more than this left to rise.
            if 0.5 * point.rate * ahead < 1e-13 * point.x {
                bracket = Bracket { left: point, right: point };
                break;
            }
            round_top = Some(point.a + ahead);
        }
    }
    Some(edge.top(&bracket))
}

/// The upper edge of the feasible set at a station.
struct Edge<'a> {
    plain: &'a Model,
    model: &'a Model<Dual<2>>,
    flat: &'a Road,
    road: Road<Dual<2>>,
    x_limit: f64,
}

impl Edge<'_> {
    /// X at a given a_x, looked for from `x`, where the slack's slope over X is about `slope` (0: not known); `None` where no
    /// X holds.
    fn at(&self, a: f64, x: f64, slope: f64) -> Option<Point> {
        self.landed(a, x, slope, LANDS)
    }

    /// [`Edge::at`], with a last step that is shorter than `lands`, relative: chords come close (Anderson and Björck's, once
    /// there is a bracket), a step with derivatives lands.
    fn landed(&self, a: f64, x: f64, slope: f64, lands: f64) -> Option<Point> {
        let (mut lo, mut hi) = ((0.0, f64::NAN), (f64::INFINITY, f64::NAN));
        let (mut x, mut slopes, mut close, mut last) = (x.max(1e-3), [slope, 0.0], false, (f64::NAN, 0.0f64));
        for _ in 0..100 {
            let exact = close || slopes[0] == 0.0;
            let g = if exact {
                let g = slack(self.model, &self.road, Dual::variable(x, 0), Dual::variable(a, 1));
                slopes = g.d;
                g.v
            } else {
                slack(self.plain, self.flat, x, a)
            };
            let (end, other) = if g >= 0.0 { (&mut lo, &mut hi) } else { (&mut hi, &mut lo) };
            // The end that stays loses weight.
            if g * last.1 > 0.0 {
                other.1 *= if g / last.1 < 1.0 { 1.0 - g / last.1 } else { 0.5 };
            }
            *end = (x, g);
            if !exact && !last.0.is_nan() {
                slopes[0] = (g - last.1) / (x - last.0);
            }
            last = (x, g);
            let (newton, narrow) = (x - g / slopes[0], hi.0 - lo.0 < 1e-13 * hi.0);
            if exact && ((newton - x).abs() <= lands * x || narrow) {
                let is_none = lo.0 == 0.0 && hi.0 < 1e-6;
                return (!is_none).then_some(Point { a, x: newton, rate: -slopes[1] / slopes[0], slope: slopes[0] });
            }
            if lo.0 > 4.0 * self.x_limit {
                return None;
            }
            let chord = hi.0 - hi.1 * (hi.0 - lo.0) / (hi.1 - lo.1);
            let is_within = |next: f64| next > lo.0 && next < hi.0;
            let next = match () {
                _ if !exact && is_within(chord) => chord,
                _ if slopes[0] < 0.0 && is_within(newton) => newton,
                _ if hi.0.is_finite() => 0.5 * (lo.0 + hi.0),
                _ => 2.0 * x + 10.0,
            };
            close = (next - x).abs() <= NEARBY * x || narrow;
            x = next;
        }
        let g = slack(self.model, &self.road, Dual::variable(x, 0), Dual::variable(a, 1));
        Some(Point { a, x, rate: -g.d[1] / g.d[0], slope: g.d[0] })
    }

    /// Uphill until the edge falls; `None` where it rises beyond what counts.
    fn uphill(&self, first: Point) -> Option<Bracket> {
        let (mut last, mut step) = (first, 0.05);
        loop {
            let dir = if last.rate > 0.0 { 1.0 } else { -1.0 };
            let next = self.at(last.a + dir * step, last.x + (last.rate.abs() * step).min(0.5 * last.x), last.slope)?;
            if next.x >= self.x_limit * (1.0 - 1e-9) {
                return None;
            }
            if (next.rate > 0.0) != (last.rate > 0.0) {
                let (left, right) = if dir > 0.0 { (last, next) } else { (next, last) };
                return Some(Bracket { left, right });
            }
            last = next;
            step *= 3.0;
            if step > 1e3 {
                return None;
            }
        }
    }

    /// The corner where the slacks of the two pieces in sight are both 0, if it is in the bracket.
    fn corner_in(&self, bracket: &Bracket) -> Option<Ceiling> {
        let Bracket { left, right } = bracket;
        let pieces = [self.piece(left.x, left.a - BESIDE), self.piece(right.x, right.a + BESIDE)];
        if pieces[0] == pieces[1] {
            return None;
        }
        let &Point { x, a, .. } = bracket.higher();
        let start = Ceiling { seam: Some(self.seam(pieces, x, a)), ..Ceiling::plain(x, a) };
        let is_in =
            |Ceiling { top, .. }: &Ceiling| top.a_x >= left.a && top.a_x <= right.a && top.x >= x * (1.0 - 1e-12);
        follow_seam(self.plain, self.flat, &start).filter(is_in)
    }

    /// A point in the bracket, where the top is expected.
    fn between(&self, bracket: &Bracket, round: usize, round_top: Option<f64>, three_ago: &mut f64) -> Option<Point> {
        let Bracket { left, right } = bracket;
        let width = bracket.width();
        let by_turns = || if round.is_multiple_of(2) { bracket.vertex() } else { bracket.tangents() };
        let expected = round_top.unwrap_or_else(by_turns);
        // Keep off the ends: a point on one of them tells nothing.
        let margin = (0.25 * width).min(2e-9);
        let mut a = expected.clamp(left.a + margin, right.a - margin);
        // One end may not move: halve where three tries did not.
        let is_third = round % 3 == 2;
        if is_third && round_top.is_none() && width > 0.5 * *three_ago || !a.is_finite() {
            a = left.a + 0.5 * width;
        }
        if is_third {
            *three_ago = width;
        }
        self.at(a, bracket.higher().x, bracket.higher().slope)
    }

    /// What the bracket closed in on.
    fn top(&self, bracket: &Bracket) -> Ceiling {
        let &Point { x, a, .. } = bracket.higher();
        // A piece may have been left just before it landed.
        let exact = self.landed(a, x, 0.0, EXACT).map(|point| point.x);
        let x = exact.filter(|exact| (exact - x).abs() <= NEARBY * x).unwrap_or(x);
        let mut ceiling = Ceiling::plain(x, a);
        if bracket.is_corner() {
            // The corner is somewhere in the bracket.
            let beside = [a.min(bracket.left.a) - BESIDE, a.max(bracket.right.a) + BESIDE];
            ceiling.top.corner = Some(beside);
            ceiling.seam = Some(self.seam(beside.map(|a| self.piece(x, a)), x, a));
        }
        ceiling
    }

    fn seam(&self, pieces: [Branches; 2], x: f64, a: f64) -> Seam {
        let at = |p| self.model.grip_held(&self.road, Dual::variable(x, 0), Dual::variable(a, 1), p).value.d;
        Seam { pieces, slopes: pieces.map(at) }
    }

    fn piece(&self, x: f64, a: f64) -> Branches {
        self.plain.grip_branches(self.flat, x, a).1
    }
}

/// The ceiling where two pieces of the envelope meet, known from the station before; `None` where they no longer do.
/// Found by Broyden's method from the slopes that held there (C. G. Broyden, Math. Comp. 19, 1965, from memory).
pub fn follow_seam(model: &Model, road: &Road, last: &Ceiling) -> Option<Ceiling> {
    let Seam { pieces: [left, right], mut slopes } = last.seam?;
    let at = |x: f64, a: f64| [model.grip_held(road, x, a, left).value, model.grip_held(road, x, a, right).value];
    let (mut x, mut a) = (last.top.x, last.top.a_x);
    let mut f = at(x, a);
    for _ in 0..12 {
        let [[l_x, l_a], [r_x, r_a]] = slopes;
        let det = l_x * r_a - r_x * l_a;
        let d_x = (-f[0] * r_a + f[1] * l_a) / det;
        let d_a = (-f[1] * l_x + f[0] * r_x) / det;
        x += d_x;
        a += d_a;
        if x.is_nan() || x <= 0.0 || !a.is_finite() || d_a.abs() > 3.0 {
            return None;
        }
        // The slopes are good to a thousandth by now, and so is what this last move left over.
        if d_x.abs() < 1e-9 * x && d_a.abs() < 1e-9 * A_SCALE {
            let falls_both_ways = l_x < 0.0 && r_x < 0.0 && l_a > 0.0 && r_a < 0.0;
            // Both pieces must be the ones that bind here, not continuations of what binds elsewhere.
            let beside = [a - BESIDE, a + BESIDE];
            let binds = |a: f64, piece: Branches| model.grip_branches(road, x, a).1 == piece;
            let holds = || slack(model, road, x, a) > -1e-11;
            let sound = falls_both_ways && binds(beside[0], left) && binds(beside[1], right) && holds();
            let seam = Some(Seam { pieces: [left, right], slopes });
            return sound.then_some(Ceiling { top: Top { x, a_x: a, corner: Some(beside) }, seam });
        }
        f = at(x, a);
        let (u, v) = (d_x / x, d_a / A_SCALE);
        let size = u * u + v * v;
        for (slope, f) in slopes.iter_mut().zip(f) {
            // What is left over is what the slopes missed on the way.
            slope[0] += f * u / size / x;
            slope[1] += f * v / size / A_SCALE;
        }
    }
    None
}
