//! A lap that was not fitted to, against the fitted car.

use statrs::distribution::{ContinuousCDF, StudentsT};
use unladen_lap::{Course, LapError};
use unladen_vehicle::Car;

use super::carried::Off;
use super::problem::speed_at;
use super::{Fit, Knob, LoggedLap, applied};
use crate::uncertainty::spread::NINETY;

/// How well a fitted car predicts a lap that it was not fitted to.
#[derive(Clone, Copy, Debug)]
pub struct Prediction {
    /// Lap time of the model, s.
    pub model_s: f64,
    /// Its standard deviation from what the fit leaves open, s.
    pub model_sd_s: f64,
    /// How the driver's laps scatter, one standard deviation, s: by the laps that were fitted to, [`USUAL_SCATTER`] of the
    /// lap time where that is one.
    pub scatter_s: f64,
    /// The 90 % interval of a further lap, s: the fit, the driver's scatter about the mean of the laps, and how well few
    /// laps tell that (Student's t).
    pub interval_s: [f64; 2],
    /// Lap time by the log, s.
    pub logged_s: f64,
    /// Standard deviation of (log − model) speed, m/s.
    pub speed_mps: f64,
}

/// How a driver's laps scatter where one lap doesn't tell, a share of the lap time. Judgement, no source.
pub const USUAL_SCATTER: f64 = 0.005;

/// Standard deviation of the laps' own times, s; NaN for fewer than two.
pub fn scatter(times_s: &[f64]) -> f64 {
    let times: Vec<f64> = times_s.iter().copied().filter(|t| t.is_finite()).collect();
    let n = times.len() as f64;
    let mean = times.iter().sum::<f64>() / n;
    (times.iter().map(|t| (t - mean).powi(2)).sum::<f64>() / (n - 1.0)).sqrt()
}

/// How far to each side 90 % of further laps lie, s, by the fit's own standard deviation and the laps fitted to. Degrees of
/// freedom by B. L. Welch (Biometrika 34, 1947; from memory).
fn reach(model_sd_s: f64, scatter_s: f64, laps: usize) -> f64 {
    let n = laps.max(1) as f64;
    let (fit, laps_own) = (model_sd_s.powi(2), scatter_s.powi(2) * (1.0 + 1.0 / n));
    let free = if laps < 2 { f64::INFINITY } else { (n - 1.0) * ((fit + laps_own) / laps_own).powi(2) };
    let times = StudentsT::new(0.0, 1.0, free.min(1e6)).map_or(NINETY, |t| t.inverse_cdf(0.95));
    times * (fit + laps_own).sqrt()
}

/// Step of a factor for the derivative of the lap time.
const NUDGE: f64 = 4e-3;

/// A held-out lap against the fitted car; `times_s` are those of the laps that were fitted to.
///
/// # Errors
/// [`LapError`].
pub fn predict(
    fit: &Fit,
    course: &Course,
    car: &Car,
    lap: &LoggedLap,
    times_s: &[f64],
) -> Result<Prediction, LapError> {
    let factors: Vec<f64> = fit.found.iter().map(|f| f.factor).collect();
    let solved = course.lap(&applied(car, &factors))?;
    let rows = solved.trace();
    let mut slopes = vec![0.0; factors.len()];
    for k in 0..Knob::ALL.len() {
        if fit.covariance[k][k] > 0.0 || fit.carried.iter().any(|off| off.factors[k] != 0.0) {
            let at = |by: f64| {
                let mut moved = factors.clone();
                moved[k] += by;
                course.time(&applied(car, &moved))
            };
            slopes[k] = (at(NUDGE)? - at(-NUDGE)?) / (2.0 * NUDGE);
        }
    }
    let by_laps: f64 = (0..slopes.len())
        .flat_map(|a| (0..slopes.len()).map(move |b| (a, b)))
        .map(|(a, b)| slopes[a] * slopes[b] * fit.covariance[a][b])
        .sum();
    // What a held factor or a line does to the factors takes most of what it does to lap time back.
    let over = |off: &Off| slopes.iter().zip(&off.factors).map(|(t, f)| t * f).sum::<f64>() - off.time_s;
    let variance = by_laps + fit.carried.iter().map(|off| over(off).powi(2)).sum::<f64>();
    let length = course.track().length();
    let place = |s: f64| if course.track().closed { (s - fit.shift_m.0).rem_euclid(length) } else { s - fit.shift_m.0 };
    let off: Vec<f64> = lap.s_m.iter().zip(&lap.v_mps).map(|(s, v)| v - speed_at(&rows, place(*s))).collect();
    let square = off.iter().map(|r| r * r).sum::<f64>() / off.len().max(1) as f64;
    let model_sd_s = variance.max(0.0).sqrt();
    let own = scatter(times_s);
    let scatter_s = if own.is_finite() { own } else { USUAL_SCATTER * solved.time };
    let reach = reach(model_sd_s, scatter_s, times_s.iter().filter(|t| t.is_finite()).count());
    Ok(Prediction {
        model_s: solved.time,
        model_sd_s,
        scatter_s,
        interval_s: [solved.time - reach, solved.time + reach],
        logged_s: lap.time_s,
        speed_mps: square.sqrt(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// t of 95 % with 3 degrees of freedom is 2.353, of a normal distribution 1.645 (tables).
    #[test]
    fn closed_form_reach_of_a_further_lap() {
        let near = |got: f64, want: f64| assert!((got - want).abs() < 1e-3 * want, "{got} {want}");
        near(reach(0.0, 0.2, 4), 2.353_4 * 0.2 * 1.25f64.sqrt());
        near(reach(0.1, 0.0, 4), 0.164_5);
        near(reach(0.3, 0.2, 1), 1.645 * 0.17f64.sqrt());
        assert!((scatter(&[80.0, 81.0, 82.0, f64::NAN]) - 1.0).abs() < 1e-12 && scatter(&[80.0]).is_nan());
    }
}
