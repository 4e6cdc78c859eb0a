//! How long each logged lap took on each stretch of the track.

use unladen_garage::Survey;
use unladen_positions::{Line, Wish};
use unladen_track::Track;

use crate::error::AskError;

/// Seconds on each stretch, lap by lap.
pub(crate) fn splits(found: &Survey, track: &Track, stretches: &[[f64; 2]]) -> Result<Vec<Vec<f64>>, AskError> {
    let wish = Wish { closed: found.closed, noise_m: None, height_noise_m: None };
    let line = Line::through_at_least(&found.runs, wish, found.least_noise)?;
    let lies = line.align(track)?;
    let length = track.length();
    let lap = |k: usize| {
        let (run, (_, time_s)) = (&found.runs[k], found.times[k]);
        let passed = unwrapped(&lies.distances(&line, run), &run.t, length);
        let ends = [passed.first().map_or(0.0, |p| p.1), passed.first().map_or(0.0, |p| p.1) + time_s];
        let from = passed.first().map_or(0.0, |p| p.0);
        // A log's lap begins where it does, not at the track's own line.
        let at = |s: f64| when(&passed, s + length * ((from - s) / length).ceil());
        let one = |[a, b]: &[f64; 2]| {
            let (a, b) = (at(a % length), at(b % length));
            if b > a { b - a } else { (ends[1] - a) + (b - ends[0]) }
        };
        stretches.iter().map(one).collect()
    };
    Ok((0..found.runs.len()).map(lap).collect())
}

/// Distance that only grows, and when.
fn unwrapped(s: &[f64], t: &[f64], length: f64) -> Vec<(f64, f64)> {
    let mut out: Vec<(f64, f64)> = Vec::new();
    let mut turns = 0.0;
    for (i, (&s, &t)) in s.iter().zip(t).enumerate() {
        if i > 0 && s + turns < out.last().map_or(f64::NEG_INFINITY, |l| l.0) - 0.5 * length {
            turns += length;
        }
        if out.last().is_none_or(|l| s + turns > l.0) {
            out.push((s + turns, t));
        }
    }
    out
}

/// When a distance is passed.
fn when(passed: &[(f64, f64)], s: f64) -> f64 {
    let k = passed.partition_point(|p| p.0 < s).clamp(1, passed.len().saturating_sub(1).max(1));
    match (passed.get(k - 1), passed.get(k)) {
        (Some(a), Some(b)) if b.0 > a.0 => a.1 + (b.1 - a.1) * (s - a.0) / (b.0 - a.0),
        (Some(a), _) => a.1,
        _ => f64::NAN,
    }
}
