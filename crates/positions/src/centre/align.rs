//! Where on a known track a logged line is: by the curvature of both, so that no map of either is needed.

use crate::centre::{Line, Run, distances};
use unladen_track::Track;

/// How a line lies on a track.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Alignment {
    /// s on the track where the line's s is 0, m.
    pub shift_m: f64,
    /// Track length over line length.
    pub scale: f64,
    /// Correlation of the two curvatures, 1 at best.
    pub correlation: f64,
}

/// Why a line is none of a track.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum AlignError {
    /// Some other track.
    #[error(
        "the log is not of this track: its curvature goes with the track's by {correlation:.2} only (1 is the same, at least {LEAST} is due)"
    )]
    Other {
        /// The best correlation.
        correlation: f64,
    },
    /// The same track the other way round.
    #[error("the log drives this track the other way round")]
    Reversed,
    /// One of them is a circuit and the other is not.
    #[error("the track is {}, the log {}", if *.track_closed { "a circuit" } else { "an open course" }, if *.track_closed { "is not" } else { "goes round" })]
    Kind {
        /// The track is a circuit.
        track_closed: bool,
    },
    /// Lengths too different.
    #[error("the log's line is {line_m:.0} m long, the track {track_m:.0} m: another track, or another layout of it")]
    Length {
        /// m.
        line_m: f64,
        /// m.
        track_m: f64,
    },
}

/// Correlation from which on a line is taken to be of a track.
pub const LEAST: f64 = 0.8;
/// Lengths may differ by this share.
const LENGTHS: f64 = 0.04;
/// Samples for the comparison.
const SAMPLES: usize = 1500;

/// Curvature at a distance, smoothed over what a shift by some metres should not spoil.
fn sampled(of: impl Fn(f64) -> f64, length: f64) -> Vec<f64> {
    let at = |i: usize| of((i as f64 + 0.5) / SAMPLES as f64 * length);
    (0..SAMPLES).map(at).collect()
}

fn correlation(a: &[f64], b: &[f64], shift: usize) -> f64 {
    let (mut ab, mut aa, mut bb) = (0.0, 0.0, 0.0);
    for i in 0..a.len() {
        let (x, y) = (a[i], b[(i + shift) % b.len()]);
        (ab, aa, bb) = (ab + x * y, aa + x * x, bb + y * y);
    }
    ab / (aa * bb).sqrt().max(1e-300)
}

impl Line {
    /// Where this line is on a track.
    ///
    /// # Errors
    /// [`AlignError`].
    pub fn align(&self, track: &Track) -> Result<Alignment, AlignError> {
        if self.closed != track.closed {
            return Err(AlignError::Kind { track_closed: track.closed });
        }
        let (line_m, track_m) = (self.length_m(), track.length());
        if (line_m / track_m - 1.0).abs() > LENGTHS {
            return Err(AlignError::Length { line_m, track_m });
        }
        let node = |s: f64| self.kappa[((s / self.step_m).round() as usize) % self.kappa.len()];
        let own = sampled(node, line_m);
        let known = sampled(|s| track.kappa_at(s), track_m);
        let shifts = if self.closed { 0..SAMPLES } else { 0..1 };
        let best = |other: &[f64]| {
            let all = shifts.clone().map(|k| (correlation(&own, other, k), k));
            all.max_by(|a, b| a.0.total_cmp(&b.0)).unwrap_or((0.0, 0))
        };
        let (found, shift) = best(&known);
        if found < LEAST {
            let back: Vec<f64> = known.iter().rev().map(|k| -k).collect();
            return Err(if best(&back).0 >= LEAST {
                AlignError::Reversed
            } else {
                AlignError::Other { correlation: found }
            });
        }
        // A parabola through the best and its neighbours.
        let beside = |k: usize| correlation(&own, &known, k % SAMPLES);
        let (l, r) = (beside(shift + SAMPLES - 1), beside(shift + 1));
        let bend = l - 2.0 * found + r;
        let share = if self.closed && bend < 0.0 { (0.5 * (l - r) / bend).clamp(-0.5, 0.5) } else { 0.0 };
        let shift_m = (shift as f64 + share) / SAMPLES as f64 * track_m;
        Ok(Alignment { shift_m, scale: track_m / line_m, correlation: found })
    }
}

