//! In which order to drive with and without the change: what cancels a drift, and what a day has time for.

use super::power::{Laps, Power};

/// What a day and its stops take.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Clock {
    /// Of the track, s.
    pub day_s: f64,
    /// To fit or take off the change, s.
    pub change_s: f64,
    /// A stop without one, s: pressures, fuel, a look round.
    pub stop_s: f64,
    /// A lap, s.
    pub lap_s: f64,
}

/// An order with its laps, what it takes and what it shows.
#[derive(Clone, Debug, PartialEq)]
pub struct Order {
    /// With the change, run by run.
    pub runs: Vec<bool>,
    /// Flying laps a run.
    pub laps: usize,
    /// How long it takes, s: out- and in-laps, changes and stops included.
    pub takes_s: f64,
    /// How often the change is fitted or taken off.
    pub changes: usize,
    /// What it shows.
    pub power: Power,
}

/// A difference is shown where it is seen on so many days. Common practice, no source.
pub const SHOWN: f64 = 0.8;
/// Orders, all of which cancel a drift that goes on evenly; A-B-A-B-A and the double one halve what single stops change.
const ORDERS: [&[bool]; 4] = [
    &[false, true, false],
    &[false, true, true, false],
    &[false, true, false, true, false],
    &[false, true, true, false, false, true, true, false],
];
/// Flying laps a run that are tried: with fewer, a run is mostly its out- and in-lap; with more, tyres and fuel change.
const LAPS: [usize; 6] = [3, 4, 5, 6, 8, 10];
/// A run's out- and in-lap.
const BESIDES: usize = 2;
/// Days in numbers while orders are compared.
const DAYS: usize = 400;

impl Clock {
    /// How long an order takes, s, and how often the change comes or goes.
    pub fn takes(&self, runs: &[bool], laps: usize) -> (f64, usize) {
        let changes = runs.windows(2).filter(|w| w[0] != w[1]).count();
        let stops = runs.len().saturating_sub(1 + changes);
        let driven = (runs.len() * (laps + BESIDES)) as f64 * self.lap_s;
        (driven + changes as f64 * self.change_s + stops as f64 * self.stop_s, changes)
    }
}

/// The order that shows this difference (in scatters) in the least time; where none that the day has time for does, the
/// one that shows most. `laps` where the laps of a run are given. `None` where the day has no time for any.
pub fn best(clock: &Clock, difference: f64, lost: f64, freedom: f64, laps: Option<usize>) -> Option<Order> {
    let mut all: Vec<Order> = Vec::new();
    for runs in ORDERS {
        for n in LAPS.into_iter().filter(|n| laps.is_none() || *n == LAPS[0]).map(|n| laps.unwrap_or(n)) {
            let (takes_s, changes) = clock.takes(runs, n);
            if takes_s > clock.day_s {
                continue;
            }
            let plan = Laps { order: runs.to_vec(), laps: n, lost, freedom };
            if let Some(power) = Power::of(&plan, DAYS) {
                all.push(Order { runs: runs.to_vec(), laps: n, takes_s, changes, power });
            }
        }
    }
    let shows = |o: &Order| o.power.chance(difference) >= SHOWN;
    let quickest = all.iter().filter(|o| shows(o)).min_by(|a, b| a.takes_s.total_cmp(&b.takes_s)).cloned();
    quickest.or_else(|| all.into_iter().min_by(|a, b| a.power.smallest(SHOWN).total_cmp(&b.power.smallest(SHOWN))))
}

/// `A-B-B-A`.
pub fn letters(runs: &[bool]) -> String {
    runs.iter().map(|changed| if *changed { "B" } else { "A" }).collect::<Vec<_>>().join("-")
}
