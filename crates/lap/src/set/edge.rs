//! Where a line in the (X, a_x) plane leaves the feasible set.

/// Roots are found to this, m/s².
const TOLERANCE: f64 = 1e-11;

/// A chord lands on the root to rounding where it is shorter than this, m/s², …
const CLOSE: f64 = 1e-6;

/// … and its length times the last change of slope, relative, shorter than this.
const LANDED: f64 = 1e-10;

/// Chords longer than this, m/s², are left to the search that keeps a bracket.
const REACH: f64 = 0.5;

/// Longest stride of a walk, m/s².
const STRIDE: f64 = 6.0;

/// Difference from which slopes are taken, m/s².
const NEAR: f64 = 1e-7;

/// Net of points looked at where nothing better is known, in steps of …
const NET: std::ops::Range<i32> = -40..41;

/// … this, m/s².
const NET_WIDTH: f64 = 0.4;

#[derive(Clone, Copy)]
struct Point {
    z: f64,
    f: f64,
}

/// Largest z with f(z) ≥ 0 (up to rounding), for f that rises to one peak and falls beyond it; `None` if even the peak
/// is below 0.
///
/// `guess` is where to look first; `slope` (< 0) the slope expected at the root, replaced by the one found. Neither
/// need be good: near a ceiling no particular z is known to be feasible.
pub fn outer_edge(f: impl Fn(f64) -> f64, guess: f64, slope: &mut f64) -> Option<f64> {
    near_edge(&f, guess, slope).or_else(|| {
        // A bad guess can lead astray where f bends far from its peak: look for any feasible point on a net.
        let at = |z: f64| Point { z, f: f(z) };
        let found = NET.rev().map(|i| at(f64::from(i) * NET_WIDTH)).find(|p| p.f >= 0.0)?;
        walk(&at, found, slope)
    })
}

/// [`outer_edge`] where the guess is good, or `None` is no loss.
pub fn near_edge(f: impl Fn(f64) -> f64, guess: f64, slope: &mut f64) -> Option<f64> {
    let at = |z: f64| Point { z, f: f(z) };
    let first = at(guess);
    chords(&at, first, slope).or_else(|| walk(&at, first, slope))
}

/// The search that keeps a bracket: walk from a first point until one is feasible and another, further out, is not.
fn walk(at: &impl Fn(f64) -> Point, first: Point, slope: &mut f64) -> Option<f64> {
    let mut a = first;
    let stride = (first.f / *slope).clamp(-STRIDE, STRIDE);
    let mut b = at(if stride == 0.0 { first.z + 1e-6 } else { first.z - stride });
    if a.z > b.z {
        std::mem::swap(&mut a, &mut b);
    }
    for _ in 0..80 {
        let width = b.z - a.z;
        let rate = (b.f - a.f) / width;
        match (a.f >= 0.0, b.f >= 0.0) {
            (true, false) => return Some(refine(at, a, b, slope)),
            (_, true) => {
                let stride = if rate < 0.0 { (-1.2 * b.f / rate).max(1e-9) } else { 2.0 * width.max(1e-3) };
                a = b;
                b = at(a.z + stride.min(STRIDE));
            }
            (false, false) if a.f > b.f => {
                let inner = at(a.z - (-a.f / -rate).clamp(1e-9, STRIDE));
                if inner.f < a.f {
                    a = peak(at, inner, b)?;
                } else {
                    (a, b) = (inner, a);
                }
            }
            (false, false) => {
                let outer = at(b.z + (2.0 * width).clamp(1e-3, STRIDE));
                if outer.f < b.f {
                    a = peak(at, a, outer)?;
                    b = outer;
                } else {
                    (a, b) = (b, outer);
                }
            }
        }
    }
    None
}

