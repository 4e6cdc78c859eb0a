//! What the second car's ledger has and the first one's has not.

use unladen_garage::{CarFile, Ledger};
use unladen_study::compare::builds::{Doubt, part_doubt};
use unladen_study::ledger::budget::own_sd;
use unladen_vehicle::entry::State;

/// Rows of the second car's ledger that the first one's has not: what came off and went on. Where both cars' masses
/// come from one weighing, what these rows weigh is a doubt of its own.
pub fn only_of_second(
    [first, second]: &[Option<Ledger>; 2],
    file: &CarFile,
    doubts: &mut Vec<Doubt>,
) -> Vec<(String, f64)> {
    let Some(own) = second else { return Vec::new() };
    let done = |ledger: &Ledger| -> Vec<String> {
        ledger.entries.iter().filter(|e| e.state == State::Done).map(|e| e.item.clone()).collect()
    };
    let known = first.as_ref().map_or_else(Vec::new, done);
    let one_weighing = doubts.iter().any(|d| d.input.key == "mass.total" && d.shared());
    let mut all = Vec::new();
    for entry in own.entries.iter().filter(|e| e.state == State::Done && !known.contains(&e.item)) {
        all.push((entry.item.clone(), entry.change.mass()));
        let sd = own_sd(entry, &file.shop.scales);
        let part = entry.change.after.map(|p| (1.0, p)).or(entry.change.before.map(|p| (-1.0, p)));
        if let (true, Some((sign, part))) = (one_weighing && sd > 0.0, part) {
            doubts.push(part_doubt(&entry.item, sd, sign, &part, &file.car));
        }
    }
    all
}
