//! The outline of a car drawn so that it holds what its own list of parts says is in it: a generic shape knows neither how far
//! the bumpers reach nor how high the bonnet is.

use crate::draw::svg::Point;
use crate::worth::body::{ARCH, Body, Size};

/// Skin over a part, m.
const SKIN: f64 = 0.05;
/// A slip of a digit must not make a lorry of the car: no direction grows by more than this.
const MOST: f64 = 1.4;
/// A height is changed fully this near to the part that needs it, and no further away than that, in wheelbases.
const NEAR: [f64; 2] = [0.24, 0.5];

impl Body {
    /// Stretched where parts would lie outside it.
    pub fn holding(mut self, size: &Size, places: &[[f64; 3]]) -> Body {
        if places.is_empty() {
            return self;
        }
        let l = size.wheelbase_m;
        let (nose, tail) = self.reach();
        let ends = places.iter().fold((nose, tail), |(a, b), p| (a.min(p[0] - SKIN), b.max(p[0] + SKIN)));
        let (fore, aft) =
            ((ends.0 / nose.min(-1e-3)).clamp(1.0, MOST), ((ends.1 - l) / (tail - l).max(1e-3)).clamp(1.0, MOST));
        // The arches stay over their wheels.
        let arch = |p: &Point| {
            let over = |(axle, r): (f64, f64)| (p.0 - axle * l).hypot(p.1 - r) < 1.001 * ARCH * r;
            [(0.0, size.radius_m[0]), (1.0, size.radius_m[1])].into_iter().any(over)
        };
        self.each(|side, p| {
            if side && arch(p) {
            } else if p.0 < 0.0 {
                p.0 *= fore;
            } else if p.0 > l {
                p.0 = l + (p.0 - l) * aft;
            }
        });
        let low = self.side.iter().map(|p| p.1).fold(f64::INFINITY, f64::min);
        let up = needs(places, 2, |x| extent(&self.side, x) - low, low);
        let out = needs(places, 1, |x| extent(&self.top, x), 0.0);
        let floor = places.iter().map(|p| p[2] - SKIN).fold(low, f64::min).max(0.3 * low);
        for p in self.side.iter_mut().chain(self.side_glass.iter_mut().flatten()) {
            // The sill goes down as a whole: it is a straight line.
            if p.1 < low + 1e-9 {
                p.1 = floor;
            } else if !arch(p) {
                p.1 = low + (p.1 - low) * growth(&up, p.0, l);
            }
        }
        for p in self.top.iter_mut().chain(self.top_glass.iter_mut().flatten()) {
            p.1 *= growth(&out, p.0, l);
        }
        self
    }

    /// Each point, with whether it is one of the view from the side.
    fn each(&mut self, change: impl Fn(bool, &mut Point)) {
        self.side.iter_mut().chain(self.side_glass.iter_mut().flatten()).for_each(|p| change(true, p));
        self.top.iter_mut().chain(self.top_glass.iter_mut().flatten()).for_each(|p| change(false, p));
    }
}

/// The greatest v of an outline at u.
fn extent(outline: &[Point], u: f64) -> f64 {
    let at = |(a, b): (Point, Point)| {
        let inside = (a.0 - u) * (b.0 - u) <= 0.0 && (b.0 - a.0).abs() > 1e-12;
        inside.then(|| a.1 + (u - a.0) / (b.0 - a.0) * (b.1 - a.1))
    };
    let pairs = (0..outline.len()).map(|i| (outline[i], outline[(i + 1) % outline.len()]));
    pairs.filter_map(at).fold(0.0, f64::max)
}

/// Where the outline must grow, and by how much, for the parts to be inside.
fn needs(places: &[[f64; 3]], axis: usize, room: impl Fn(f64) -> f64, from: f64) -> Vec<(f64, f64)> {
    let need = |p: &[f64; 3]| (p[0], ((p[axis].abs() + SKIN - from) / room(p[0]).max(0.1)).clamp(1.0, MOST));
    places.iter().map(need).filter(|(_, k)| *k > 1.0).collect()
}

/// By how much it grows at x: fully near a part, smoothly less away from it.
fn growth(needs: &[(f64, f64)], x: f64, l: f64) -> f64 {
    let near = |at: f64| {
        let share = (((x - at).abs() / l - NEAR[0]) / (NEAR[1] - NEAR[0])).clamp(0.0, 1.0);
        1.0 - share * share * (3.0 - 2.0 * share)
    };
    needs.iter().map(|(at, k)| 1.0 + (k - 1.0) * near(*at)).fold(1.0, f64::max)
}

#[cfg(test)]
mod tests {
    use super::*;

    const SALOON: Size = Size { wheelbase_m: 2.57, track_m: [1.505, 1.5], radius_m: [0.31; 2], cg_height_m: 0.492 };

    #[test]
    fn property_parts_lie_inside_and_without_parts_nothing_changes() {
        let plain = Body::new(&SALOON);
        assert!(plain.clone().holding(&SALOON, &[]) == plain);
        let places = [[-0.45, 0.0, 0.9], [-0.8, 0.25, 0.44], [0.25, 0.0, 0.17], [3.35, -0.8, 1.02], [1.5, 0.0, 1.3]];
        let body = plain.clone().holding(&SALOON, &places);
        for [x, y, z] in places {
            assert!(extent(&body.side, x) > z, "{x} {z}: {}", extent(&body.side, x));
            assert!(extent(&body.top, x) > y.abs(), "{x} {y}");
            let (from, to) = body.reach();
            assert!(from < x && x < to);
        }
        assert!(body.side.iter().any(|p| p.1 < 0.17) && body.side.iter().all(|p| p.1 > 0.0));
        // A slip of a digit changes little.
        let slip = plain.clone().holding(&SALOON, &[[14.0, 0.0, 9.0]]);
        assert!(slip.height() < 1.5 * plain.height() && slip.reach().1 < 1.5 * plain.reach().1);
    }
}
