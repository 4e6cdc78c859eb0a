//! A car that is set so that its front lets go first, by a margin: what re-tuning may not take away.
//!
//! The quickest balance nearly always stands where front and rear reach their limits together, and a little more, or a
//! lift, makes the rear go first. How far the front is ahead is told apart for cornering and braking.

use unladen_lap::Lap;
use unladen_vehicle::adhesion::Stance;
use unladen_vehicle::car::{AntiLock, Day};
use unladen_vehicle::{Car, Model};

/// Speeds and days at which a car corners: of each bend of its laps the slowest place.
#[derive(Clone, Debug, Default)]
pub struct Bends(Vec<(Day, Vec<f64>)>);

/// A bend counts from this, m/s².
const BEND: f64 = 3.0;

impl Bends {
    /// Of laps on their days.
    pub fn of<'l>(laps: impl IntoIterator<Item = (Day, &'l Lap)>) -> Self {
        let slowest = |(day, lap): (Day, &Lap)| {
            let rows = lap.trace();
            let lows = rows.windows(3).filter(|w| w[1].v <= w[0].v && w[1].v < w[2].v && w[1].a_y.abs() > BEND);
            (day, lows.map(|w| w[1].v * w[1].v).collect())
        };
        Self(laps.into_iter().map(slowest).collect())
    }

    /// Any car's, on a dry standard day: a slow bend and a fast one.
    pub fn usual() -> Self {
        Self(vec![(Day::STANDARD, vec![15.0 * 15.0, 35.0 * 35.0])])
    }
}

/// How far the front is ahead: by what share the rear could still corner, or brake, harder when the front lets go.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Ahead {
    /// In steady bends, the least of all; none: no bend.
    pub cornering: Option<f64>,
    /// Braking straight on; none: anti-lock, or the rear never locks.
    pub braking: Option<f64>,
}

impl Ahead {
    /// Of a car.
    pub fn of(car: &Car, bends: &Bends) -> Self {
        let mut least = Ahead::default();
        let lower = |known: Option<f64>, new: f64| Some(known.map_or(new, |known| known.min(new)));
        for (day, bends) in &bends.0 {
            let model = Model::new(car, *day);
            for &x in bends {
                for side in [1.0, -1.0] {
                    let [front, rear] = model.lateral_limits(x, side);
                    least.cornering = lower(least.cornering, rear / front - 1.0);
                }
            }
            let grip = day.gamma_0 * car.driver.braking;
            let locks = Stance::of(car).lock_at(&car.brakes, [&car.front, &car.rear], grip);
            if let (AntiLock::None, [Some(front), Some(rear)]) = (car.brakes.anti_lock, locks) {
                least.braking = lower(least.braking, rear / front - 1.0);
            }
        }
        least
    }

    /// By this margin in both.
    pub fn by(&self, margin: f64) -> bool {
        [self.cornering, self.braking].into_iter().flatten().all(|ahead| ahead >= margin - ROUNDING)
    }
}

const ROUNDING: f64 = 1e-6;
const HALVINGS: usize = 40;

/// What of a range leaves the margin: `ahead` rises along it. Where none of it does its far end is nearest.
pub(crate) fn leaves([a, b]: [f64; 2], margin: f64, ahead: impl Fn(f64) -> Option<f64>) -> [f64; 2] {
    let good = |at: f64| ahead(at).is_none_or(|ahead| ahead >= margin);
    if good(a) {
        return [a, b];
    }
    let (mut bad, mut least) = (a, b);
    if good(b) {
        for _ in 0..HALVINGS {
            let middle = 0.5 * (bad + least);
            if good(middle) { least = middle } else { bad = middle }
        }
    }
    [least, b]
}
