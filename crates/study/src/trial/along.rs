//! Where on the lap a difference arose: the same reading, stretch by stretch.

use super::laps::{Mark, TimedLap};
use super::reading::{PerKg, Reading, ReadingError, read};

/// A stretch and what was gained on it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stretch {
    /// s gained there.
    pub gain_s: f64,
    /// Its 90 % interval, s.
    pub interval: [f64; 2],
}

/// Reads each stretch; `splits` has the times of each lap on each of them, s. Laps that the whole reading left out are
/// left out; fuel and drift are shared by time.
///
/// # Errors
/// [`ReadingError`] where a stretch says nothing.
pub fn along(
    laps: &[TimedLap],
    splits: &[Vec<f64>],
    whole: &Reading,
    fuel: PerKg,
) -> Result<Vec<Stretch>, ReadingError> {
    let out: Vec<usize> = whole.lesser.iter().filter(|l| l.weight == 0.0).map(|l| l.lap).collect();
    let kept: Vec<usize> = (0..laps.len()).filter(|i| !out.contains(i)).collect();
    let stretches = splits.first().map_or(0, Vec::len);
    let one = |k: usize| {
        let share = kept.iter().map(|i| splits[*i][k]).sum::<f64>() / kept.iter().map(|i| laps[*i].time_s).sum::<f64>();
        let of = |i: &usize| TimedLap { time_s: splits[*i][k], mark: Mark::Flying, ..laps[*i] };
        let own: Vec<TimedLap> = kept.iter().map(of).collect();
        let fuel = PerKg { s_per_kg: fuel.s_per_kg * share, sd: fuel.sd * share };
        read(&own, fuel).map(|r| Stretch { gain_s: r.gain_s, interval: r.interval })
    };
    (0..stretches).map(one).collect()
}
