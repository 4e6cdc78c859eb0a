//! A car's outline from its own dimensions: a generic body on its wheelbase, tracks and wheel radii. No real car's
//! shape is in it.

mod fit;
mod open;

use unladen_study::{LEAST_ROOF_M, ROOF};

use crate::draw::svg::Point;
use crate::worth::body::open::{Open, both, kart, low};

/// What the outline is made from, m.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Size {
    /// Between the axles.
    pub wheelbase_m: f64,
    /// Front and rear.
    pub track_m: [f64; 2],
    /// Rolling radius, front and rear.
    pub radius_m: [f64; 2],
    /// Of the centre of gravity: a closed car's is at about 0.38 of its roof's, so that this says how tall it is.
    pub cg_height_m: f64,
}

/// Outlines in m: x back from the front axle line; z up, or y to the right.
#[derive(Clone, Debug, PartialEq)]
pub struct Body {
    /// From the side, closed, with its wheel arches.
    pub side: Vec<Point>,
    /// Panes from the side, closed.
    pub side_glass: Vec<Vec<Point>>,
    /// From above, closed.
    pub top: Vec<Point>,
    /// Panes from above, closed.
    pub top_glass: Vec<Vec<Point>>,
    /// Wheels from above, closed.
    pub top_wheels: Vec<Vec<Point>>,
}

/// No higher than this many wheel radii.
const MOST_RADII: f64 = 6.5;
/// Seat or headrest of an open car, over its centre of gravity.
const SEAT: f64 = 2.3;
/// An open car shorter than this between its axles is a kart, m.
const KART_M: f64 = 1.5;
/// A closed car's bonnet is no lower than this share of its roof.
const BONNET: f64 = 0.6;
/// Roof in wheel radii of a saloon, and by how much more of it a car is a box up to its tail.
const SALOON_RADII: f64 = 4.3;
const BOX: f64 = 1.4;
/// Wheel arch over wheel.
pub(crate) const ARCH: f64 = 1.14;
/// Underside, in wheel radii.
const SILL: f64 = 0.66;
/// Points between two of a curve.
const FINE: usize = 10;

impl Body {
    /// Of a car of this size: closed where a driver has room beneath a roof, else open, or a kart.
    pub fn new(size: &Size) -> Body {
        let l = size.wheelbase_m;
        let [f, r] = size.radius_m;
        let wide = [0, 1].map(|i| 0.5 * size.track_m[i] + 0.42 * size.radius_m[i]);
        let top_wheels = top_wheels(size);
        let roof = ROOF * size.cg_height_m;
        if roof < LEAST_ROOF_M {
            let tall = (SEAT * size.cg_height_m).max(3.0 * f.max(r));
            let is_kart = l < KART_M;
            let Open { side, top, panes } = if is_kart {
                let body = kart(l, [f, r], tall, wide);
                Open { side: smooth(&body.side, true), top: smooth(&body.top, true), ..body }
            } else {
                let body = low(l, [f, r], tall, top(l, f, r, wide), wide);
                Open { side: on_wheels(&body.side, l, f, r), ..body }
            };
            return Body { side, side_glass: Vec::new(), top, top_glass: panes, top_wheels };
        }
        let roof = roof.min(MOST_RADII * f.max(r));
        let closed = Closed::new(l, f, r, roof);
        Body {
            side: closed.side(),
            side_glass: closed.side_glass(),
            top: top(l, f, r, wide),
            top_glass: top_glass(l, r, wide),
            top_wheels,
        }
    }

    /// Least and greatest x, over body and wheels.
    pub fn reach(&self) -> (f64, f64) {
        let x = self.side.iter().chain(&self.top).chain(self.top_wheels.iter().flatten()).map(|p| p.0);
        x.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), x| (low.min(x), high.max(x)))
    }

    /// How tall it is.
    pub fn height(&self) -> f64 {
        self.side.iter().map(|p| p.1).fold(0.0, f64::max)
    }

    /// Half its width, over body and wheels.
    pub fn half_width(&self) -> f64 {
        self.top.iter().chain(self.top_wheels.iter().flatten()).map(|p| p.1).fold(0.0, f64::max)
    }
}

/// A closed car from the side.
struct Closed {
    l: f64,
    f: f64,
    r: f64,
    roof: f64,
    /// Height of bonnet and tail where they meet the panes.
    cowl: f64,
    tail: f64,
    /// 0 a saloon, 1 a box up to its tail.
    boxy: f64,
}

impl Closed {
    fn new(l: f64, f: f64, r: f64, roof: f64) -> Closed {
        let boxy = ((roof / (0.5 * (f + r)) - SALOON_RADII) / BOX).clamp(0.0, 1.0);
        let cowl = (2.92 * f).max(BONNET * roof).min(0.86 * roof);
        Closed { l, f, r, roof, cowl, tail: (3.12 * r).max(BONNET * roof).min(0.9 * roof), boxy }
    }

    /// A saloon's, or a box's.
    fn mix(&self, saloon: f64, boxed: f64) -> f64 {
        saloon + self.boxy * (boxed - saloon)
    }

