//! Latitude and longitude to a local plane, and what positions must be cleared of before they make a line.

use std::f64::consts::PI;

use crate::centre::Run;

/// WGS 84 (NIMA TR8350.2, 3rd ed., table 3.1): semi-major axis, m.
const A: f64 = 6_378_137.0;
/// Its flattening (the same table): 1/298.257223563.
const F: f64 = 1.0 / 298.257_223_563;

/// A plane that touches the ellipsoid: x east, y north, m. To second order in the
/// angles: against geodesics up to 65° of latitude it is off by less than 1 cm in 2 km.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Plane {
    lat: f64,
    lon: f64,
    north: f64,
    east: f64,
    /// How the parallels narrow away from the origin, 1/rad: −tan φ.
    narrowing: f64,
}

impl Plane {
    /// About this point, degrees: radii of curvature M = a(1 − e²)/W³ and N cos φ = a cos φ/W, W² = 1 − e² sin² φ.
    pub fn about(lat_deg: f64, lon_deg: f64) -> Plane {
        let lat = lat_deg * PI / 180.0;
        let e2 = F * (2.0 - F);
        let w = (1.0 - e2 * lat.sin().powi(2)).sqrt();
        let (north, east) = (A * (1.0 - e2) / w.powi(3), A * lat.cos() / w);
        Plane { lat, lon: lon_deg * PI / 180.0, north, east, narrowing: -lat.tan() }
    }

    /// x east and y north, m.
    pub fn to_xy(&self, lat_deg: f64, lon_deg: f64) -> [f64; 2] {
        let d_lat = lat_deg * PI / 180.0 - self.lat;
        let d_lon = lon_deg * PI / 180.0 - self.lon;
        // Across the date line.
        let d_lon = d_lon - 2.0 * PI * (d_lon / (2.0 * PI)).round();
        // To second order: parallels narrow, and bend towards the pole.
        let x = self.east * d_lon * (1.0 + self.narrowing * d_lat);
        [x, self.north * d_lat + 0.5 * self.east * self.lat.sin() * d_lon * d_lon]
    }

    /// Degrees of a point of the plane: [`Plane::to_xy`] turned round by fixed-point iteration.
    pub fn to_degrees(&self, [x, y]: [f64; 2]) -> (f64, f64) {
        let mut at = (self.lat * 180.0 / PI, self.lon * 180.0 / PI);
        for _ in 0..6 {
            let [px, py] = self.to_xy(at.0, at.1);
            at.0 += (y - py) / self.north * 180.0 / PI;
            at.1 += (x - px) / self.east * 180.0 / PI;
        }
        at
    }
}

/// What was taken out of a run.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Cleared {
    /// Positions at 0°, 0° or without numbers.
    pub void: usize,
    /// The same position or time again.
    pub again: usize,
    /// Positions that no car reaches in the time, or far off their neighbours.
    pub jumps: usize,
}

/// Faster than this is no car, m/s.
const FASTEST: f64 = 130.0;

impl Run {
    fn keep(&mut self, keep: &[bool]) {
        let mut i = 0;
        self.points.retain(|_| (keep[i], i += 1).0);
        for column in [&mut self.t, &mut self.z, &mut self.turn] {
            if column.len() == keep.len() {
                let mut i = 0;
                column.retain(|_| (keep[i], i += 1).0);
            }
        }
    }

    /// Takes out what is no position: void ones, repeats, jumps there and back.
    pub fn clear(&mut self) -> Cleared {
        let void: Vec<bool> = self.points.iter().map(|p| p.iter().all(|c| c.is_finite())).collect();
        let mut cleared = Cleared { void: void.iter().filter(|k| !**k).count(), ..Cleared::default() };
        self.keep(&void);
        let timed = self.t.len() == self.points.len();
        let n_left = self.points.len();
        let mut keep = vec![true; n_left];
        let mut last = 0;
        for i in 1..n_left {
            let same = self.points[i] == self.points[last];
            keep[i] = if timed { self.t[i] > self.t[last] && !same } else { !same };
            if keep[i] {
                last = i;
            }
        }
        cleared.again = keep.iter().filter(|k| !**k).count();
        self.keep(&keep);
        let keep = if timed { self.reached() } else { unspiked(&self.points) };
        cleared.jumps = keep.iter().filter(|k| !**k).count();
        self.keep(&keep);
        cleared
    }

    /// Which positions a car can have reached in time.
    fn reached(&self) -> Vec<bool> {
        let mut keep = vec![true; self.points.len()];
        let reach = |a: usize, b: usize| hop(self.points[a], self.points[b]) > 20.0 + FASTEST * (self.t[b] - self.t[a]);
        let mut last = None;
        for i in 0..self.points.len() {
            let off = match last {
                Some(l) => reach(l, i),
                // The first is off where the second and third agree without it.
                None => i + 2 < self.points.len() && reach(i, i + 1) && !reach(i + 1, i + 2),
            };
            if off && (i + 1 < self.points.len()) && last.is_none_or(|l| i - l < 50) {
                keep[i] = false;
            } else {
                last = Some(i);
            }
        }
        keep
    }
}

fn hop(a: [f64; 2], b: [f64; 2]) -> f64 {
    (b[0] - a[0]).hypot(b[1] - a[1])
}

