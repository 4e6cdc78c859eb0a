//! What a track must be for a lap on it to mean anything.

use crate::closure::Closure;
use crate::segment::{Segment, Track};

/// What is wrong with a track. `row` counts segments from 0.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum TrackError {
    /// It has none.
    #[error("a track without segments")]
    NoSegments,
    /// A number that is none.
    #[error("segment {}: {what} is not a finite number", row + 1)]
    NotFinite {
        /// Which segment.
        row: usize,
        /// Which number.
        what: &'static str,
    },
    /// No length, a negative one, or one that can't be meant.
    #[error("segment {}: a length of {length_m} m", row + 1)]
    Length {
        /// Which segment.
        row: usize,
        /// Its length, m.
        length_m: f64,
    },
    /// A corner, grade, bank or grip that no road has.
    #[error("segment {}: {what} {value} is beyond ±{limit}", row + 1)]
    Beyond {
        /// Which segment.
        row: usize,
        /// Which number, with its unit.
        what: &'static str,
        /// Its value.
        value: f64,
        /// The most that is accepted.
        limit: f64,
    },
    /// Grip that is not above zero, or beyond anything.
    #[error("segment {}: a grip of {grip}", row + 1)]
    Grip {
        /// Which segment.
        row: usize,
        /// γ.
        grip: f64,
    },
    /// Slope jumps from one segment to the next: an infinite vertical curvature (`docs/model.md` §7).
    #[error("segment {}: grade steps from {:.4} % to {:.4} %", row + 1, before * 100.0, after * 100.0)]
    GradeStep {
        /// The later segment.
        row: usize,
        /// q before.
        before: f64,
        /// q after.
        after: f64,
    },
    /// The same from the last segment of a circuit to its first.
    #[error("grade steps across the line, from {:.4} % to {:.4} %", before * 100.0, after * 100.0)]
    GradeStepAcrossLine {
        /// q at the end.
        before: f64,
        /// q at the start.
        after: f64,
    },
    /// An impossible start speed, or one of a circuit.
    #[error("a start speed of {speed_mps} m/s")]
    StartSpeed {
        /// m/s.
        speed_mps: f64,
    },
    /// Air or the day's grip that cannot be.
    #[error("{what} of {value}")]
    Day {
        /// Which.
        what: &'static str,
        /// Its value, SI.
        value: f64,
    },
    /// A circuit that doesn't come back to its start.
    #[error("the circuit does not close: {0}")]
    NotClosed(Closure),
    /// A start line on an open course can't be moved.
    #[error("only a circuit's start can be moved")]
    NotACircuit,
}

/// Sharpest curvature, 1/m: no car turns in less than a metre; a kink is one beyond it.
pub const KAPPA_LIMIT: f64 = 1.0;
/// Steepest slope, tanθ.
pub const SLOPE_LIMIT: f64 = 1.0;
/// Steepest bank, rad: 75°.
pub const BANK_LIMIT: f64 = 75.0 * std::f64::consts::PI / 180.0;
/// Longest segment, m.
pub const LENGTH_LIMIT: f64 = 1e5;
/// Step of slope that is let pass as rounding of a file: 0.0001 %.
pub const STEP_LIMIT: f64 = 1e-6;

impl Segment {
    fn check(&self, row: usize, errors: &mut Vec<TrackError>) {
        let pairs = [
            ("curvature 1/m", self.kappa, KAPPA_LIMIT),
            ("slope", self.q, SLOPE_LIMIT),
            ("bank rad", self.phi, BANK_LIMIT),
        ];
        for (what, ends, limit) in pairs {
            for value in ends {
                if !value.is_finite() {
                    errors.push(TrackError::NotFinite { row, what });
                } else if value.abs() > limit * (1.0 + 1e-12) {
                    errors.push(TrackError::Beyond { row, what, value, limit });
                }
            }
        }
        if self.length.is_nan() {
            errors.push(TrackError::NotFinite { row, what: "length" });
        } else if !(self.length > 0.0 && self.length <= LENGTH_LIMIT) {
            errors.push(TrackError::Length { row, length_m: self.length });
        }
        if !(self.gamma > 0.0 && self.gamma <= 10.0) {
            errors.push(TrackError::Grip { row, grip: self.gamma });
        }
    }
}

