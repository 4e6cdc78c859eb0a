//! What two cars have not alike: values of their files, and rows of their ledgers.

use unladen_vehicle::entry::{Entry, State};

use crate::stands::standing::Standing;

/// One thing that is not alike.
#[derive(Clone, Debug, PartialEq)]
pub struct Differs {
    /// A key of their files, or a row of a ledger.
    pub what: String,
    /// Of the first car, as it would be written; none where it has no such value, or the row is not in it.
    pub first: Option<String>,
    /// Of the second.
    pub second: Option<String>,
}

/// All of it: values in the order of the file, then rows.
pub fn differs([a, b]: [&Standing; 2]) -> Vec<Differs> {
    let value = |of: &Standing, key: &str| of.file.written.iter().find(|w| w.key == key).map(|w| w.text.clone());
    let mut keys: Vec<&str> = a.file.written.iter().map(|w| w.key.as_str()).collect();
    keys.extend(b.file.written.iter().map(|w| w.key.as_str()).filter(|key| value(a, key).is_none()));
    // Names and notes of two cars differ as a matter of course.
    let said = ["name", "mass.weighed_with", "limits.document"];
    let values = keys.into_iter().filter(|key| !said.contains(key)).map(|key| Differs {
        what: key.to_owned(),
        first: value(a, key),
        second: value(b, key),
    });
    let mut all: Vec<Differs> = values.filter(|d| d.first != d.second).collect();
    let shown = |e: &Entry| format!("{:+.1} kg", e.change.mass());
    let row = |of: &Standing, item: &str| there(of).find(|e| e.item == item).map(shown);
    let rows = there(a).map(|e| &e.item).chain(there(b).map(|e| &e.item).filter(|item| row(a, item).is_none()));
    let rows = rows.map(|item| Differs { what: item.clone(), first: row(a, item), second: row(b, item) });
    all.extend(rows.filter(|d| d.first != d.second));
    let by = |of: &Standing, item: &str| -> Option<String> {
        let of_item = of.state.moved.iter().filter(|m| m.item == item).map(|m| m.by.map(|m| (1e3 * m).round()));
        let by = of_item.reduce(|a, b| [0, 1, 2].map(|i| a[i] + b[i]));
        Some(by.map_or_else(|| "by its files".to_owned(), |by| format!("{:+},{:+},{:+} mm", by[0], by[1], by[2])))
    };
    let mut moved: Vec<&str> = [a, b].iter().flat_map(|of| &of.state.moved).map(|m| m.item.as_str()).collect();
    moved.dedup();
    let moved = moved.into_iter().map(|item| Differs {
        what: format!("place of the {item}"),
        first: by(a, item),
        second: by(b, item),
    });
    all.extend(moved.filter(|d| d.first != d.second));
    all
}

/// Rows that are in the car.
fn there(of: &Standing) -> impl Iterator<Item = &Entry> {
    of.entries.iter().filter(|e| e.state == State::Done)
}

/// Rows that are in the second car and not in the first: what came off and went on, kg.
pub fn only_of_second([a, b]: [&Standing; 2]) -> Vec<(String, f64)> {
    let known: Vec<&str> = there(a).map(|e| e.item.as_str()).collect();
    there(b).filter(|e| !known.contains(&e.item.as_str())).map(|e| (e.item.clone(), e.change.mass())).collect()
}
