//! Sides that are cars on tracks: their times, on few stations too, and what each unknown does to them to first order,
//! by one lap with all its derivatives.

use unladen_lap::{Course, LapError};
use unladen_vehicle::{Car, Number};

use crate::uncertainty::paired::{Sides, Unknown};
use crate::uncertainty::price::Prices;

/// Cars that are driven over some laps; a side's time is the weighted sum of theirs.
pub trait Driven: Sync {
    /// See [`Sides::unknowns`].
    fn doubts(&self) -> &[Unknown];
    /// See [`Sides::count`].
    fn sides(&self) -> usize;
    /// See [`Sides::moves`].
    fn depends(&self, side: usize, unknown: usize) -> bool;
    /// Where the laps are driven, and what each counts.
    fn laps(&self) -> Vec<(&Course, f64)>;
    /// The car of each lap, on its course's day, with so much off; `None` where one can't be.
    fn cars(&self, side: usize, z: &[f64]) -> Option<Vec<Car>>;
    /// The side that is most like all others: its laps price theirs.
    fn base(&self) -> usize {
        0
    }
}

impl<T: Driven> Sides for T {
    fn unknowns(&self) -> &[Unknown] {
        self.doubts()
    }

    fn count(&self) -> usize {
        self.sides()
    }

    fn moves(&self, side: usize, unknown: usize) -> bool {
        self.depends(side, unknown)
    }

    fn possible(&self, z: &[f64]) -> bool {
        (0..self.sides()).all(|side| self.cars(side, z).is_some())
    }

    fn time(&self, side: usize, z: &[f64]) -> Option<f64> {
        time(&self.laps(), &self.cars(side, z)?, Course::time)
    }

    fn rough_time(&self, side: usize, z: &[f64]) -> Option<f64> {
        time(&self.laps(), &self.cars(side, z)?, Course::rough_time)
    }

    fn prices(&self) -> Option<Prices<'_>> {
        Some(Prices::by(self, self.base()))
    }

    fn slopes(&self, side: usize) -> Option<Vec<f64>> {
        slopes(self.doubts().len(), &self.laps(), &|z| self.cars(side, z))
    }
}

/// The time of one side less that of another with nothing off, s, both on every second station.
pub(crate) fn half_difference(driven: &impl Driven, of: usize, against: usize) -> Option<f64> {
    let zero = vec![0.0; driven.doubts().len()];
    let half = |side: usize| time(&driven.laps(), &driven.cars(side, &zero)?, Course::half_time);
    Some(half(of)? - half(against)?)
}

fn time(laps: &[(&Course, f64)], cars: &[Car], of: impl Fn(&Course, &Car) -> Result<f64, LapError>) -> Option<f64> {
    laps.iter().zip(cars).try_fold(0.0, |sum, ((course, weight), car)| {
        let time = of(course, car).ok().filter(|t| t.is_finite())?;
        Some(sum + weight * time)
    })
}

/// The step, in standard deviations, over which the numbers that an unknown moves are differenced.
const STEP: f64 = 1e-3;

/// Seconds per standard deviation of each of so many unknowns with nothing off, of a sum of laps by weight. `cars`: one
/// for each lap, on its course's day, with so much off. `None` where a lap has no derivatives.
fn slopes(count: usize, laps: &[(&Course, f64)], cars: &dyn Fn(&[f64]) -> Option<Vec<Car>>) -> Option<Vec<f64>> {
    let mut z = vec![0.0; count];
    let lapped = cars(&z)?;
    let numbers: Vec<Vec<Number>> = lapped.iter().map(Number::all).collect();
    let of = |i: usize| laps[i].0.rough_slopes(&lapped[i], &numbers[i]).ok().filter(|of| of.0.is_finite());
    let gradients = (0..laps.len()).map(|i| Some(of(i)?.1)).collect::<Option<Vec<_>>>()?;
    let slope = |unknown: usize| {
        let mut at = |off: f64| {
            z[unknown] = off;
            cars(&z)
        };
        let (down, up) = (at(-STEP)?, at(STEP)?);
        z[unknown] = 0.0;
        let of_lap = |i: usize| {
            let along = numbers[i].iter().zip(&gradients[i]).filter_map(|(&number, slope)| {
                let (down, up) = (down[i].number(number)?, up[i].number(number)?);
                (up != down).then(|| slope * (up - down) / (2.0 * STEP))
            });
            laps[i].1 * along.sum::<f64>()
        };
        Some((0..laps.len()).map(of_lap).sum::<f64>()).filter(|s| s.is_finite())
    };
    (0..count).map(slope).collect()
}
