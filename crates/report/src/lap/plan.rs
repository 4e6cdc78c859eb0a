//! A track's plan turned and scaled to fit a picture.

use unladen_track::Pose;

use crate::draw::svg::Point;

/// The plan on paper.
#[derive(Clone, Debug)]
pub struct Fitted {
    /// px a metre.
    pub scale: f64,
    /// Size of the drawn plan, px.
    pub size: Point,
    sin: f64,
    cos: f64,
    least: Point,
}

impl Fitted {
    /// Turned, never mirrored, so that it is as large as fits into `width` by `height` px.
    pub fn new(plan: &[Pose], width: f64, height: f64) -> Fitted {
        // North is not known, so that any turn is as good.
        let turned = |degrees: i32| {
            let (sin, cos) = f64::from(degrees).to_radians().sin_cos();
            let mut fitted = Fitted { scale: 1.0, size: (0.0, 0.0), sin, cos, least: (0.0, 0.0) };
            let (mut least, mut most) = ((f64::MAX, f64::MAX), (f64::MIN, f64::MIN));
            for p in plan {
                let (x, y) = fitted.raw(p);
                least = (least.0.min(x), least.1.min(y));
                most = (most.0.max(x), most.1.max(y));
            }
            let span = ((most.0 - least.0).max(1e-3), (most.1 - least.1).max(1e-3));
            fitted.scale = (width / span.0).min(height / span.1);
            fitted.size = (span.0 * fitted.scale, span.1 * fitted.scale);
            fitted.least = least;
            fitted
        };
        // The first of the best: a hair better doesn't turn the map.
        (0..36).map(|i| turned(5 * i)).reduce(|a, b| if b.scale > a.scale * 1.02 { b } else { a }).unwrap_or(turned(0))
    }

    /// Position of a plan point inside `size`, px, y down.
    pub fn at(&self, p: &Pose) -> Point {
        let (x, y) = self.raw(p);
        ((x - self.least.0) * self.scale, (y - self.least.1) * self.scale)
    }

    fn raw(&self, p: &Pose) -> Point {
        (p.x * self.cos - p.y * self.sin, -(p.x * self.sin + p.y * self.cos))
    }
}

/// The plan with points no further apart than `step_m`, and hardly nearer than half of that; both ends stay.
pub fn resampled(plan: &[Pose], step_m: f64) -> Vec<Pose> {
    let mut out: Vec<Pose> = plan.first().copied().into_iter().collect();
    for (k, b) in plan.iter().enumerate().skip(1) {
        let Some(a) = out.last().copied() else { continue };
        let apart = (b.x - a.x).hypot(b.y - a.y);
        if apart < 0.5 * step_m && k + 1 < plan.len() {
            continue;
        }
        let n = (apart / step_m).ceil().clamp(1.0, 10_000.0) as usize;
        out.extend((1..=n).map(|i| {
            let w = i as f64 / n as f64;
            let mix = |a: f64, b: f64| a + w * (b - a);
            Pose {
                s: mix(a.s, b.s),
                x: mix(a.x, b.x),
                y: mix(a.y, b.y),
                z: mix(a.z, b.z),
                heading: mix(a.heading, b.heading),
            }
        }));
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    fn l_shape() -> Vec<Pose> {
        let p = |s, x, y| Pose { s, x, y, ..Pose::default() };
        vec![p(0.0, 0.0, 0.0), p(400.0, 0.0, 400.0), p(500.0, -100.0, 400.0)]
    }

    #[test]
    fn property_a_tall_plan_is_laid_on_its_side_at_one_scale() {
        let plan = l_shape();
        let f = Fitted::new(&plan, 800.0, 300.0);
        assert!(f.size.0 > f.size.1 && f.size.0 <= 800.0 + 1e-9 && f.size.1 <= 300.0 + 1e-9);
        for pair in plan.windows(2) {
            let (a, b) = (f.at(&pair[0]), f.at(&pair[1]));
            let metres = (pair[1].x - pair[0].x).hypot(pair[1].y - pair[0].y);
            assert!(((a.0 - b.0).hypot(a.1 - b.1) / f.scale - metres).abs() < 1e-9);
        }
    }

    #[test]
    fn property_a_left_turn_stays_a_left_turn() {
        let plan = l_shape();
        let f = Fitted::new(&plan, 500.0, 500.0);
        let [a, b, c] = [0, 1, 2].map(|i| f.at(&plan[i]));
        // y points down: a left turn has a negative cross product.
        assert!((b.0 - a.0) * (c.1 - b.1) - (b.1 - a.1) * (c.0 - b.0) < 0.0);
    }

    #[test]
    fn property_resampling_keeps_ends_and_step() {
        let fine = resampled(&l_shape(), 7.0);
        let coarse = resampled(&fine, 50.0);
        for (points, step) in [(&fine, 7.0), (&coarse, 50.0)] {
            let last = points[points.len() - 1];
            assert!(points[0] == l_shape()[0] && (last.x + 100.0).abs() < 1e-9 && (last.y - 400.0).abs() < 1e-9);
            assert!(points.windows(2).all(|w| (w[1].x - w[0].x).hypot(w[1].y - w[0].y) <= step + 1e-9));
        }
        assert!(coarse.len() < 25 && fine.len() > 70);
    }

    #[test]
    fn bad_input_a_single_point_has_a_place() {
        let one = [Pose { x: 5.0, y: 5.0, ..Pose::default() }];
        let f = Fitted::new(&one, 100.0, 100.0);
        assert!(f.at(&one[0]).0.is_finite() && f.size.0.is_finite());
        assert_eq!(resampled(&[], 1.0), []);
    }
}
