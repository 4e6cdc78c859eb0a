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
pub struct Found {
    /// It.
    pub top: Top,
    /// The two pieces of the envelope that meet at it, if two do.
    pub seam: Option<Seam>,
}

impl Found {
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
    let reach = gearing.modes.iter().enumerate().filter(move |(_, mode)| x.value() <= mode.x_end.value());
    reach.map(move |(i, mode)| {
        let (piece, _) = gearing.piece_at(i, x.value());
        model.power(road, x, a_x, gearing.force(mode, &piece, x), mode.m_rot)
    })
}

struct Point {
    a: f64,
    x: f64,
    /// dX/da along the edge.
    rate: f64,
}

/// The edge's X at given a_x by Newton from `x`; `None` where no X holds.
fn edge_x(model: &Model<Dual<2>>, road: &Road<Dual<2>>, a: f64, x: f64, x_limit: f64) -> Option<Point> {
    let at = |x: f64| slack(model, road, Dual::variable(x, 0), Dual::variable(a, 1));
    let (mut lo, mut hi) = (0.0, f64::INFINITY);
    let mut x = x.max(1e-3);
    for _ in 0..100 {
        let g = at(x);
        if g.v >= 0.0 {
            lo = x
        } else {
            hi = x
        }
        let mut next = x - g.v / g.d[0];
        if !(next > lo && next < hi) || g.d[0] >= 0.0 {
            next = if hi.is_finite() { 0.5 * (lo + hi) } else { 2.0 * x + 10.0 };
        }
        if lo > 4.0 * x_limit {
            return None;
        }
        if (next - x).abs() <= 1e-12 * x || hi - lo < 1e-13 * hi {
            if lo == 0.0 && hi < 1e-6 {
                return None;
            }
            return Some(Point { a, x: next, rate: -g.d[1] / g.d[0] });
        }
        x = next;
    }
    Some(Point {
        a,
        x,
        rate: {
            let g = at(x);
            -g.d[1] / g.d[0]
        },
    })
}

/// The ceiling at a station, up to `x_limit`; `near` is where the last one was (X, a_x). `None` where no speed holds.
pub fn ceiling(plain: &Model, model: &Model<Dual<2>>, flat: &Road, near: (f64, f64), x_limit: f64) -> Option<Found> {
    let road = flat.lift::<Dual<2>>();
    let seam = |pieces: [Branches; 2], x: f64, a: f64| {
        let at = |p| model.grip_held(&road, Dual::variable(x, 0), Dual::variable(a, 1), p).value.d;
        Seam { pieces, slopes: pieces.map(at) }
    };
    let piece = |x: f64, a: f64| plain.grip_branches(flat, x, a).1;
    let cap = Found::plain(f64::INFINITY, 0.0);
    let find = |a: f64, x: f64| edge_x(model, &road, a, x, x_limit);
    let first = find(near.1, near.0)?;
    let mut step = 0.05;
    let (mut left, mut right);
    let mut last = first;
    // Walk uphill until the edge falls.
    loop {
        let dir = if last.rate > 0.0 { 1.0 } else { -1.0 };
        let Some(next) = find(last.a + dir * step, last.x + (last.rate.abs() * step).min(0.5 * last.x)) else {
            return Some(cap);
        };
        if next.x >= x_limit * (1.0 - 1e-9) {
            return Some(cap);
        }
        let turned = (next.rate > 0.0) != (last.rate > 0.0);
        if turned {
            (left, right) = if dir > 0.0 { (last, next) } else { (next, last) };
            break;
        }
        last = next;
        step *= 3.0;
        if step > 1e3 {
            return Some(cap);
        }
    }
    let mut three_ago = right.a - left.a;
    for i in 0..90 {
        let width = right.a - left.a;
        // Two pieces in sight: their corner is where both slacks are 0.
        if i % 4 == 1 {
            let pieces = [piece(left.x, left.a - BESIDE), piece(right.x, right.a + BESIDE)];
            let (x, a) = if left.x >= right.x { (left.x, left.a) } else { (right.x, right.a) };
            let start = Found { seam: Some(seam(pieces, x, a)), ..Found::plain(x, a) };
            let met = if pieces[0] == pieces[1] { None } else { follow_seam(plain, flat, &start) };
            let between =
                |Found { top, .. }: &Found| top.a_x >= left.a && top.a_x <= right.a && top.x >= x * (1.0 - 1e-12);
            if let Some(found) = met.filter(between) {
                return Some(found);
            }
        }
        // At the tangents' meeting for a corner of the set; where the rate vanishes for a smooth top.
        let tangents = left.a + (right.x - left.x - right.rate * width) / (left.rate - right.rate);
        let vertex = left.a + width * left.rate / (left.rate - right.rate);
        let mut a = if i % 2 == 0 { tangents } else { vertex };
        if width < 1e-8 || left.rate * width < 1e-12 * left.x.max(1.0) && -right.rate * width < 1e-12 * left.x.max(1.0)
        {
            break;
        }
        // Keep off the ends: a candidate that stands on one tells nothing.
        let margin = (0.25 * width).min(2e-9);
        a = a.clamp(left.a + margin, right.a - margin);
        // One end may stand still: halve where three tries did not.
        let stands = i % 3 == 2 && width > 0.5 * three_ago;
        if stands || !a.is_finite() {
            a = left.a + 0.5 * width;
        }
        if i % 3 == 2 {
            three_ago = width;
        }
        let Some(p) = find(a, left.x.max(right.x)) else { break };
        // As high everywhere: the end of a gear, above which no other pulls hard enough.
        if [left.x, right.x].iter().all(|x| (x - p.x).abs() <= 1e-12 * p.x) {
            left = p;
            break;
        }
        if p.rate > 0.0 { left = p } else { right = p }
    }
    let corner = left.rate - right.rate > 1e-3 * (left.rate.abs() + right.rate.abs()).max(1e-6)
        && left.rate > 1e-5
        && right.rate < -1e-5
        && right.a - left.a < 1e-5;
    let best = if left.x >= right.x { &left } else { &right };
    let mut found = Found::plain(best.x, best.a);
    if corner {
        let beside = [best.a - BESIDE, best.a + BESIDE];
        found.top.corner = Some(beside);
        found.seam = Some(seam(beside.map(|a| piece(best.x, a)), best.x, best.a));
    }
    Some(found)
}

