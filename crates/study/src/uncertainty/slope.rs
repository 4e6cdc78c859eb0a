//! What each unknown does to a lap time to first order, of one lap with all its derivatives.

use unladen_lap::Course;
use unladen_vehicle::Car;

use crate::input::sound::quiet_lap;

/// The step, in standard deviations, over which the numbers that an unknown moves are differenced.
const STEP: f64 = 1e-3;

/// Seconds per standard deviation of each of so many unknowns with nothing off, of a sum of laps by weight. `cars`: one
/// for each lap, on its course's day, with so much off. `None` where a lap has no derivatives.
pub(crate) fn slopes(
    count: usize,
    laps: &[(&Course, f64)],
    cars: &dyn Fn(&[f64]) -> Option<Vec<Car>>,
) -> Option<Vec<f64>> {
    let mut z = vec![0.0; count];
    let lapped = cars(&z)?;
    let gradients = lapped.iter().zip(laps).map(|(car, (course, _))| Some(quiet_lap(course, car).ok()?.gradient()));
    let gradients = gradients.collect::<Option<Vec<_>>>()?;
    let slope = |unknown: usize| {
        let mut at = |off: f64| {
            z[unknown] = off;
            cars(&z)
        };
        let (down, up) = (at(-STEP)?, at(STEP)?);
        z[unknown] = 0.0;
        let of_lap = |i: usize| {
            let along = gradients[i].iter().filter_map(|s| {
                let (down, up) = (down[i].number(s.number)?, up[i].number(s.number)?);
                (up != down).then(|| s.value * (up - down) / (2.0 * STEP))
            });
            laps[i].1 * along.sum::<f64>()
        };
        Some((0..laps.len()).map(of_lap).sum::<f64>()).filter(|s| s.is_finite())
    };
    (0..count).map(slope).collect()
}