/// A few chords from a good guess, accepted where they close in on a root at which f falls; most roots end here.
fn chords(at: &impl Fn(f64) -> Point, first: Point, slope: &mut f64) -> Option<f64> {
    let mut p = first;
    let (mut rate, mut bend) = (*slope, 1.0);
    if (p.f / rate).abs() < CLOSE {
        // On an edge already, but on which? Only a look beside it tells.
        let inside = at(p.z - 100.0 * CLOSE);
        rate = (p.f - inside.f) / (p.z - inside.z);
        if !(rate < 0.0 && inside.f >= 0.0) {
            return None;
        }
        bend = 0.0;
    }
    for _ in 0..4 {
        let move_by = -p.f / rate;
        if move_by.abs() < CLOSE && (move_by * bend).abs() < LANDED {
            *slope = rate;
            return Some(p.z + move_by);
        }
        if move_by.abs() > REACH {
            return None;
        }
        let q = at(p.z + move_by);
        let next = (q.f - p.f) / move_by;
        if !(next < 0.2 * rate && next > 5.0 * rate) {
            return None;
        }
        (p, rate, bend) = (q, next, 1.0 - rate / next);
    }
    None
}

/// Regula falsi after Anderson and Björck: superlinear, never leaves the bracket.
fn refine(at: &impl Fn(f64) -> Point, mut inner: Point, mut outer: Point, slope: &mut f64) -> f64 {
    let (mut f_in, mut f_out) = (inner.f, outer.f);
    let mut side = 0i8;
    for _ in 0..80 {
        let width = outer.z - inner.z;
        if width > 1e-6 {
            *slope = ((outer.f - inner.f) / width).min(-1e-3);
        }
        if width < TOLERANCE {
            break;
        }
        let mut z = inner.z + width * f_in / (f_in - f_out);
        if !(z > inner.z && z < outer.z) {
            z = inner.z + 0.5 * width;
        }
        let p = at(z);
        let shrink = |old: f64| if p.f / old < 1.0 { 1.0 - p.f / old } else { 0.5 };
        if p.f >= 0.0 {
            if side == 1 {
                f_out *= shrink(f_in);
            }
            let moved = z - inner.z;
            (inner, f_in, side) = (p, p.f, 1);
            if moved < TOLERANCE || p.f < 1e-15 {
                break;
            }
        } else {
            if side == -1 {
                f_in *= shrink(f_out);
            }
            let moved = outer.z - z;
            (outer, f_out, side) = (p, p.f, -1);
            if moved < TOLERANCE || p.f > -1e-15 {
                return z;
            }
        }
    }
    inner.z
}

/// A feasible point near the peak of f between `lo` and `hi`, where it is below 0 and rises inwards; `None` if even the
/// peak is below 0. The peak may be a corner or round.
fn peak(at: &impl Fn(f64) -> Point, lo: Point, hi: Point) -> Option<Point> {
    let rate = |p: &Point| (at(p.z + NEAR).f - p.f) / NEAR;
    let (mut lo, mut hi) = ((lo, rate(&lo)), (hi, rate(&hi)));
    for i in 0..80 {
        let width = hi.0.z - lo.0.z;
        if width < 4.0 * NEAR {
            return None;
        }
        // Where the tangents meet (a corner), or where the rate vanishes (a round top); now and then the middle.
        let fall = lo.1 - hi.1;
        let corner = lo.0.z + (hi.0.f - lo.0.f - hi.1 * width) / fall;
        let round = lo.0.z + width * lo.1 / fall;
        if width < 1e-3 && lo.0.f + lo.1 * (corner - lo.0.z) < -1e-9 {
            return None;
        }
        let z = match i % 3 {
            0 => corner,
            1 => round,
            _ => lo.0.z + 0.5 * width,
        };
        let margin = NEAR.min(0.1 * width);
        let z = if z.is_finite() { z.clamp(lo.0.z + margin, hi.0.z - margin) } else { lo.0.z + 0.5 * width };
        let p = at(z);
        if p.f >= 0.0 {
            return Some(p);
        }
        let r = rate(&p);
        if r > 0.0 { lo = (p, r) } else { hi = (p, r) }
    }
    None
}
