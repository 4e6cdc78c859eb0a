//! A quantity that is linear over a plane, drawn as shades and lines inside an outline.

use crate::draw::svg::Point;

/// value = at_origin + du·u + dv·v.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Plane {
    /// Where u and v are zero.
    pub at_origin: f64,
    /// For each u.
    pub du: f64,
    /// For each v.
    pub dv: f64,
}

impl Plane {
    /// Its value at a point.
    pub fn at(&self, p: Point) -> f64 {
        self.at_origin + self.du * p.0 + self.dv * p.1
    }

    /// Least and greatest over points.
    pub fn range(&self, points: &[Point]) -> (f64, f64) {
        let values = points.iter().map(|p| self.at(*p));
        values.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), v| (low.min(v), high.max(v)))
    }

    /// The part of a polygon where it is at least `level` (Sutherland and Hodgman 1974: where that is in several
    /// pieces, they hang together by lines of no width).
    pub fn above(&self, polygon: &[Point], level: f64) -> Vec<Point> {
        let mut out = Vec::new();
        for (i, &a) in polygon.iter().enumerate() {
            let b = polygon[(i + 1) % polygon.len()];
            let (va, vb) = (self.at(a) - level, self.at(b) - level);
            if va >= 0.0 {
                out.push(a);
            }
            if (va >= 0.0) != (vb >= 0.0) {
                out.push(cross(a, b, va, vb));
            }
        }
        out
    }

    /// The part of a polygon from `low` to `high`.
    pub fn between(&self, polygon: &[Point], low: f64, high: f64) -> Vec<Point> {
        let down = Plane { at_origin: -self.at_origin, du: -self.du, dv: -self.dv };
        down.above(&self.above(polygon, low), -high)
    }

    /// The pieces of the line at `level` inside a polygon, each from its lower u (or v) on.
    pub fn line(&self, polygon: &[Point], level: f64) -> Vec<(Point, Point)> {
        let mut on: Vec<Point> = Vec::new();
        for (i, &a) in polygon.iter().enumerate() {
            let b = polygon[(i + 1) % polygon.len()];
            let (va, vb) = (self.at(a) - level, self.at(b) - level);
            if (va >= 0.0) != (vb >= 0.0) {
                on.push(cross(a, b, va, vb));
            }
        }
        // Along the line: at right angles to the slope.
        let along = |p: &Point| {
            let s = p.0 * self.dv - p.1 * self.du;
            if self.dv < 0.0 || (self.dv == 0.0 && self.du > 0.0) { -s } else { s }
        };
        on.sort_by(|a, b| along(a).total_cmp(&along(b)));
        on.chunks_exact(2).map(|pair| (pair[0], pair[1])).collect()
    }
}

fn cross(a: Point, b: Point, va: f64, vb: f64) -> Point {
    let w = va / (va - vb);
    (a.0 + w * (b.0 - a.0), a.1 + w * (b.1 - a.1))
}

#[cfg(test)]
mod tests {
    use super::*;

    const SQUARE: [Point; 4] = [(0.0, 0.0), (2.0, 0.0), (2.0, 2.0), (0.0, 2.0)];

    fn area(p: &[Point]) -> f64 {
        (0..p.len()).map(|i| (p[i], p[(i + 1) % p.len()])).map(|(a, b)| 0.5 * (a.0 * b.1 - b.0 * a.1)).sum()
    }

    #[test]
    fn closed_form_a_square_cut() {
        let plane = Plane { at_origin: 1.0, du: 1.0, dv: 0.0 };
        assert_eq!(plane.range(&SQUARE), (1.0, 3.0));
        assert_eq!(area(&plane.above(&SQUARE, 2.5)), 1.0);
        assert_eq!((area(&plane.above(&SQUARE, 0.0)), plane.above(&SQUARE, 9.0).len()), (4.0, 0));
        assert_eq!((area(&plane.between(&SQUARE, 1.5, 2.0)), area(&plane.between(&SQUARE, 2.5, 9.0))), (1.0, 1.0));
        assert_eq!(plane.line(&SQUARE, 2.0), [((1.0, 0.0), (1.0, 2.0))]);
        let slant = Plane { at_origin: 0.0, du: 1.0, dv: -1.0 };
        assert_eq!(slant.line(&SQUARE, 1.0), [((1.0, 0.0), (2.0, 1.0))]);
        assert_eq!(area(&slant.above(&SQUARE, 0.0)), 2.0);
        let flat = Plane { at_origin: 1.0, du: 0.0, dv: 0.0 };
        assert!(flat.line(&SQUARE, 1.0).is_empty());
    }

    /// A U, cut across both arms: two pieces.
    #[test]
    fn closed_form_what_is_not_convex_is_cut_in_pieces() {
        let u = [(0.0, 0.0), (3.0, 0.0), (3.0, 3.0), (2.0, 3.0), (2.0, 1.0), (1.0, 1.0), (1.0, 3.0), (0.0, 3.0)];
        let plane = Plane { at_origin: 0.0, du: 0.0, dv: 1.0 };
        assert_eq!(plane.line(&u, 2.0), [((0.0, 2.0), (1.0, 2.0)), ((2.0, 2.0), (3.0, 2.0))]);
        assert_eq!(area(&plane.above(&u, 2.0)), 2.0);
    }
}