    fn side(&self) -> Vec<Point> {
        let Closed { l, f, r, roof, cowl, tail, .. } = *self;
        let above = [
            (-2.25 * f, SILL * f),
            (-2.50 * f, 1.05 * f),
            (-2.52 * f, 0.58 * cowl),
            (-2.20 * f, 0.76 * cowl),
            (-0.40 * f, 0.904 * cowl),
            (0.19 * l, cowl),
            (0.29 * l, 0.5 * (cowl + 0.95 * roof)),
            (0.39 * l, 0.95 * roof),
            (0.52 * l, roof),
            (0.70 * l, self.mix(0.985, 0.995) * roof),
            (0.87 * l, self.mix(0.89, 0.985) * roof),
            (l + 0.60 * r, self.mix(tail, 0.955 * roof)),
            (l + 1.95 * r, self.mix(0.968 * tail, 0.88 * roof)),
            (l + 2.42 * r, self.mix(0.872 * tail, 0.62 * roof)),
            (l + 2.52 * r, 0.625 * tail),
            (l + 2.46 * r, 1.10 * r),
            (l + 2.15 * r, SILL * r),
        ];
        on_wheels(&above, l, f, r)
    }

    fn side_glass(&self) -> Vec<Vec<Point>> {
        let Closed { l, f, r, roof, cowl, tail, .. } = *self;
        let base = [cowl + 0.13 * f, self.mix(tail + 0.08 * r, cowl + 0.13 * f)];
        let front = [(0.25 * l, base[0]), (0.405 * l, 0.92 * roof), (0.55 * l, 0.945 * roof), (0.55 * l, base[0])];
        let rear = [
            (0.585 * l, base[0]),
            (0.585 * l, 0.945 * roof),
            (0.70 * l, 0.93 * roof),
            (self.mix(0.83 * l, l + 0.35 * r), self.mix(0.86, 0.90) * roof),
            (self.mix(0.945 * l, l + 1.5 * r), base[1]),
        ];
        // Of a car lower than that there is nothing to look out of.
        if 0.84 * roof > base[0].max(base[1]) { vec![front.to_vec(), rear.to_vec()] } else { Vec::new() }
    }
}

/// A line over the car from nose to tail, closed beneath by its sill and its wheel arches.
fn on_wheels(above: &[Point], l: f64, f: f64, r: f64) -> Vec<Point> {
    let mut all = smooth(above, false);
    all.extend(arch(l, r));
    all.extend(arch(0.0, f));
    all
}

/// Over a wheel, from its back to its front.
fn arch(x: f64, r: f64) -> impl Iterator<Item = Point> {
    let from = -(((1.0 - SILL) / ARCH).asin());
    let turn = std::f64::consts::PI - 2.0 * from;
    (0..=24).map(move |i| {
        let angle = from + turn * f64::from(i) / 24.0;
        (x + ARCH * r * angle.cos(), r + ARCH * r * angle.sin())
    })
}

fn top(l: f64, f: f64, r: f64, [w_f, w_r]: [f64; 2]) -> Vec<Point> {
    let right = [
        (-2.52 * f, 0.0),
        (-2.46 * f, 0.48 * w_f),
        (-2.20 * f, 0.80 * w_f),
        (-1.30 * f, 0.965 * w_f),
        (0.10 * l, w_f),
        (0.50 * l, 0.5 * (w_f + w_r)),
        (0.90 * l, w_r),
        (l + 1.35 * r, 0.96 * w_r),
        (l + 2.22 * r, 0.82 * w_r),
        (l + 2.47 * r, 0.50 * w_r),
        (l + 2.52 * r, 0.0),
    ];
    smooth(&both(&right), true)
}

fn top_glass(l: f64, r: f64, [w_f, w_r]: [f64; 2]) -> Vec<Vec<Point>> {
    let across = |x: f64, bow: f64, half: f64| -> Vec<Point> {
        (-8..=8).map(|i| f64::from(i) / 8.0).map(|s| (x + bow * (1.0 - s * s), half * s)).collect()
    };
    let pane =
        |low: Vec<Point>, high: Vec<Point>| -> Vec<Point> { low.into_iter().chain(high.into_iter().rev()).collect() };
    vec![
        pane(across(0.235 * l, -0.045 * l, 0.84 * w_f), across(0.40 * l, -0.025 * l, 0.68 * w_f)),
        pane(across(0.83 * l, 0.02 * l, 0.68 * w_r), across(l + 0.35 * r, 0.03 * l, 0.80 * w_r)),
    ]
}

fn top_wheels(size: &Size) -> Vec<Vec<Point>> {
    let wheel = |axle: usize, side: f64| -> Vec<Point> {
        let (x, y, r) = (axle as f64 * size.wheelbase_m, 0.5 * side * size.track_m[axle], size.radius_m[axle]);
        let corners = [
            (-1.0, -0.3),
            (-0.94, -0.34),
            (0.94, -0.34),
            (1.0, -0.3),
            (1.0, 0.3),
            (0.94, 0.34),
            (-0.94, 0.34),
            (-1.0, 0.3),
        ];
        corners.iter().map(|(u, v)| (x + u * r, y + v * r)).collect()
    };
    vec![wheel(0, -1.0), wheel(0, 1.0), wheel(1, -1.0), wheel(1, 1.0)]
}

