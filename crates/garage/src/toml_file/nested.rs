//! Tables that a file may hold any number of: `[scales.NAME]`, `[[level]]`. Each is read through its own table of keys,
//! and its faults carry the name it stands under.

use crate::fault::finding::{Faults, Located};
use crate::fault::source::Place;
use crate::fault::{Fault, Wrong};
use crate::keys::Table;
use crate::toml_file::tree::{Entry, Item, Node};
use crate::toml_file::typed::{self, Values};

/// Takes an entry of the top out of the file, so that nobody else calls it unknown.
pub(crate) fn take(root: &mut Node, name: &str) -> Option<Entry> {
    let Item::Table(entries) = &mut root.item else { return None };
    let at = entries.iter().position(|e| e.name == name)?;
    Some(entries.remove(at))
}

/// Reads one table; its faults under `prefix`.
pub(crate) fn read(node: &Node, table: Table, prefix: &str, faults: &mut Faults) -> Values {
    let mut own = Faults::default();
    let values = typed::read(node, table, &mut own);
    if let Err(errors) = own.result() {
        let under = |key: String| format!("{prefix}.{key}");
        for Located { what, place } in errors.faults {
            let what = match what {
                Fault::Value { key, wrong } if key.is_empty() => Fault::Value { key: prefix.into(), wrong },
                Fault::Value { key, wrong } => Fault::Value { key: under(key), wrong },
                Fault::UnknownKey { key, meant, known } => Fault::UnknownKey { key: under(key), meant, known },
                Fault::KeyMissing { key, help, example, because } => {
                    Fault::KeyMissing { key: under(key), help, example, because }
                }
                Fault::TableMissing { table, names, because } => {
                    Fault::TableMissing { table: under(table), names, because }
                }
                other => other,
            };
            faults.add(Located { what, place });
        }
    }
    values
}

/// The tables of a list of tables, `[[level]]`; a fault where it is something else.
pub(crate) fn list<'a>(entry: &'a Entry, faults: &mut Faults) -> Vec<&'a Node> {
    match &entry.node.item {
        Item::List(list) => list.iter().collect(),
        // A single [level] is one of them.
        Item::Table(_) => vec![&entry.node],
        other => {
            let example = format!("[[{}]]", entry.name);
            let wrong = Wrong::Type { found: other.kind(), due: "a list of tables", example };
            faults.push(Fault::Value { key: entry.name.clone(), wrong }, &entry.node.place);
            Vec::new()
        }
    }
}

/// The tables under names of their own, `[scales.NAME]`.
pub(crate) fn named<'a>(entry: &'a Entry, faults: &mut Faults) -> Vec<(&'a str, &'a Place, &'a Node)> {
    match &entry.node.item {
        Item::Table(entries) => entries.iter().map(|e| (e.name.as_str(), &e.key, &e.node)).collect(),
        other => {
            let example = format!("[{}.NAME]", entry.name);
            let wrong = Wrong::Type { found: other.kind(), due: "a table", example };
            faults.push(Fault::Value { key: entry.name.clone(), wrong }, &entry.node.place);
            Vec::new()
        }
    }
}
