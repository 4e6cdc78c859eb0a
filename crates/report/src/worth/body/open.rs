//! Outlines of cars without a roof: a kart, whose wheels stand free, and a low open car.

use crate::draw::svg::Point;

/// From the side and from above, as [`crate::worth::body::Body`] has them.
pub(crate) struct Open {
    pub side: Vec<Point>,
    pub top: Vec<Point>,
    pub panes: Vec<Vec<Point>>,
}

/// Bumper, nose and pods of a kart low between its wheels; behind the wheel a seat whose back is the highest there is.
pub(crate) fn kart(l: f64, [f, r]: [f64; 2], tall: f64, [w_f, w_r]: [f64; 2]) -> Open {
    let side = [
        (-1.9 * f, 0.45 * f),
        (-2.3 * f, 0.75 * f),
        (-2.3 * f, 1.35 * f),
        (-1.6 * f, 1.75 * f),
        (0.12 * l, 1.9 * f),
        (0.30 * l, 0.80 * tall),
        (0.37 * l, 0.84 * tall),
        (0.41 * l, 0.72 * tall),
        (0.50 * l, 0.38 * tall),
        (0.66 * l, 0.36 * tall),
        (0.75 * l, 0.62 * tall),
        (0.82 * l, tall),
        (0.88 * l, 0.99 * tall),
        (0.90 * l, 0.62 * tall),
        (l, 2.0 * r),
        (l + 1.3 * r, 1.8 * r),
        (l + 1.75 * r, 1.3 * r),
        (l + 1.7 * r, 0.55 * r),
        (l + 1.4 * r, 0.45 * r),
        (0.5 * l, 0.35 * r.min(f)),
    ];
    let pod = 0.5 * (w_f + w_r);
    let right = [
        (-2.3 * f, 0.0),
        (-2.25 * f, 0.50 * w_f),
        (-1.75 * f, 0.72 * w_f),
        (-1.2 * f, 0.50 * w_f),
        (0.0, 0.42 * w_f),
        (1.3 * f, 0.52 * w_f),
        (0.30 * l, 0.90 * pod),
        (0.48 * l, 0.94 * pod),
        (0.66 * l, 0.88 * pod),
        (l - 1.4 * r, 0.46 * w_r),
        (l, 0.42 * w_r),
        (l + 1.25 * r, 0.50 * w_r),
        (l + 1.5 * r, 0.78 * w_r),
        (l + 1.8 * r, 0.72 * w_r),
        (l + 1.85 * r, 0.0),
    ];
    let seat = oval((0.72 * l, 0.0), (0.17 * l, 0.36 * pod));
    let wheel = oval((0.36 * l, 0.0), (0.05 * l, 0.26 * pod));
    let axle = |x: f64, w: f64, r: f64| vec![(x - 0.1 * r, -w), (x - 0.1 * r, w), (x + 0.1 * r, w), (x + 0.1 * r, -w)];
    // Up to the inside of the wheels.
    let axles = [axle(0.0, w_f - 0.76 * f, f), axle(l, w_r - 0.76 * r, r)];
    Open { side: side.to_vec(), top: both(&right), panes: [vec![seat, wheel], axles.to_vec()].concat() }
}

/// A low car with its wheels inside: over the cockpit there is only the driver's headrest.
pub(crate) fn low(l: f64, [f, r]: [f64; 2], tall: f64, top: Vec<Point>, [w_f, w_r]: [f64; 2]) -> Open {
    let deck = (2.75 * f).min(0.86 * tall);
    let side = [
        (-2.25 * f, 0.66 * f),
        (-2.50 * f, 0.95 * f),
        (-2.48 * f, 1.45 * f),
        (-1.90 * f, 1.95 * f),
        (-0.20 * f, 2.42 * f),
        (0.22 * l, deck),
        (0.38 * l, 0.5 * (deck + tall)),
        (0.43 * l, deck),
        (0.50 * l, 0.90 * deck),
        (0.64 * l, 0.90 * deck),
        (0.71 * l, 0.95 * tall),
        (0.77 * l, tall),
        (0.92 * l, 0.5 * (tall + 2.8 * r.min(0.32 * tall))),
        (l + 1.30 * r, 2.60 * r),
        (l + 2.35 * r, 2.40 * r),
        (l + 2.45 * r, 1.80 * r),
        (l + 2.40 * r, 1.05 * r),
        (l + 2.15 * r, 0.66 * r),
    ];
    let half = 0.62 * w_f.min(w_r);
    Open { side: side.to_vec(), top, panes: vec![oval((0.57 * l, 0.0), (0.15 * l, half))] }
}

fn oval((x, y): Point, (long, wide): Point) -> Vec<Point> {
    let turn = |i: i32| f64::from(i) * std::f64::consts::TAU / 32.0;
    // Between an ellipse and its rectangle.
    let bow = |v: f64| v.signum() * v.abs().powf(0.7);
    (0..32).map(|i| (x + long * bow(turn(i).cos()), y + wide * bow(turn(i).sin()))).collect()
}

/// The right half and its mirror.
pub(crate) fn both(right: &[Point]) -> Vec<Point> {
    let left = right.iter().rev().skip(1).take(right.len() - 2).map(|(x, y)| (*x, -y));
    right.iter().copied().chain(left).collect()
}