/// A curve through points (centripetal Catmull–Rom, which makes no loops).
fn smooth(points: &[Point], closed: bool) -> Vec<Point> {
    let n = points.len();
    let at = |i: isize| {
        let last = n as isize - 1;
        points[if closed { i.rem_euclid(n as isize) } else { i.clamp(0, last) } as usize]
    };
    let pieces = if closed { n } else { n - 1 };
    let mut out = Vec::new();
    for i in 0..pieces as isize {
        let p = [at(i - 1), at(i), at(i + 1), at(i + 2)];
        out.extend((0..FINE).map(|k| between(p, k as f64 / FINE as f64)));
    }
    if !closed {
        out.push(points[n - 1]);
    }
    out
}

/// Between the middle two of four points, by the recursion of Barry and Goldman (1988) with knots at the root of the
/// distance.
fn between(p: [Point; 4], share: f64) -> Point {
    let knot = |a: Point, b: Point| (a.0 - b.0).hypot(a.1 - b.1).sqrt().max(1e-6);
    let t1 = knot(p[0], p[1]);
    let t2 = t1 + knot(p[1], p[2]);
    let t3 = t2 + knot(p[2], p[3]);
    let t = t1 + share * (t2 - t1);
    let mix = |a: Point, b: Point, from: f64, to: f64| {
        let w = (t - from) / (to - from);
        (a.0 + w * (b.0 - a.0), a.1 + w * (b.1 - a.1))
    };
    let (a, b, c) = (mix(p[0], p[1], 0.0, t1), mix(p[1], p[2], t1, t2), mix(p[2], p[3], t2, t3));
    mix(mix(a, b, 0.0, t2), mix(b, c, t1, t3), t1, t2)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn closed_form_a_saloon_is_about_as_long_as_one() {
        let size = Size { wheelbase_m: 2.57, track_m: [1.505, 1.5], radius_m: [0.31; 2], cg_height_m: 0.492 };
        let body = Body::new(&size);
        let (from, to) = body.reach();
        assert!((to - from - 4.13).abs() < 0.03, "{}", to - from);
        assert!((body.height() - 2.6 * 0.492).abs() < 0.01);
        assert!((body.half_width() - (0.7525 + 0.42 * 0.31)).abs() < 0.01);
    }

    /// A kart is low, short and open, its wheels outside its body; a large car is tall, and a box up to its tail.
    #[test]
    fn closed_form_a_kart_is_no_saloon_and_neither_is_a_tall_car() {
        let kart = Size { wheelbase_m: 1.05, track_m: [1.06, 1.12], radius_m: [0.13; 2], cg_height_m: 0.23 };
        let body = Body::new(&kart);
        let (from, to) = body.reach();
        assert!((1.5..1.8).contains(&(to - from)) && body.height() < 0.6, "{} long, {} high", to - from, body.height());
        assert!(body.side_glass.is_empty());
        let beside = |x: f64| body.top.iter().filter(|p| (p.0 - x).abs() < 0.06).map(|p| p.1).fold(0.0, f64::max);
        assert!(beside(0.0) < 0.5 * 1.06 - 0.34 * 0.13 && beside(1.05) < 0.5 * 1.12 - 0.34 * 0.13, "wheels stand free");
        let tall = Size { wheelbase_m: 2.9, track_m: [1.6; 2], radius_m: [0.36; 2], cg_height_m: 0.74 };
        let saloon = Size { cg_height_m: 0.5, ..tall };
        let at_tail = |size: &Size| {
            let side = Body::new(size).side;
            side.iter().filter(|p| p.0 > 2.9 + 0.5 * 0.36).map(|p| p.1).fold(0.0, f64::max)
        };
        assert!(at_tail(&tall) > 1.4 * at_tail(&saloon) && Body::new(&tall).height() > 1.85);
    }

    proptest! {
        /// From a kart to a van: finite, above ground, wider than its tracks, and the same on both sides.
        #[test]
        fn property_every_size_has_an_outline(
            l in 0.8..4.5f64, track in 0.6..2.2f64, rear in 0.6..2.2f64, f in 0.1..0.5f64, r in 0.1..0.5f64, h in 0.1..1.5f64
        ) {
            let body = Body::new(&Size { wheelbase_m: l, track_m: [track, rear], radius_m: [f, r], cg_height_m: h });
            let glass = body.side_glass.iter().chain(&body.top_glass).chain(&body.top_wheels).flatten();
            prop_assert!(body.side.iter().chain(&body.top).chain(glass).all(|p| p.0.is_finite() && p.1.is_finite()));
            prop_assert!(body.side.iter().all(|p| p.1 > 0.0));
            prop_assert!(body.half_width() > 0.5 * track.max(rear));
            let lowest = body.top.iter().chain(body.top_wheels.iter().flatten()).map(|p| p.1).fold(0.0, f64::min);
            prop_assert!((body.half_width() + lowest).abs() < 1e-9);
        }
    }
}
