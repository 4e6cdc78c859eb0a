//! How a driver's laps scatter, from logged ones: within runs, freed of traffic and mistakes.

use nalgebra::{DMatrix, DVector};

use super::fit::least_squares::Factored;
use super::fit::noise::Seat;
use super::fit::robust::robust;
use super::laps::SLOWER;
use statrs::distribution::{ChiSquared, ContinuousCDF};

/// A driver's scatter.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Scatter {
    /// Standard deviation of a lap, s.
    pub sd_s: f64,
    /// Degrees of freedom that it is known with; infinite: exactly.
    pub freedom: f64,
}

impl Scatter {
    /// As somebody says: from so many laps, or exactly.
    pub fn said(sd_s: f64, laps: Option<u32>) -> Self {
        Self { sd_s, freedom: laps.map_or(f64::INFINITY, |n| f64::from(n.max(2)) - 1.0) }
    }

    /// The interval that holds it with nine chances in ten, s.
    pub fn interval(&self) -> [f64; 2] {
        match ChiSquared::new(self.freedom) {
            Ok(chi) if self.freedom.is_finite() => {
                [0.95, 0.05].map(|q| self.sd_s * (self.freedom / chi.inverse_cdf(q)).sqrt())
            }
            _ => [self.sd_s; 2],
        }
    }
}

/// Some traffic always hides among the laps: the scatter is known about as well as from this share of them (measured over days with
/// a slowed lap in ten: its own standard deviation is 25 %, of free laps it would be 18 %).
const KNOWN: f64 = 0.5;

/// Of lap times run by run, s: slow first and last laps left out, a trend over each run's laps and a level a run taken
/// away. `None` of fewer than four laps more than runs.
pub fn scatter(runs: &[Vec<f64>]) -> Option<Scatter> {
    let mut rows: Vec<(usize, usize, f64)> = Vec::new();
    for (run, times) in runs.iter().enumerate() {
        let mut sorted = times.clone();
        sorted.sort_by(f64::total_cmp);
        let slow = sorted.get(sorted.len().saturating_sub(1) / 2).map_or(f64::INFINITY, |t| t * (1.0 + SLOWER));
        let end = |i: usize| i == 0 || i + 1 == times.len();
        rows.extend(times.iter().enumerate().filter(|(i, t)| !(end(*i) && **t > slow)).map(|(i, t)| (run, i, *t)));
    }
    let used: Vec<usize> = (0..runs.len()).filter(|r| rows.iter().any(|row| row.0 == *r)).collect();
    if rows.len() < used.len() + 4 {
        return None;
    }
    let middle = |run: usize| {
        let own: Vec<f64> = rows.iter().filter(|r| r.0 == run).map(|r| r.1 as f64).collect();
        own.iter().sum::<f64>() / own.len() as f64
    };
    let x = DMatrix::from_fn(rows.len(), used.len() + 1, |i, j| match used.get(j) {
        Some(run) => f64::from(rows[i].0 == *run),
        None => rows[i].1 as f64 - middle(rows[i].0),
    });
    let y = DVector::from_iterator(rows.len(), rows.iter().map(|r| r.2));
    let seats: Vec<Seat> = rows.iter().map(|r| Seat { run: r.0, lap: r.1 }).collect();
    let freed = robust(&x, &y, &seats, &x)?;
    let kept: Vec<usize> = (0..rows.len()).filter(|i| freed.weights[*i] > 0.0).collect();
    let factored = Factored::of(&x.select_rows(&kept))?;
    let pseudo = DVector::from_iterator(kept.len(), kept.iter().map(|i| freed.pseudo[*i]));
    let left = &pseudo - x.select_rows(&kept) * factored.solve(&pseudo);
    let freedom = factored.freedom();
    Some(Scatter { sd_s: (left.norm_squared() / freedom).sqrt(), freedom: KNOWN * freedom })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trial::made_day::MadeDay;

    /// Two runs of ten laps with traffic: the scatter comes back on the average, and its interval holds it about as often
    /// as it says.
    #[test]
    fn closed_form_a_known_scatter_comes_back() {
        let mut day = MadeDay::new(&[false, false], 10, 0.0, 0.3);
        (day.slowed, day.noise) = ((0.1, 2.0), Some(crate::trial::fit::noise::Noise::NONE));
        let all: Vec<Scatter> = (0..300)
            .map(|i| {
                let laps = day.laps(3, i);
                let run = |r| laps.iter().filter(|l| l.run == r).map(|l| l.time_s).collect();
                scatter(&[run(0), run(1)]).unwrap()
            })
            .collect();
        let mean = all.iter().map(|s| s.sd_s).sum::<f64>() / 300.0;
        let held = all.iter().filter(|s| s.interval()[0] <= 0.3 && 0.3 <= s.interval()[1]).count();
        assert!((mean - 0.3).abs() < 0.03 && (255..=285).contains(&held), "{mean} {held}");
        assert!(scatter(&[vec![80.0, 80.1, 80.2]]).is_none() && scatter(&[]).is_none());
        assert_eq!(Scatter::said(0.3, None).interval(), [0.3; 2]);
    }
}
