//! Trials: against other programs and published values, and measured on days made in numbers.

mod coverage;
mod independent;
mod sides;

use std::collections::HashMap;

/// `tests/independent_statistics/values.csv`: a name a row, then its numbers.
pub fn values() -> HashMap<String, Vec<f64>> {
    let text = include_str!("../../../../../tests/independent_statistics/values.csv");
    let row = |line: &str| {
        let mut cells = line.split(',');
        let name = cells.next().unwrap().to_owned();
        (name, cells.map(|c| c.parse().unwrap()).collect())
    };
    text.lines().map(row).collect()
}

/// Agree to a share of the second.
pub fn near(found: f64, due: f64, share: f64) {
    assert!(
        (found - due).abs() <= share * due.abs(),
        "{found} where {due} is due: off by {:.1e}",
        (found / due - 1.0).abs()
    );
}