/// The ceiling where two pieces of the envelope meet, known from the station before; `None` where they no longer do.
/// Found by Broyden's method from the slopes that held there (C. G. Broyden, Math. Comp. 19, 1965, from memory).
pub fn follow_seam(model: &Model, road: &Road, near: &Found) -> Option<Found> {
    let Seam { pieces: [left, right], mut slopes } = near.seam?;
    let at = |x: f64, a: f64| [model.grip_held(road, x, a, left).value, model.grip_held(road, x, a, right).value];
    let (mut x, mut a) = (near.top.x, near.top.a_x);
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
            return sound.then_some(Found { top: Top { x, a_x: a, corner: Some(beside) }, seam });
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

/// Largest slack over a_x at X, and where, on a net refined about its best point.
fn best_a(model: &Model, road: &Road, x: f64) -> (f64, f64) {
    let at = |a: f64| (slack(model, road, x, a), a);
    let better = |p: (f64, f64), q: (f64, f64)| if q.0 > p.0 { q } else { p };
    let mut best = (-64..64).map(|i| at(f64::from(i) * 0.25)).fold((f64::NEG_INFINITY, 0.0), better);
    let mut reach = 0.25;
    while best.0 < 0.0 && reach > 1e-7 {
        reach *= 0.4;
        best = (-2..=2).map(|i| at(best.1 + f64::from(i) * reach)).fold(best, better);
    }
    best
}

/// Grip holds at X for some a_x.
pub fn holds_at(model: &Model, road: &Road, x: f64) -> bool {
    best_a(model, road, x).0 >= 0.0
}

/// The ceiling by search: X rising from rest until nothing holds, then bisection to `close` of itself. `Some(None)`: none
/// below `x_limit`; `None`: nothing holds even at rest. `near` is the last one: where this one is close by it is taken.
pub fn search(model: &Model, road: &Road, x_limit: f64, near: f64, close: f64) -> Option<Option<(f64, f64)>> {
    let best = |x: f64| best_a(model, road, x);
    let bisect = |mut lo: f64, mut a_lo: f64, mut hi: f64| {
        while hi - lo > close * hi && hi > 1e-9 {
            let mid = 0.5 * (lo + hi);
            let (slack, a) = best(mid);
            if slack >= 0.0 { (lo, a_lo) = (mid, a) } else { hi = mid }
        }
        Some(Some((lo, a_lo)))
    };
    for lo in [near, 0.9 * near] {
        let (slack, a) = best(lo);
        if slack >= 0.0 && best(1.1 * lo).0 < 0.0 {
            return bisect(lo, a, 1.1 * lo);
        }
    }
    // A steep bank holds a car at speed that would slide off it at rest: its speeds may be few.
    let points = if best(0.0).0 >= 0.0 { 40 } else { 320 };
    let net = |i: u32| x_limit * (f64::from(i) / f64::from(points)).powi(2);
    let mut last = None;
    for i in 0..=points {
        let (slack, a) = best(net(i));
        if slack >= 0.0 {
            last = Some((net(i), a));
        } else if let Some((lo, a_lo)) = last {
            return bisect(lo, a_lo, net(i));
        }
    }
    last.map(|_| None)
}
