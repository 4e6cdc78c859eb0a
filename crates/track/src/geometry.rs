//! Where the track goes: heading and position, from its curvature, grade and length in plan.

use crate::segment::{Segment, Track};

/// A point of the centre line. It starts at the origin and along x; y is to the left, z up.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Pose {
    /// Distance in plan from the start, m.
    pub s: f64,
    /// m.
    pub x: f64,
    /// m.
    pub y: f64,
    /// m.
    pub z: f64,
    /// ψ: angle from the x axis to the left, rad; not folded into a turn.
    pub heading: f64,
}

/// Gauss–Legendre nodes and weights of degree 9 on −1…1 (Abramowitz & Stegun, table 25.4, n = 5).
const GAUSS: [(f64, f64); 5] = [
    (0.0, 0.568_888_888_888_888_9),
    (-0.538_469_310_105_683_1, 0.478_628_670_499_366_47),
    (0.538_469_310_105_683_1, 0.478_628_670_499_366_47),
    (-0.906_179_845_938_664, 0.236_926_885_056_189_08),
    (0.906_179_845_938_664, 0.236_926_885_056_189_08),
];

/// Heading that one panel of the quadrature may turn through, rad: its error is then below 1e-15 of its length.
const PANEL: f64 = 0.5;

/// Panels in one segment at most; enough for 500 turns, far beyond what a track's checks let through.
const PANELS: f64 = 8192.0;

fn lerp(ends: [f64; 2], share: f64) -> f64 {
    ends[0] + (ends[1] - ends[0]) * share
}

impl Segment {
    /// Change of heading from its start to `s`, rad: ψ = κ_0 s + ½ (κ_1 − κ_0) s²/length.
    pub fn turned(&self, s: f64) -> f64 {
        0.5 * (self.kappa[0] + lerp(self.kappa, s / self.length)) * s
    }

    /// Rise from its start to `s`, m: ∫q ds of the linear slope.
    pub fn rise(&self, s: f64) -> f64 {
        0.5 * (self.q[0] + lerp(self.q, s / self.length)) * s
    }

    /// The pose at `s` (0…length) of this segment when it starts at `start`: x = ∫cosψ ds, y = ∫sinψ ds (a clothoid).
    pub fn pose(&self, start: &Pose, s: f64) -> Pose {
        let sharpest = self.kappa[0].abs().max(self.kappa[1].abs());
        let panels = (sharpest * s / PANEL).ceil().clamp(1.0, PANELS);
        let half = 0.5 * s / panels;
        let (mut x, mut y) = (0.0, 0.0);
        for panel in 0..panels as usize {
            let middle = (2 * panel + 1) as f64 * half;
            for (node, weight) in GAUSS {
                let (sin, cos) = (start.heading + self.turned(middle + half * node)).sin_cos();
                x += weight * cos;
                y += weight * sin;
            }
        }
        Pose {
            s: start.s + s,
            x: start.x + half * x,
            y: start.y + half * y,
            z: start.z + self.rise(s),
            heading: start.heading + self.turned(s),
        }
    }
}

impl Track {
    /// κ at a distance from the start, 1/m.
    pub fn kappa_at(&self, s: f64) -> f64 {
        let mut left = s;
        for g in &self.segments {
            if left <= g.length {
                return g.kappa[0] + (g.kappa[1] - g.kappa[0]) * (left / g.length).clamp(0.0, 1.0);
            }
            left -= g.length;
        }
        self.segments.last().map_or(0.0, |g| g.kappa[1])
    }

    /// κ at each of these distances from the start, 1/m; at a join that of the segment that ends there.
    pub fn kappas_at(&self, distances: &[f64]) -> Vec<f64> {
        let mut start = 0.0;
        let sum = |g: &Segment| {
            start += g.length;
            start
        };
        let ends: Vec<f64> = self.segments.iter().map(sum).collect();
        let kappa = |s: f64| {
            let at = ends.partition_point(|end| *end < s).min(ends.len().saturating_sub(1));
            let of = |g: &Segment| lerp(g.kappa, (1.0 - (ends[at] - s) / g.length).clamp(0.0, 1.0));
            self.segments.get(at).map_or(0.0, of)
        };
        distances.iter().map(|s| kappa(*s)).collect()
    }

    /// The pose at the start of every segment and at the end of the last.
    pub fn joins(&self) -> Vec<Pose> {
        let mut at = Pose::default();
        let mut joins = Vec::with_capacity(self.segments.len() + 1);
        joins.push(at);
        for segment in &self.segments {
            at = segment.pose(&at, segment.length);
            joins.push(at);
        }
        joins
    }

