//! The lowest point of a function of one number that falls and then rises, smooth or with a kink there.
//!
//! Secants from either side meet at a kink, and below whatever lies between them where the function is convex: so few
//! points tell where to look next, and when nothing is left to gain.

use crate::retune::TOLERANCE;

/// What can be gained by looking on is less than this: enough.
const TIE: f64 = 1e-6;
/// Points at most.
const MOST: usize = 60;
/// A step downhill is so much longer than the one before.
const LONGER: f64 = 3.0;

/// Where, and its value.
type Point = (f64, f64);

/// The lowest point between the two ends, which belong to it, and what came with it; the way down begins at `start`
/// with `step`. With several low points it finds one of them.
pub(super) fn valley<T: Copy>(
    ends: [f64; 2],
    start: f64,
    step: f64,
    mut f: impl FnMut(f64) -> (T, f64),
) -> (f64, (T, f64)) {
    // A reach of one point may have its ends the wrong way round by rounding.
    let (a, b) = (ends[0].min(ends[1]), ends[0].max(ends[1]));
    let mut with: Vec<(f64, T)> = Vec::new();
    let mut seen: Vec<Point> = Vec::new();
    let mut look = |x: f64, seen: &mut Vec<Point>| {
        let at = seen.partition_point(|p| p.0 < x);
        if seen.get(at).is_none_or(|p| p.0 != x) {
            let (own, value) = f(x);
            with.push((x, own));
            seen.insert(at, (x, if value.is_finite() { value } else { f64::INFINITY }));
        }
    };
    let start = start.clamp(a, b);
    for x in [start, start - step, start + step] {
        look(x.clamp(a, b), &mut seen);
    }
    let mut step = step;
    loop {
        let (m, last) = (lowest(&seen), seen.len() - 1);
        step *= LONGER;
        match m {
            0 if seen[0].0 > a => look((seen[0].0 - step).max(a), &mut seen),
            m if m == last && seen[last].0 < b => look((seen[last].0 + step).min(b), &mut seen),
            _ => break,
        }
    }
    for turn in 0..MOST {
        let Some((x, said)) = next(&seen, turn) else { break };
        look(x, &mut seen);
        let as_said = |p: &Point| p.0 == x && said.is_some_and(|said| (p.1 - said).abs() < TIE);
        // Where a parabola holds, its lowest point is that.
        if as_said(&seen[lowest(&seen)]) {
            break;
        }
    }
    let (x, value) = seen[lowest(&seen)];
    let own = with.iter().find(|w| w.0 == x).map_or(with[0].1, |w| w.1);
    (x, (own, value))
}

/// Of equals the first.
fn lowest(seen: &[Point]) -> usize {
    (0..seen.len()).fold(0, |best, i| if seen[i].1 < seen[best].1 { i } else { best })
}

/// Where to look next, and what a parabola says of it; `None`: nothing is to be gained.
fn next(seen: &[Point], turn: usize) -> Option<(f64, Option<f64>)> {
    let m = lowest(seen);
    let (x, value) = seen[m];
    let sides = [m.checked_sub(1), (m + 1 < seen.len()).then_some(m + 1)];
    let width: f64 = sides.iter().flatten().map(|&n| (seen[n].0 - x).abs()).sum();
    if width <= TOLERANCE {
        return None;
    }
    let looks = sides.iter().enumerate().filter_map(|(i, n)| Some(between(seen, m, (*n)?, sides[1 - i])));
    let (at, _) = looks.filter(|l| l.1 < value - TIE).min_by(|a, b| a.1.total_cmp(&b.1))?;
    let apart = |x: f64| seen.iter().all(|p| (p.0 - x).abs() > 0.25 * TOLERANCE);
    let inner = |x: &f64| seen.first().is_some_and(|p| *x > p.0) && seen.last().is_some_and(|p| *x < p.0) && apart(*x);
    let wider = sides.iter().flatten().copied().max_by(|&a, &b| {
        let to = |n: usize| (seen[n].0 - x).abs();
        to(a).total_cmp(&to(b))
    })?;
    let half = 0.5 * (x + seen[wider].0);
    let bow = parabola(seen, m, sides).filter(|bow| inner(&bow.0));
    match (turn % 4, bow) {
        (1, Some((x, said))) => Some((x, Some(said))),
        (3, _) => Some((half, None)),
        _ => Some((if inner(&at) { at } else { half }, None)),
    }
}