impl Alignment {
    /// Distances of a run's positions from the track's start, m; of a circuit within 0…length.
    pub fn distances(&self, line: &Line, run: &Run) -> Vec<f64> {
        let length = line.length_m() * self.scale;
        let on_track = |s: f64| s * self.scale + self.shift_m;
        distances(line, run)
            .into_iter()
            .map(|s| if line.closed { on_track(s).rem_euclid(length) } else { on_track(s) })
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::centre::Wish;
    use std::f64::consts::PI;
    use unladen_track::Segment;

    /// A rectangle with four different corners that closes: the straights make up for what the corners take.
    fn track() -> Track {
        let seg = |length: f64, kappa: [f64; 2]| Segment {
            length,
            kappa,
            q: [0.0; 2],
            phi: [0.0; 2],
            gamma: 1.0,
            place: None,
        };
        let corner = |radius: f64| {
            let (k, l) = (1.0 / radius, 10.0);
            [seg(l, [0.0, k]), seg(0.5 * PI * radius - l, [k; 2]), seg(l, [k, 0.0])]
        };
        let of = |segments: Vec<Segment>| Track {
            name: "t".into(),
            closed: true,
            start_speed: 0.0,
            segments,
            rho: 1.2,
            grip: 1.0,
        };
        let takes = |radius: f64| of(corner(radius).to_vec()).joins()[3].x;
        let radii = [20.0, 40.0, 30.0, 25.0];
        let e = radii.map(takes);
        let straights = [150.0, 80.0, 150.0 + e[3] + e[0] - e[1] - e[2], 80.0 + e[0] + e[1] - e[2] - e[3]];
        let parts = straights.into_iter().zip(radii);
        of(parts.flat_map(|(l, r)| std::iter::once(seg(l, [0.0; 2])).chain(corner(r))).collect())
    }

    fn run(track: &Track, turned: f64, from: f64, reversed: bool) -> Run {
        let started = track.with_start_at(from).unwrap();
        let mut points: Vec<[f64; 2]> = started
            .outline(2.0)
            .iter()
            .map(|p| [p.x * turned.cos() - p.y * turned.sin() + 500.0, p.x * turned.sin() + p.y * turned.cos()])
            .collect();
        points.pop();
        if reversed {
            points.reverse();
        }
        Run { points, ..Run::default() }
    }

    #[test]
    fn closed_form_start_turned_and_moved_is_found() {
        let track = track();
        assert!(track.check_closed().is_ok());
        let wish = Wish { closed: true, noise_m: Some(0.1), height_noise_m: None };
        let run = run(&track, 1.0, 130.0, false);
        let line = Line::through(std::slice::from_ref(&run), wish).unwrap();
        let found = line.align(&track).unwrap();
        assert!(found.correlation > 0.95, "{found:?}");
        let s = found.distances(&line, &run);
        assert!((s[10] - 150.0).abs() < 1.0, "{:?}", &s[..12]);
    }

    #[test]
    fn bad_input_another_track_and_the_other_way_round() {
        let track = track();
        let wish = Wish { closed: true, noise_m: Some(0.1), height_noise_m: None };
        let back = Line::through(&[run(&track, 0.0, 0.0, true)], wish).unwrap();
        assert_eq!(back.align(&track), Err(AlignError::Reversed));
        let circle = (0..400).map(|i| f64::from(i) * PI / 200.0).map(|a| [96.0 * a.cos(), 96.0 * a.sin()]).collect();
        let line = Line::through(&[Run { points: circle, ..Run::default() }], wish).unwrap();
        assert!(
            matches!(line.align(&track), Err(AlignError::Other { .. } | AlignError::Length { .. })),
            "{:?}",
            line.align(&track)
        );
    }
}
