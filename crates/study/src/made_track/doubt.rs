//! How well a track made of positions is known, in lap time: lines that the positions do not rule out, each lapped.

use rayon::prelude::*;
use unladen_lap::Course;
use unladen_positions::Line;
use unladen_track::Track;
use unladen_vehicle::Car;

/// What lap time on a made track is worth.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TrackDoubt {
    /// Lap time on the track as made, s.
    pub time_s: f64,
    /// Mean lap time on the lines that the positions do not rule out, s: a smooth line is quicker than most of what
    /// it may be of.
    pub mean_s: f64,
    /// Standard deviation of those, s.
    pub scatter_s: f64,
    /// Lines that were lapped.
    pub draws: usize,
}

impl TrackDoubt {
    /// How far lap time on this course may be from that on the true line, one standard deviation, s: that scatter, and
    /// how much slower than the smooth course those lines are on average. A careful figure: where positions are good
    /// the course itself is nearer to the truth (`tests/all/course_limit.rs` measures both).
    pub fn sd_s(&self) -> f64 {
        self.scatter_s.hypot(self.mean_s - self.time_s)
    }
}

/// Fewer lines than this say nothing of a standard deviation.
const LEAST: usize = 8;

/// Laps `draws` lines, seeds 1, 2, …; `None` where the car can't lap the course or most of them. `track` was made of
/// `line`.
pub fn track_doubt(car: &Car, track: &Track, line: &Line, draws: usize) -> Option<TrackDoubt> {
    let time_s = Course::new(track).time(car).ok()?;
    let lap = |seed: u64| -> Option<f64> {
        let made = Track { segments: line.drawn(seed)?.build_finely(), ..track.clone() };
        if !made.check().is_empty() {
            return None;
        }
        Course::new(&made).time(car).ok()
    };
    let times: Vec<f64> = (1..=draws as u64).into_par_iter().filter_map(lap).collect();
    if times.len() < LEAST.max(draws / 2) {
        return None;
    }
    let n = times.len() as f64;
    let mean_s = times.iter().sum::<f64>() / n;
    let scatter_s = (times.iter().map(|t| (t - mean_s).powi(2)).sum::<f64>() / (n - 1.0)).sqrt();
    Some(TrackDoubt { time_s, mean_s, scatter_s, draws: times.len() })
}
