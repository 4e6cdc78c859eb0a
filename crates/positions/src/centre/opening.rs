//! The first line through positions, before they can be dropped onto one.

use crate::centre::{CentreError, Run, Wish};
use crate::curve::nodes::Nodes;
use crate::curve::polyline::chords;
use crate::curve::smooth::{Choice, Reading};

/// A smooth line over the order of one run's positions: x and y over time, or over distance where there is no time.
pub(crate) fn first_line(run: &Run, wish: Wish) -> Result<Vec<[f64; 2]>, CentreError> {
    let chord = |w: &[[f64; 2]]| (w[1][0] - w[0][0]).hypot(w[1][1] - w[0][1]);
    let timed = run.t.len() == run.points.len();
    let mut at = vec![0.0];
    for i in 1..run.points.len() {
        let du = if timed { run.t[i] - run.t[i - 1] } else { chord(&run.points[i - 1..=i]) };
        at.push(at[i - 1] + du.max(0.0));
    }
    let last = at[at.len() - 1];
    let back = if timed { last / (at.len() as f64 - 1.0) } else { chord(&[run.points[at.len() - 1], run.points[0]]) };
    let span = if wish.closed { last + back } else { last };
    if span <= 0.0 {
        return Err(CentreError::TooShort { length_m: 0.0 });
    }
    let n = (run.points.len() * if timed { 1 } else { 2 }).clamp(64, 8000);
    let step = span / if wish.closed { n as f64 } else { n as f64 - 1.0 };
    let nodes = Nodes { n, step, ring: wish.closed, kappa: vec![0.0; n] };
    let of = |axis: usize| -> Vec<Reading> {
        run.points.iter().zip(&at).map(|(p, u)| Reading { at: u / step, value: p[axis], weight: 1.0 }).collect()
    };
    let choice = Choice { noise: wish.noise_m, window: None, floor: 1e-13, rounds: 60 };
    let both = nodes.smooth_alike(&[&of(0), &of(1)], choice).ok_or(CentreError::NoLine)?;
    Ok((0..n).map(|i| [both[0].values[i], both[1].values[i]]).collect())
}

/// Positions further apart than this make no line by themselves, m.
const SPARSE: f64 = 6.0;

/// Rounds of sparse positions (1 Hz) laid over one another by the share of their time; for the first line only: what
/// that is off along the track is put right when positions are dropped onto the line.
pub(crate) fn together(runs: &[Run], first: &Run, wish: Wish) -> Option<Run> {
    let length: f64 = chords(&first.points, wish.closed).iter().sum();
    let timed = runs.iter().all(|r| r.t.len() == r.points.len() && r.t.len() > 3);
    if !wish.closed || runs.len() < 2 || !timed || length / (first.points.len() as f64) < SPARSE {
        return None;
    }
    let mut all: Vec<(f64, [f64; 2])> = Vec::new();
    for run in runs {
        let (from, n) = (run.t[0], run.t.len());
        let whole = (run.t[n - 1] - from) * n as f64 / (n as f64 - 1.0);
        all.extend(run.t.iter().zip(&run.points).map(|(t, p)| ((t - from) / whole, *p)));
    }
    all.sort_by(|a, b| a.0.total_cmp(&b.0));
    let t = all.iter().map(|a| a.0 * first.t.len() as f64).collect();
    Some(Run { points: all.into_iter().map(|a| a.1).collect(), t, ..Run::default() })
}

/// The most that positions' noise can be, m: the median size of third differences of x and y. Of a smooth path at even
/// times they are jerk · dt³; of noise σ they are √20 σ.
pub(crate) fn differences(run: &Run) -> f64 {
    let third = |w: &[[f64; 2]], i: usize| (w[3][i] - 3.0 * w[2][i] + 3.0 * w[1][i] - w[0][i]).abs();
    let mut all: Vec<f64> = run.points.windows(4).flat_map(|w| [third(w, 0), third(w, 1)]).collect();
    all.sort_by(f64::total_cmp);
    // 1.4826: the standard deviation of a normal distribution by its median.
    all.get(all.len() / 2).map_or(1.0, |median| 1.482_6 * median / f64::sqrt(20.0)).max(1e-3)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::curve::noise::Noise;

    #[test]
    fn closed_form_noise_by_third_differences() {
        let mut random = Noise::new(3);
        let mut point = |i: i32| [f64::from(i), 0.02 * f64::from(i * i)].map(|x| x + 0.5 * random.normal());
        let run = Run { points: (0..4000).map(&mut point).collect(), ..Run::default() };
        // Overlapping differences of 8000 numbers: the median's standard error is about 2 %.
        assert!((differences(&run) / 0.5 - 1.0).abs() < 0.06, "{}", differences(&run));
    }
}