impl Track {
    /// Every fault of the track, its closure apart (for which see [`Track::check_closed`]).
    pub fn check(&self) -> Vec<TrackError> {
        let mut errors = Vec::new();
        if self.segments.is_empty() {
            errors.push(TrackError::NoSegments);
        }
        for (row, segment) in self.segments.iter().enumerate() {
            segment.check(row, &mut errors);
        }
        for (row, pair) in self.segments.windows(2).enumerate() {
            let (before, after) = (pair[0].q[1], pair[1].q[0]);
            if (after - before).abs() > STEP_LIMIT {
                errors.push(TrackError::GradeStep { row: row + 1, before, after });
            }
        }
        if let (true, [first, .., last] | [first @ last]) = (self.closed, &self.segments[..]) {
            let (before, after) = (last.q[1], first.q[0]);
            if (after - before).abs() > STEP_LIMIT {
                errors.push(TrackError::GradeStepAcrossLine { before, after });
            }
        }
        let speed = self.start_speed;
        if !(speed >= 0.0 && speed.is_finite()) || (self.closed && speed != 0.0) {
            errors.push(TrackError::StartSpeed { speed_mps: speed });
        }
        for (what, value) in [("air density, kg/m³,", self.rho), ("grip", self.grip)] {
            if !(value > 0.0 && value.is_finite()) {
                errors.push(TrackError::Day { what, value });
            }
        }
        errors
    }

    /// Whether a circuit closes within the tolerances of [`Closure`]; an open course need not.
    ///
    /// # Errors
    /// [`TrackError::NotClosed`] with the errors of closure.
    pub fn check_closed(&self) -> Result<(), TrackError> {
        let closure = self.closure();
        if self.closed && !closure.is_closed() { Err(TrackError::NotClosed(closure)) } else { Ok(()) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::PI;

    fn circle() -> Track {
        let half =
            Segment { length: PI * 50.0, kappa: [0.02; 2], q: [0.01, -0.01], phi: [0.0; 2], gamma: 1.0, place: None };
        let back = Segment { q: [-0.01, 0.01], ..half.clone() };
        let segments = vec![half, back];
        Track { name: "circle".into(), closed: true, start_speed: 0.0, segments, rho: 1.2, grip: 1.0 }
    }

    fn with(change: impl Fn(&mut Track)) -> Vec<TrackError> {
        let mut track = circle();
        change(&mut track);
        track.check()
    }

    #[test]
    fn property_a_sound_track_passes() {
        assert_eq!(circle().check(), []);
        assert_eq!(circle().check_closed(), Ok(()));
    }

    #[test]
    fn bad_input_every_fault_at_once() {
        let errors = with(|t| {
            t.segments[0].length = 0.0;
            t.segments[1].kappa[0] = f64::NAN;
            t.segments[1].gamma = -1.0;
        });
        assert_eq!(errors.len(), 3, "{errors:?}");
    }

    #[test]
    fn bad_input_one_fault_each() {
        use TrackError::*;
        for length in [0.0, -5.0, f64::INFINITY, 2e5] {
            assert!(matches!(with(|t| t.segments[1].length = length)[..], [Length { row: 1, .. }]), "{length}");
        }
        assert!(matches!(with(|t| t.segments[0].length = f64::NAN)[..], [NotFinite { row: 0, what: "length" }]));
        // A kink of 180° on a centimetre.
        assert!(matches!(with(|t| t.segments[0].kappa = [PI / 0.01; 2])[..], [Beyond { .. }, Beyond { .. }]));
        assert!(matches!(with(|t| t.segments[0].phi[1] = 1.5)[..], [Beyond { what: "bank rad", .. }]));
        assert!(matches!(with(|t| t.segments[0].q[1] = -0.011)[..], [GradeStep { row: 1, .. }]));
        assert!(matches!(with(|t| t.segments[0].q[0] = 0.011)[..], [GradeStepAcrossLine { .. }]));
        assert!(matches!(with(|t| t.start_speed = 5.0)[..], [StartSpeed { .. }]));
        assert!(matches!(with(|t| (t.closed, t.start_speed) = (false, f64::NAN))[..], [StartSpeed { .. }]));
        assert!(matches!(with(|t| t.segments.clear())[..], [NoSegments]));
        assert!(matches!(with(|t| t.rho = 0.0)[..], [Day { .. }]));
        assert!(matches!(with(|t| t.grip = f64::NAN)[..], [Day { what: "grip", .. }]));
    }

    #[test]
    fn closed_form_open_courses_need_not_meet_themselves() {
        let mut track = circle();
        track.closed = false;
        track.start_speed = 10.0;
        track.segments[0].q[0] = 0.05;
        track.segments[1].kappa = [0.0; 2];
        assert_eq!(track.check(), []);
        assert_eq!(track.check_closed(), Ok(()));
        track.closed = true;
        assert!(matches!(track.check_closed(), Err(TrackError::NotClosed(_))));
    }
}