/// Where between the lowest point and a neighbour it may lie lowest, and how low.
fn between(seen: &[Point], m: usize, n: usize, other: Option<usize>) -> Point {
    let (low, end) = (seen[m], seen[n]);
    let half = (0.5 * (low.0 + end.0), f64::NEG_INFINITY);
    let beyond = if n < m { n.checked_sub(1) } else { Some(n + 1).filter(|&i| i < seen.len()) };
    let Some(beyond) = beyond.map(|i| seen[i]).filter(|p| p.1.is_finite() && end.1.is_finite()) else { return half };
    let slope = |p: Point, q: Point| (q.1 - p.1) / (q.0 - p.0);
    let outer = slope(end, beyond);
    let Some(other) = other.map(|i| seen[i]) else {
        // The lowest is an end: nothing lies below the secant there.
        return (low.0 + 0.25 * (end.0 - low.0), end.1 + outer * (low.0 - end.0));
    };
    if !other.1.is_finite() {
        return half;
    }
    let inner = slope(other, low);
    let at = (low.1 - end.1 + outer * end.0 - inner * low.0) / (outer - inner);
    let inside = (at - low.0) * (at - end.0) < 0.0;
    if inside { (at, low.1 + inner * (at - low.0)) } else { low }
}

/// The lowest point of the parabola through the lowest and both its neighbours.
fn parabola(seen: &[Point], m: usize, sides: [Option<usize>; 2]) -> Option<Point> {
    let ([a, b], (x, value)) = ([seen[sides[0]?], seen[sides[1]?]], seen[m]);
    let (p, q) = (a.0 - x, b.0 - x);
    let (to_a, to_b) = ((a.1 - value) / p, (b.1 - value) / q);
    let bend = (to_a - to_b) / (p - q);
    let slope = to_a - bend * p;
    let off = -0.5 * slope / bend;
    off.is_finite().then_some((x + off, value + 0.5 * slope * off))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn count(f: impl Fn(f64) -> f64, start: f64, step: f64) -> (f64, f64, usize) {
        let mut laps = 0;
        let (x, ((), value)) = valley([0.0, 1.0], start, step, |x| {
            laps += 1;
            ((), f(x))
        });
        (x, value, laps)
    }

    /// A kink, a parabola, both, an end, and a wall: the least value is found within a millionth (near the wall within
    /// the slope times the tolerance), of a kink between straight sides in a handful of points.
    #[test]
    fn closed_form_valleys() {
        let (x, _, points) = count(|x| if x < 0.3137 { 2.0 * (0.3137 - x) } else { x - 0.3137 }, 0.5, 0.1);
        assert!((x - 0.3137).abs() < 1e-5 && points <= 9, "{x} {points}");
        let (_, least, points) = count(|x| 4.0 * (x - 0.62).powi(2), 0.3, 0.02);
        assert!(least < 1e-6 && points <= 16, "{least} {points}");
        let (_, least, points) = count(|x| (x - 0.4).powi(2) + 0.3 * (x - 0.41).abs(), 0.9, 0.02);
        assert!((least - 1e-4) < 1e-6 && points <= 20, "{least} {points}");
        assert_eq!(count(|x| x * x + x, 0.5, 0.1).0, 0.0);
        assert_eq!(count(|x| -x, 0.5, 0.1).0, 1.0);
        let (x, ..) = count(|x| if x < 0.55 { f64::INFINITY } else { x }, 0.7, 0.1);
        assert!((x - 0.55).abs() <= TOLERANCE, "{x}");
    }
}
