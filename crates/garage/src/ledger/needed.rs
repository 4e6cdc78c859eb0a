//! What a car must have one of, as needs and exclusions of the rows that take it out and put it in.

use std::collections::BTreeMap;

use unladen_vehicle::entry::{Entry, State};

/// Of each word the open rows that take such a thing out need one that puts one in, and the other way round, and no two
/// of a kind can be. A row that swaps or moves one is both at once, and alone. Gives the rows that leave the car without.
pub(crate) fn must_have(entries: &mut [Entry], one_of: &[Option<String>]) -> Vec<usize> {
    let mut words: BTreeMap<String, [Vec<usize>; 3]> = BTreeMap::new();
    for (row, word) in one_of.iter().enumerate() {
        let Some(word) = word else { continue };
        let e = &entries[row];
        let kind = match (e.change.before, e.change.after) {
            (Some(_), None) => 0,
            (None, _) => 1,
            (Some(_), Some(_)) => 2,
        };
        if e.state != State::Done {
            words.entry(word.to_lowercase()).or_default()[kind].push(row);
        }
    }
    let mut without = Vec::new();
    for [out, within, swaps] in words.values() {
        let alike: [Vec<usize>; 2] = [out, within].map(|rows| rows.iter().chain(swaps).copied().collect());
        for rows in &alike {
            for (k, &row) in rows.iter().enumerate() {
                for &other in
                    rows[..k].iter().filter(|other| !entries[row].excludes.contains(other)).collect::<Vec<_>>()
                {
                    entries[row].excludes.push(other);
                }
            }
        }
        for &row in out {
            if within.is_empty() {
                without.push(row);
            } else {
                need(entries, row, within);
            }
        }
        // A car that has none may get one.
        for &row in within.iter().filter(|_| !out.is_empty()) {
            need(entries, row, out);
        }
    }
    without
}

/// Unless the row says which of them itself.
fn need(entries: &mut [Entry], row: usize, one_of: &[usize]) {
    let said = entries[row].needs.iter().any(|need| need.iter().all(|n| one_of.contains(n)));
    if !said {
        entries[row].needs.push(one_of.to_vec());
    }
}
