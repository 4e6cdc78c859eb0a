//! How well a track made of positions is known, in lap time: lines that the positions do not rule out, each lapped.

use unladen_lap::Course;
use unladen_positions::Line;
use unladen_track::Track;
use unladen_vehicle::Car;

use crate::made_track::lines::Lines;
use crate::threads::each_of;

/// What lap time on a made track is worth.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TrackDoubt {
    /// Lap time on the course as made, s.
    pub time_s: f64,
    /// How much slower lap time is on the lines that the positions do not rule out, as the mean, s: a smooth course is
    /// quicker than a rough one.
    pub roughness_s: f64,
    /// Standard deviation of lap time by where the lines lie, roughness apart, s: half the difference between lines off
    /// to the one side and as far to the other.
    pub scatter_s: f64,
    /// Standard deviation of lap time by the grades, s; 0 without heights.
    pub climbs_s: f64,
    /// Lines that were lapped.
    pub draws: usize,
    /// Whether instruments said how the line bends, a yaw rate or a lateral acceleration.
    pub instruments: bool,
}

/// How much of the draws' roughness the true line has on average, and the standard deviation of that. These and those below
/// by the errors of some 110 logs without and 134 with a yaw rate, of invented circuits at 1 to 20 Hz and 0.3 to 2 m
/// (`crates/study/tests/all/coverage.rs`, seeds up to 160; it measures the coverage on others).
pub(crate) const ROUGH: (f64, f64) = (0.4, 0.3);
/// How many times the scatter counts, without and with readings of curvature.
const SCATTER: [f64; 2] = [1.5, 1.2];
/// What the segments leave, a share of lap time, without and with readings of curvature: found as [`ROUGH`] is.
const SEGMENTS: [f64; 2] = [0.0015, 0.0007];

impl TrackDoubt {
    /// What lap time on the true line is likely to be, s: a little slower than on the smooth course.
    pub fn likely_s(&self) -> f64 {
        self.time_s + ROUGH.0 * self.roughness_s
    }

    /// How far that may be off, one standard deviation, s: 1.645 of them make an interval of 90 %.
    pub fn sd_s(&self) -> f64 {
        let with = usize::from(self.instruments);
        (SCATTER[with] * self.scatter_s)
            .hypot(self.climbs_s)
            .hypot(ROUGH.1 * self.roughness_s)
            .hypot(SEGMENTS[with] * self.time_s)
    }
}

/// Fewer lines than this say nothing of a standard deviation.
const LEAST: usize = 8;

/// Laps `draws` lines, seeds 1, 2, … and each as far off to the other side; `None` where the car can't lap the course
/// or most of them. `track` was made of `line`.
pub fn track_doubt(car: &Car, track: &Track, line: &Line, draws: usize) -> Option<TrackDoubt> {
    let time_s = Course::new(track).time(car).ok()?;
    let lap = |track: &Track| Course::new(track).time(car).ok();
    let lines = Lines::of(line, track, draws.div_ceil(2))?;
    let fine_s = lap(&lines.fine)?;
    let pair = |[one, other]: &[Track; 2]| Some((lap(one)?, lap(other)?));
    let lapped = |pairs: &[[Track; 2]]| -> Vec<(f64, f64)> { each_of(pairs, pair).into_iter().flatten().collect() };
    let (pairs, climbs) = (lapped(&lines.bends), lapped(&lines.climbs));
    if 2 * pairs.len() < LEAST.max(draws / 2) {
        return None;
    }
    let n = pairs.len() as f64;
    let roughness_s = pairs.iter().map(|p| 0.5 * (p.0 + p.1) - fine_s).sum::<f64>() / n;
    let scatter = |pairs: &[(f64, f64)]| {
        let square: f64 = pairs.iter().map(|p| (0.5 * (p.0 - p.1)).powi(2)).sum();
        (square / (pairs.len() as f64).max(1.0)).sqrt()
    };
    let (scatter_s, climbs_s) = (scatter(&pairs), scatter(&climbs));
    Some(TrackDoubt {
        time_s,
        roughness_s,
        scatter_s,
        climbs_s,
        draws: 2 * pairs.len(),
        instruments: lines.instruments,
    })
}
