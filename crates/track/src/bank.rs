//! Bank given by hand: positions don't show it.

use crate::segment::Track;

/// Over this much at each end a given bank comes and goes, m, or over a quarter of its length: judgement, no source.
const EASE: f64 = 15.0;

impl Track {
    /// Banked by `phi` rad (right side up +) more from one place to another, m in plan; on a circuit also across the
    /// line. Comes and goes linearly within those places.
    pub fn bank(&mut self, from: f64, to: f64, phi: f64) {
        let (length, closed) = (self.length(), self.closed);
        let around = |s: f64| if closed { s.rem_euclid(length) } else { s };
        let width = around(to - from);
        let ease = EASE.min(0.25 * width);
        let rise = |s: f64| {
            let u = around(s - from);
            if u > width || u < 0.0 { 0.0 } else { (u.min(width - u) / ease).min(1.0) }
        };
        let joins = [from, from + ease, to - ease, to].map(around);
        joins.into_iter().for_each(|s| self.join_at(s));
        let mut s = 0.0;
        for segment in &mut self.segments {
            // Between joins the bank is linear: two places inside say what it is at both ends, where rounding might
            // miss the bank.
            let [a, b] = [0.25, 0.75].map(|share| rise(s + share * segment.length));
            segment.phi[0] += phi * (1.5 * a - 0.5 * b);
            segment.phi[1] += phi * (1.5 * b - 0.5 * a);
            s += segment.length;
        }
    }

    /// A join at `s`, where there is none within a micrometre.
    fn join_at(&mut self, s: f64) {
        let mut left = s;
        for i in 0..self.segments.len() {
            let length = self.segments[i].length;
            if left > 1e-6 && left < length - 1e-6 {
                let (first, second) = self.segments[i].cut(left);
                self.segments.splice(i..=i, [first, second]);
                return;
            }
            left -= length;
            if left < 1e-6 {
                return;
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::segment::Segment;

    fn ring() -> Track {
        let arc = Segment { length: 150.0, kappa: [0.01; 2], q: [0.0; 2], phi: [0.0; 2], gamma: 1.0, place: None };
        let segments = vec![arc; 4];
        Track { name: "ring".into(), closed: true, start_speed: 0.0, segments, rho: 1.2, grip: 1.0 }
    }

    /// A trapezium's area: φ (width − ease), also across the line and from joint to joint.
    #[test]
    fn closed_form_a_given_bank_is_a_trapezium() {
        for (from, to, width) in
            [(100.0, 220.0, 120.0), (550.0, 50.0, 100.0), (150.0, 300.0, 150.0), (10.0, 50.0, 40.0)]
        {
            let mut track = ring();
            track.bank(from, to, 0.08);
            let area: f64 = track.segments.iter().map(|g| 0.5 * (g.phi[0] + g.phi[1]) * g.length).sum();
            let ease = f64::min(15.0, 0.25 * width);
            assert!((area - 0.08 * (width - ease)).abs() < 1e-9, "{from} {to}: {area}");
            assert!((track.length() - 600.0).abs() < 1e-9);
            assert!(track.segments.iter().all(|g| g.phi.iter().all(|p| (-1e-12..0.08 + 1e-12).contains(p))));
            assert!(track.segments.windows(2).all(|w| (w[0].phi[1] - w[1].phi[0]).abs() < 1e-12));
        }
    }
}