/// By how much less a line of points must turn without one of them for that one to be a mistake, rad: there and back is
/// 2π, a hairpin by three points 0, a chicane by one point in its middle less than 2 (judgement, no source).
const SPIKE: f64 = 2.6;

/// Of points without times, which are no spikes: a line that goes to one and back again, and is nearly straight without
/// it. A long way from point to point is a straight.
fn unspiked(points: &[[f64; 2]]) -> Vec<bool> {
    let mut keep = vec![true; points.len()];
    let turn = |a: [f64; 2], b: [f64; 2], c: [f64; 2]| {
        let (u, v) = ([b[0] - a[0], b[1] - a[1]], [c[0] - b[0], c[1] - b[1]]);
        (u[0] * v[1] - u[1] * v[0]).atan2(u[0] * v[0] + u[1] * v[1]).abs()
    };
    for i in 2..points.len().saturating_sub(2) {
        if !keep[i - 1] || !keep[i - 2] {
            continue;
        }
        let [a, b, c, d, e] = [points[i - 2], points[i - 1], points[i], points[i + 1], points[i + 2]];
        let with = turn(a, b, c) + turn(b, c, d) + turn(c, d, e);
        let without = turn(a, b, d) + turn(b, d, e);
        keep[i] = with - without < SPIKE;
    }
    keep
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Lengths of a degree of latitude and longitude at 45° on WGS 84: 111 131.7 m and 78 846.8 m (NIMA TR8350.2's
    /// ellipsoid; the figures as in E. M. Krakiwsky and D. B. Thomson, *Geodetic Position Computations*, 1974, by their
    /// series).
    #[test]
    fn published_lengths_of_a_degree() {
        let plane = Plane::about(45.0, 7.0);
        let [_, up] = plane.to_xy(45.005, 7.0);
        let [_, down] = plane.to_xy(44.995, 7.0);
        assert!(((up - down) * 100.0 - 111_131.7).abs() < 0.5, "{}", (up - down) * 100.0);
        let [x, _] = plane.to_xy(45.0, 7.01);
        assert!((x * 100.0 - 78_846.8).abs() < 0.5, "{}", x * 100.0);
    }

    /// Against geodesics on the ellipsoid (C. F. F. Karney, J. Geodesy 87, 2013, as geographiclib-rs has them):
    /// distances from the origin and directions.
    #[test]
    fn independent_geographiclib_geodesics() {
        use geographiclib_rs::{DirectGeodesic, Geodesic};
        let earth = Geodesic::wgs84();
        for lat in [-45.0, 0.0, 30.0, 52.0, 65.0] {
            let plane = Plane::about(lat, 10.0);
            for azimuth in (0..360).step_by(30) {
                for distance in [200.0, 1000.0, 2000.0] {
                    let (a, b): (f64, f64) = earth.direct(lat, 10.0, f64::from(azimuth), distance);
                    let [x, y] = plane.to_xy(a, b);
                    let (east, north) = f64::from(azimuth).to_radians().sin_cos();
                    let off = (x - distance * east).hypot(y - distance * north);
                    assert!(off < 0.01 * (distance / 2000.0).powi(3) + 1e-4, "{lat}° {azimuth}° {distance} m: {off} m");
                }
            }
        }
    }

    #[test]
    fn property_there_and_back() {
        for (lat, lon) in [(0.0, 179.999), (52.3, -1.2), (-37.8, 144.9), (64.0, -180.0)] {
            let plane = Plane::about(lat, lon);
            for p in [[0.0, 0.0], [1500.0, -900.0], [-3000.0, 2500.0]] {
                let (a, b) = plane.to_degrees(p);
                let q = plane.to_xy(a, b);
                assert!((q[0] - p[0]).hypot(q[1] - p[1]) < 1e-6, "{lat} {p:?} {q:?}");
            }
        }
    }

    #[test]
    fn bad_input_void_repeated_and_far_positions_go() {
        let mut run = Run::default();
        for i in 0..20 {
            run.points.push([3.0 * f64::from(i), 0.0]);
            run.t.push(0.1 * f64::from(i));
        }
        run.points[5] = [f64::NAN, 0.0];
        run.points[8] = run.points[7];
        run.points[12] = [-6.0e6, 1.0e6];
        run.t[15] = run.t[14];
        assert_eq!(run.clear(), Cleared { void: 1, again: 2, jumps: 1 });
        assert_eq!((run.points.len(), run.t.len()), (16, 16));
    }

    /// Without times a long way is a straight; a point that the line goes to and comes back from is a mistake, a
    /// chicane is none.
    #[test]
    fn bad_input_spikes_go_and_straights_stay_where_there_is_no_time() {
        let mut points: Vec<[f64; 2]> = (0..20).map(|i| [20.0 * f64::from(i), 0.0]).collect();
        points.extend([[1200.0, 0.0], [1230.0, 8.0], [1260.0, 0.0], [1300.0, 0.0]]);
        let sound = Run { points: points.clone(), ..Run::default() };
        let mut run = sound.clone();
        assert_eq!(run.clear(), Cleared::default());
        assert_eq!(run.points, points);
        let mut run = sound;
        run.points[7] = [140.0, 60.0];
        run.points.insert(14, [100.0, 3.0]);
        run.points[18] = [-5.0e6, 2.0e6];
        assert_eq!(run.clear().jumps, 3, "{:?}", run.points);
    }
}
