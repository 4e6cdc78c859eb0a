//! Whether a circuit comes back to where it started.

use std::f64::consts::PI;
use std::fmt;

use crate::segment::Track;

/// By how much a circuit misses its start.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Closure {
    /// Heading at the end against the start, rad, −π…π: whole turns taken off.
    pub heading: f64,
    /// Distance in plan from the end to the start, m.
    pub position: f64,
    /// Height at the end above the start, m.
    pub height: f64,
    /// S: length in plan, m.
    pub length: f64,
}

impl Closure {
    /// Heading error that is let pass, rad: 1° (`docs/files.md`).
    pub const HEADING: f64 = PI / 180.0;
    /// Position error that is let pass, as a share of the length (`docs/files.md`).
    pub const POSITION_SHARE: f64 = 0.005;
    /// Height error that is let pass, m (`docs/files.md`).
    pub const HEIGHT: f64 = 0.5;

    /// Whether every error is within its tolerance.
    pub fn is_closed(&self) -> bool {
        self.heading.abs() <= Self::HEADING
            && self.position <= Self::POSITION_SHARE * self.length
            && self.height.abs() <= Self::HEIGHT
    }
}

impl fmt::Display for Closure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "heading {:+.2}° (1° allowed), position {:.2} m ({:.2} m allowed), height {:+.2} m (0.5 m allowed)",
            self.heading * 180.0 / PI,
            self.position,
            Self::POSITION_SHARE * self.length,
            self.height
        )
    }
}

impl Track {
    /// How well the track closes, whether it should or not.
    pub fn closure(&self) -> Closure {
        let end = self.joins().pop().unwrap_or_default();
        let turns = (end.heading / (2.0 * PI)).round();
        Closure { heading: end.heading - turns * 2.0 * PI, position: end.x.hypot(end.y), height: end.z, length: end.s }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::segment::Segment;

    fn track(segments: Vec<Segment>) -> Track {
        Track { name: "t".into(), closed: true, start_speed: 0.0, segments, rho: 1.2, grip: 1.0 }
    }

    fn piece(length: f64, kappa: f64, q: f64) -> Segment {
        Segment { length, kappa: [kappa; 2], q: [q; 2], phi: [0.0; 2], gamma: 1.0, place: None }
    }

    fn oval(straight: f64, radius: f64) -> Track {
        let (side, end) = (piece(straight, 0.0, 0.0), piece(PI * radius, 1.0 / radius, 0.0));
        track(vec![side.clone(), end.clone(), side, end])
    }

    /// A closed loop without crossing turns once either way, a figure of eight not at all.
    #[test]
    fn closed_form_ovals_and_a_figure_of_eight_close() {
        let oval = oval(500.0, 100.0);
        assert!(oval.closure().is_closed() && oval.closure().position < 1e-10, "{}", oval.closure());
        let loop_of = |kappa: f64| piece(2.0 * PI / f64::abs(kappa), kappa, 0.0);
        let eight = track(vec![loop_of(0.01), loop_of(-0.01)]);
        assert!(eight.closure().is_closed() && eight.closure().heading.abs() < 1e-12);
    }

    /// One side 10 m longer: 10 m out of place. 2° short of a circle: the chord of 2° and 2°.
    #[test]
    fn closed_form_what_is_missing() {
        let mut long = oval(500.0, 100.0);
        long.segments[0].length += 10.0;
        assert!((long.closure().position - 10.0).abs() < 1e-9 && !long.closure().is_closed());
        let short = track(vec![piece(2.0 * PI * 100.0 * 358.0 / 360.0, 0.01, 0.0)]).closure();
        assert!((short.heading + 2.0 * PI / 180.0).abs() < 1e-12, "{short}");
        assert!((short.position - 200.0 * (PI / 180.0).sin()).abs() < 1e-9);
        assert!(!short.is_closed());
    }

    #[test]
    fn closed_form_height_is_checked() {
        let climbing = |rise: f64| track(vec![piece(200.0 * PI, 0.01, rise / (200.0 * PI))]).closure();
        assert!(climbing(0.499).is_closed() && climbing(-0.499).is_closed());
        assert!(!climbing(0.501).is_closed() && !climbing(-0.501).is_closed());
    }
}
