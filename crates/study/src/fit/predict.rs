//! A lap that was not fitted to, against the fitted car.

use unladen_lap::{Course, LapError};
use unladen_vehicle::Car;

use super::problem::speed_at;
use super::{Fit, Knob, LoggedLap, applied};

/// How well a fitted car predicts a lap that it was not fitted to.
#[derive(Clone, Copy, Debug)]
pub struct Prediction {
    /// Lap time of the model, s.
    pub model_s: f64,
    /// Its standard deviation from what the fit leaves open, s.
    pub model_sd_s: f64,
    /// Lap time by the log, s.
    pub logged_s: f64,
    /// Standard deviation of (log − model) speed, m/s.
    pub speed_mps: f64,
}

/// Step of a factor for the derivative of the lap time.
const NUDGE: f64 = 4e-3;

/// A held-out lap against the fitted car.
///
/// # Errors
/// [`LapError`].
pub fn predict(fit: &Fit, course: &Course, car: &Car, lap: &LoggedLap) -> Result<Prediction, LapError> {
    let factors: Vec<f64> = fit.found.iter().map(|f| f.factor).collect();
    let solved = course.lap(&applied(car, &factors))?;
    let rows = solved.trace();
    let mut slopes = vec![0.0; factors.len()];
    for k in 0..Knob::ALL.len() {
        if fit.covariance[k][k] > 0.0 {
            let at = |by: f64| {
                let mut moved = factors.clone();
                moved[k] += by;
                course.time(&applied(car, &moved))
            };
            slopes[k] = (at(NUDGE)? - at(-NUDGE)?) / (2.0 * NUDGE);
        }
    }
    let variance: f64 = (0..slopes.len())
        .flat_map(|a| (0..slopes.len()).map(move |b| (a, b)))
        .map(|(a, b)| slopes[a] * slopes[b] * fit.covariance[a][b])
        .sum();
    let length = course.track().length();
    let place = |s: f64| if course.track().closed { (s - fit.shift_m.0).rem_euclid(length) } else { s - fit.shift_m.0 };
    let off: Vec<f64> = lap.s_m.iter().zip(&lap.v_mps).map(|(s, v)| v - speed_at(&rows, place(*s))).collect();
    let square = off.iter().map(|r| r * r).sum::<f64>() / off.len().max(1) as f64;
    Ok(Prediction {
        model_s: solved.time,
        model_sd_s: variance.max(0.0).sqrt(),
        logged_s: lap.time_s,
        speed_mps: square.sqrt(),
    })
}
