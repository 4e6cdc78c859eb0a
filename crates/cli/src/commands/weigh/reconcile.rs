//! `unladen weigh --against CAR`: the ledger against the scales.

use std::path::Path;
use std::process::ExitCode;

use unladen_garage::ReadingsFile;
use unladen_report::weigh::reconcile::{ReconcileView, reconcile_json, reconcile_text};
use unladen_study::ledger::reconcile::{Aboard, reconcile};
use unladen_study::weighing::Weighed;
use unladen_vehicle::entry::{Entry, State};

use crate::error::CliError;
use crate::output::say;
use crate::standing::{self, aboard, carrying};

/// Compares a weighing with what the ledger says for the same day with the same aboard.
pub fn run(car: &Path, file: &ReadingsFile, found: &Weighed, json: bool) -> Result<ExitCode, CliError> {
    let project = standing::read(car, &[])?;
    let (entries, shop) = (&project.ledger.entries, &project.car.shop);
    let since = |e: &Entry| {
        let later = |a: Option<i64>, b: Option<i64>| a.zip(b).is_none_or(|(a, b)| a > b);
        // Done after the weighing before and not after this one; what has no date is taken as between.
        e.state == State::Done && later(e.day, shop.weighed_on) && e.day.zip(file.day).is_none_or(|(d, f)| d <= f)
    };
    let counted: Vec<usize> = (0..entries.len()).filter(|&i| since(&entries[i])).collect();
    let rows: Vec<&Entry> = counted.iter().map(|&i| &entries[i]).collect();
    let base = carrying(&project.car, file.fuel, file.driver)?;
    let ledger = base.with(&rows, &shop.scales)?;
    let loads = &project.car.loads;
    let places = Aboard { tank: loads.fuel.map(|f| f.tank.x), seat: loads.driver.map(|d| d.seat[0]) };
    let result = reconcile(&ledger, (found.mass, found.x), base.wheelbase, entries, &counted, &shop.scales, places);
    let lines: Vec<usize> = (0..entries.len()).map(|i| project.ledger.line(i)).collect();
    let aboard = aboard(file.fuel, file.driver);
    let view = ReconcileView {
        car: &project.car.name,
        name: &file.name,
        aboard: &aboard,
        entries,
        lines: &lines,
        counted: &counted,
        result: &result,
        litres_per_kg: loads.fuel.map(|f| 1e3 / f.density),
    };
    say(&if json { reconcile_json(&view)? } else { reconcile_text(&view) })?;
    Ok(ExitCode::SUCCESS)
}
