//! Lines with fewer points: what makes no difference to see is left out, so that files stay small.

use crate::draw::svg::Point;

/// What can't be seen, px.
const SEEN: f64 = 0.05;

/// The points without those that a line through the others passes by less than can be seen. From each kept point a cone
/// of directions is narrowed until a point falls outside, or the line turns back.
pub fn thinned(points: &[Point]) -> Vec<Point> {
    let (Some(first), Some(end)) = (points.first(), points.last()) else { return Vec::new() };
    let mut out = vec![*first];
    let (mut from, mut last) = (*first, *first);
    // Direction of the cone's axis, its edges against that, and the furthest reach so far.
    let mut cone: Option<(f64, f64, f64)> = None;
    let mut reach = 0.0f64;
    for p in &points[1..] {
        loop {
            let (dx, dy) = (p.0 - from.0, p.1 - from.1);
            let far = dx.hypot(dy);
            if far <= SEEN && reach <= SEEN {
                break;
            }
            let half = (SEEN / far).min(1.0).asin();
            let (axis, low, high) = cone.unwrap_or((dy.atan2(dx), -half, half));
            let off =
                (dy.atan2(dx) - axis + std::f64::consts::PI).rem_euclid(std::f64::consts::TAU) - std::f64::consts::PI;
            if cone.is_none() || (off >= low && off <= high && far >= reach - SEEN) {
                cone = Some((axis, low.max(off - half), high.min(off + half)));
                reach = reach.max(far);
                break;
            }
            out.push(last);
            (from, cone, reach) = (last, None, 0.0);
        }
        last = *p;
    }
    if points.len() > 1 {
        out.push(*end);
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn property_thinning_keeps_what_can_be_seen() {
        let wave: Vec<Point> = (0..=20_000).map(|i| f64::from(i) * 0.01).map(|x| (x, 30.0 * (0.3 * x).sin())).collect();
        let spikes: Vec<Point> =
            (0..4000).map(|i| (f64::from(i) * 0.02, if i % 7 == 0 { 50.0 } else { 0.0 })).collect();
        let back: Vec<Point> = [0.0, 30.0, 60.0, 20.0, 80.0].map(|y| (5.0, y)).to_vec();
        for (points, most) in [(&wave, 900), (&spikes, 4000), (&back, 5)] {
            let thin = thinned(points);
            assert!(thin.len() <= most, "{}", thin.len());
            assert_eq!((thin[0], thin[thin.len() - 1]), (points[0], points[points.len() - 1]));
            for p in points {
                let near = thin.windows(2).map(|w| to_piece(*p, w[0], w[1])).fold(f64::MAX, f64::min);
                assert!(near < 0.11, "{p:?} is {near} off");
            }
        }
        assert!(thinned(&back).contains(&(5.0, 60.0)) && thinned(&back).contains(&(5.0, 20.0)));
        assert_eq!(thinned(&[]), []);
        assert_eq!(thinned(&[(1.0, 2.0), (1.0, 2.0)]), [(1.0, 2.0), (1.0, 2.0)]);
    }

    /// Distance of a point from a piece of line.
    fn to_piece(p: Point, a: Point, b: Point) -> f64 {
        let (dx, dy) = (b.0 - a.0, b.1 - a.1);
        let w = (((p.0 - a.0) * dx + (p.1 - a.1) * dy) / (dx * dx + dy * dy).max(1e-12)).clamp(0.0, 1.0);
        (p.0 - a.0 - w * dx).hypot(p.1 - a.1 - w * dy)
    }
}