    /// Points along the track for drawing, at most `step` apart (m, > 0), every join among them, one million at most.
    pub fn outline(&self, step: f64) -> Vec<Pose> {
        const MOST: f64 = 1e6;
        let step = step.max(self.length() / MOST);
        let mut points = vec![Pose::default()];
        for (segment, start) in self.segments.iter().zip(self.joins()) {
            let parts = (segment.length / step).ceil().max(1.0);
            points.extend((1..=parts as usize).map(|i| segment.pose(&start, segment.length * i as f64 / parts)));
        }
        points
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::PI;

    fn clothoid(length: f64, kappa: [f64; 2]) -> Segment {
        Segment { length, kappa, q: [0.0; 2], phi: [0.0; 2], gamma: 1.0, place: None }
    }

    /// sources.md 27: Fresnel C and S, Abramowitz & Stegun table 7.7 / DLMF 7. ψ = ½π s² is κ = π s.
    #[test]
    fn published_abramowitz_stegun_fresnel_integrals() {
        for (u, c, s) in [
            (0.5, 0.492_344_225_9, 0.064_732_432_9),
            (1.0, 0.779_893_400_4, 0.438_259_147_4),
            (2.0, 0.488_253_406_1, 0.343_415_678_4),
        ] {
            let end = clothoid(u, [0.0, PI * u]).pose(&Pose::default(), u);
            assert!((end.x - c).abs() < 1e-10 && (end.y - s).abs() < 1e-10, "{u}: {end:?}");
        }
    }

    #[test]
    fn property_all_at_once_as_one_by_one() {
        let segments = vec![clothoid(3.0, [0.0, 0.1]), clothoid(5.0, [0.2, -0.1]), clothoid(0.5, [0.0, 0.0])];
        let track = Track { name: "t".into(), closed: false, start_speed: 0.0, segments, rho: 1.2, grip: 1.0 };
        let s: Vec<f64> = (-1..=36).map(|i| 0.25 * f64::from(i)).collect();
        for (s, kappa) in s.iter().zip(track.kappas_at(&s)) {
            assert!((kappa - track.kappa_at(*s)).abs() < 1e-12, "{s}: {kappa} {}", track.kappa_at(*s));
        }
    }

    /// sources.md 28: a clothoid of 60 m to R 100 m. Shift: how far the arc is moved in, y − R (1 − cosψ).
    #[test]
    fn closed_form_clothoid_of_a_corner() {
        let end = clothoid(60.0, [0.0, 0.01]).pose(&Pose::default(), 60.0);
        assert!((end.heading - 0.3).abs() < 1e-15);
        assert!((end.x - 59.462_245_3).abs() < 1e-7 && (end.y - 5.961_538_9).abs() < 1e-7, "{end:?}");
        let shift = end.y - 100.0 * (1.0 - 0.3f64.cos());
        assert!((shift - 1.495_188).abs() < 1e-6, "{shift}");
    }

    #[test]
    fn closed_form_circle_returns_to_its_start() {
        for (radius, arcs) in [(100.0, 1), (100.0, 7), (8.0, 3), (-2000.0, 2)] {
            let length = 2.0 * PI * f64::abs(radius) / f64::from(arcs);
            let arc = clothoid(length, [1.0 / radius; 2]);
            let mut at = Pose::default();
            for _ in 0..arcs {
                at = arc.pose(&at, length);
            }
            assert!(at.x.hypot(at.y) < 1e-12 * f64::abs(radius), "{radius}: {at:?}");
            assert!((at.heading.abs() - 2.0 * PI).abs() < 1e-13);
        }
    }

    /// Chord and sagitta of an arc: x = R sinψ, y = R (1 − cosψ).
    #[test]
    fn closed_form_points_of_an_arc() {
        let arc = clothoid(50.0, [0.04; 2]);
        for s in [0.0, 1.0, 17.3, 50.0] {
            let p = arc.pose(&Pose::default(), s);
            assert!((p.x - 25.0 * (s / 25.0).sin()).abs() < 1e-13);
            assert!((p.y - 25.0 * (1.0 - (s / 25.0).cos())).abs() < 1e-13);
        }
    }

    /// An independent quadrature of the same integrals: Simpson's rule on 20 000 cells.
    #[test]
    fn independent_simpson_clothoid() {
        for (length, kappa) in [(80.0, [-0.02, 0.05]), (300.0, [0.1, -0.1]), (5.0, [0.0, 0.9])] {
            let got = clothoid(length, kappa).pose(&Pose::default(), length);
            let psi = |s: f64| kappa[0] * s + 0.5 * (kappa[1] - kappa[0]) / length * s * s;
            let n = 40_000;
            let sum = |f: &dyn Fn(f64) -> f64| {
                let h = length / f64::from(n);
                let w = |i| if i == 0 || i == n { 1.0 } else { 2.0 + 2.0 * f64::from(i % 2) };
                (0..=n).map(|i| w(i) * f(psi(f64::from(i) * h))).sum::<f64>() * h / 3.0
            };
            assert!((got.x - sum(&f64::cos)).abs() < 1e-9, "{length} {kappa:?}");
            assert!((got.y - sum(&f64::sin)).abs() < 1e-9, "{length} {kappa:?}");
        }
    }

    #[test]
    fn property_outline_keeps_joins_and_steps() {
        let hill = Segment { q: [0.02, -0.04], ..clothoid(30.0, [0.0, 0.03]) };
        let segments = vec![hill, Segment { q: [-0.04, -0.04], ..clothoid(45.0, [0.03; 2]) }];
        let track = Track { name: "t".into(), closed: false, start_speed: 0.0, segments, rho: 1.2, grip: 1.0 };
        let (points, joins) = (track.outline(4.0), track.joins());
        assert!(points.windows(2).all(|w| w[1].s - w[0].s <= 4.0 + 1e-12 && w[1].s > w[0].s));
        assert!(joins.iter().all(|j| points.iter().any(|p| (p.x - j.x).abs() < 1e-12 && (p.s - j.s).abs() < 1e-12)));
        // 30 m at −1 % on average, then 45 m at −4 %.
        assert!((joins[2].z - (-0.3 - 1.8)).abs() < 1e-12);
    }
}
