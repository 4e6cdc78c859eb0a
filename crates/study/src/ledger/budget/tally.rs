//! What some rows change together, and what they cost.

use unladen_vehicle::entry::{Entry, Scale};
use unladen_vehicle::mass::Part;

use super::Base;
use super::doubt::spread;

/// What some rows change together.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Tally {
    /// How many rows.
    pub rows: usize,
    /// Change of mass, kg.
    pub change: f64,
    /// Its standard deviation, kg, biases of scales shared.
    pub sd: f64,
    /// Money, of the rows that state any.
    pub cost: f64,
    /// Hours, likewise.
    pub hours: f64,
    /// Rows without a cost.
    pub unpriced: usize,
    /// Rows without hours.
    pub untimed: usize,
}

/// Adds rows up.
pub fn tally(entries: &[&Entry], scales: &[Scale]) -> Tally {
    // About a car without mass and errors of its own only the rows' errors are left.
    let car = Part::point(1e6, 0.0, 0.0, 0.0);
    let base = Base { car, sd: [0.0; 4], wheelbase: 1.0, track: [1.0; 2], chi: 0.5, corners: None };
    let causes = base.causes(&car, entries, scales);
    Tally {
        rows: entries.len(),
        // An empty sum is −0.
        change: entries.iter().map(|e| e.change.mass()).sum::<f64>() + 0.0,
        sd: spread(&car, &causes)[0],
        cost: entries.iter().filter_map(|e| e.cost).sum::<f64>() + 0.0,
        hours: entries.iter().filter_map(|e| e.hours).sum::<f64>() + 0.0,
        unpriced: entries.iter().filter(|e| e.cost.is_none()).count(),
        untimed: entries.iter().filter(|e| e.hours.is_none()).count(),
    }
}
