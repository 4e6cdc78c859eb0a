//! Which keys are there: those that the table does not know, and those that must be there and are not.

use crate::fault::finding::Faults;
use crate::fault::{Fault, Wrong};
use crate::keys::{Need, Table, shared};
use crate::toml_file::tree::{Entry, Item, Node};
use crate::toml_file::typed::Values;
use crate::unit::near;

/// Keys that the table does not know. `blocked` gets the paths that one of them was probably meant to be.
pub(crate) fn unknown(node: &Node, table: Table, at: &str, faults: &mut Faults, blocked: &mut Vec<String>) {
    let Item::Table(entries) = &node.item else {
        // A value where a table is due.
        let wrong = Wrong::Type { found: node.item.kind(), due: "a table", example: format!("[{at}]") };
        faults.push(Fault::Value { key: at.into(), wrong }, &node.place);
        blocked.push(at.into());
        return;
    };
    let names = table.names(at);
    let known: Vec<_> = names.iter().copied().filter(|n| !entries.iter().any(|e| e.name == *n)).collect();
    for Entry { name, key, node } in entries {
        let path = if at.is_empty() { name.clone() } else { format!("{at}.{name}") };
        if table.is_table(&path) {
            unknown(node, table, &path, faults, blocked);
        } else if table.find(&path).is_none() {
            let sibling = near::nearest(name, known.iter().copied());
            let meant = sibling.map(Into::into).or_else(|| elsewhere(name, table));
            if let Some(sibling) = sibling {
                blocked.push(if at.is_empty() { sibling.into() } else { format!("{at}.{sibling}") });
            }
            let known = names.iter().map(ToString::to_string).collect();
            faults.push(Fault::UnknownKey { key: path, meant, known }, key);
        }
    }
}

/// The full path of a key of this name in another table of the file.
fn elsewhere(name: &str, table: Table) -> Option<String> {
    let leaf = |path: &'static str| path.rsplit('.').next().unwrap_or(path);
    table.keys().map(|k| k.path).find(|p| leaf(p) == name).map(Into::into)
}

/// Keys that must be there and are not; those of one missing table in one fault.
pub(crate) fn missing(root: &Node, table: Table, values: &Values, blocked: &[String], faults: &mut Faults) {
    let blocks = |path: &str| blocked.iter().any(|b| path == b || path.starts_with(&format!("{b}.")));
    let mut tables: Vec<&str> = Vec::new();
    for key in table.keys() {
        let because = match &key.need {
            Need::Always => None,
            Need::With(paths) => match paths.iter().find(|p| root.at(p).is_some()) {
                Some(path) => Some(format!("{path} is there")),
                None => continue,
            },
            Need::When(choice, words, _) => match values.choice(choice) {
                Some(word) if words.contains(&word) => Some(format!("{choice} is \"{word}\"")),
                _ => continue,
            },
            Need::Optional | Need::Else(_) => continue,
        };
        let of_both = shared(key.path).is_some_and(|path| root.at(&path).is_some() || blocks(&path));
        if root.at(key.path).is_some() || of_both || blocks(key.path) {
            continue;
        }
        // The outermost table on the way that is missing, or else the table that lacks the key.
        let dots: Vec<&str> = key.path.match_indices('.').map(|(i, _)| &key.path[..i]).collect();
        let there = dots.iter().take_while(|t| root.at(t).is_some()).count();
        let place = dots[..there].last().and_then(|t| root.at(t)).unwrap_or(root).place.clone();
        let lacks = dots.get(there).copied();
        match lacks {
            Some(absent) if tables.contains(&absent) => continue,
            Some(absent) => tables.push(absent),
            None => {}
        }
        let fault = match lacks {
            Some(table_name) => {
                Fault::TableMissing { table: table_name.into(), names: table.names(table_name), because }
            }
            None => Fault::KeyMissing { key: key.path.into(), help: key.help, example: key.example(), because },
        };
        faults.push(fault, &place);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::toml_file::typed::tests::{about, faults};

    #[test]
    fn bad_input_missing_tables_come_once_each() {
        let missing: Vec<_> = faults("").into_iter().map(|f| f.to_string()).collect();
        assert!(missing.contains(&"table [mass] is missing".into()), "{missing:?}");
        assert_eq!(missing.iter().filter(|m| m.contains("[tyres")).count(), 1, "{missing:?}");
        assert!(!missing.iter().any(|m| m.contains("[fuel") || m.contains("[driver]")), "{missing:?}");
    }

    #[test]
    fn bad_input_a_mistyped_table_is_one_fault() {
        let found = about("[chasis]\nwheelbase = \"2570 mm\"\n", "cha");
        assert!(
            matches!(&found[..], [Fault::UnknownKey { key, meant: Some(n), .. }] if key == "chasis" && n == "chassis"),
            "{found:?}"
        );
    }

    #[test]
    fn bad_input_a_key_in_the_wrong_table() {
        let found = about("[mass]\nwheelbase = \"2570 mm\"\n", "mass.wheelbase");
        assert!(
            matches!(&found[..], [Fault::UnknownKey { meant: Some(n), .. }] if n == "chassis.wheelbase"),
            "{found:?}"
        );
    }

    #[test]
    fn bad_input_needs_of_a_layout() {
        let all = about("[driveline]\nlayout = \"all\"\n", "driveline.");
        let rear = about("[driveline]\nlayout = \"rear\"\n", "driveline.");
        assert_eq!(all.len() - rear.len(), 3, "{all:?}\n{rear:?}");
        let word = about("[driveline]\nlayout = \"rea\"\n", "driveline.layout");
        assert!(
            matches!(&word[..], [Fault::Value { wrong: Wrong::NotAChoice { meant: Some("rear"), .. }, .. }]),
            "{word:?}"
        );
    }
}
