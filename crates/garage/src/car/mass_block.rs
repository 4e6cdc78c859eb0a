//! A new weighing written into car.toml: the values of its `[mass]` block and what was aboard, nothing else.

use std::ops::Range;
use std::sync::Arc;

use crate::car::parse_car;
use crate::fault::Fault;
use crate::fault::finding::{Faults, FileErrors};
use crate::fault::ledger_fault::LedgerFault;
use crate::fault::source::{Place, Source};
use crate::keys::shared;
use crate::toml_file::set::Overrides;
use crate::toml_file::tree::{self, Node};
use crate::toml_file::typed::is_assumed;

/// The file with these keys set: dotted key, and the value as TOML. A key that is missing goes to the end of its table;
/// a table that is missing is left out with its key (what can't be placed is handed back). Where both axles' tyres have
/// one value, that is set. With a value that was assumed goes the comment behind it, which said from where.
///
/// # Errors
/// Every fault of the file as it stands; and where the new values and the rest of the file contradict each other.
pub fn set_values(source: &Arc<Source>, values: &[(&str, String)]) -> Result<(String, Vec<String>), FileErrors> {
    let mut faults = Faults::default();
    let root = tree::document(source, &mut faults);
    faults.result()?;
    let mut edits: Vec<(Range<usize>, String)> = Vec::new();
    let mut left = Vec::new();
    for (key, value) in values {
        if let Some(node) = root.at(key).or_else(|| root.at(&shared(key)?)) {
            let span = with_its_comment(&source.text, node);
            if edits.iter().all(|(known, _)| *known != span) {
                edits.push((span, value.clone()));
            }
        } else {
            let (table, name) = key.rsplit_once('.').unwrap_or(("", key));
            match root.at(table).and_then(|node| end_of(source, node)) {
                Some(end) => edits.push((end..end, format!("{}{name} = {value}", line_end(&source.text)))),
                None => left.push((*key).to_owned()),
            }
        }
    }
    edits.sort_by_key(|e| e.0.start);
    let mut text = String::new();
    let mut at = 0;
    for (range, new) in edits {
        text += &source.text[at..range.start];
        text += &new;
        at = range.end;
    }
    text += &source.text[at..];
    let again = Source::new(source.name.clone(), text.clone());
    // The car was sound before, or its own faults are shown.
    if let Err(broken) = parse_car(&again, &Overrides::none()) {
        parse_car(source, &Overrides::none())?;
        let why = broken.to_string();
        return Err(FileErrors::one(Fault::Ledger(LedgerFault::WouldBreak { why }), &Place::new(source, 0..0)));
    }
    Ok((text, left))
}

/// A value; of one that is assumed with the comment behind it.
fn with_its_comment(text: &str, node: &Node) -> Range<usize> {
    let Range { start, end } = node.place.span.clone();
    let line = text[end..].lines().next().unwrap_or("");
    let comment = is_assumed(node) && line.trim_start().starts_with('#');
    start..if comment { end + line.trim_end().len() } else { end }
}

/// The end of the last line that belongs to a table: behind its last value and what follows on that line.
fn end_of(source: &Arc<Source>, node: &Node) -> Option<usize> {
    let tree::Item::Table(entries) = &node.item else { return None };
    let last = entries.iter().map(|e| e.node.place.span.end).max()?;
    let rest = &source.text[last..];
    Some(last + rest.find(['\n', '\r']).unwrap_or(rest.len()))
}

fn line_end(text: &str) -> &'static str {
    if text.contains("\r\n") { "\r\n" } else { "\n" }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn closed_form_only_the_values_change() {
        let demo = include_str!("../../../../vehicles/saloon-rwd/car.toml");
        let car: String = demo.lines().filter(|l| !l.starts_with("weighed_on")).map(|l| format!("{l}\n")).collect();
        let source = Source::new("car.toml", car.as_str());
        let new = [("mass.total", "\"1200.5 ± 1 kg\"".to_owned()), ("mass.weighed_on", "\"2026-05-01\"".into())];
        let (text, left) = set_values(&source, &new).unwrap();
        assert!(left.is_empty());
        let (old, new): (Vec<&str>, Vec<&str>) = (car.lines().collect(), text.lines().collect());
        assert_eq!(new.len(), old.len() + 1);
        let gone: Vec<&&str> = old.iter().filter(|l| !new.contains(l)).collect();
        assert!(gone.len() == 1 && gone[0].starts_with("total"), "{gone:?}");
        assert!(new.contains(&"weighed_on = \"2026-05-01\""));
        let read = parse_car(&Source::new("car.toml", text), &Overrides::none()).unwrap();
        assert_eq!(read.loads.weighed.m, 1200.5);
    }

    #[test]
    fn bad_input_values_that_the_rest_contradicts() {
        let car = include_str!("../../../../vehicles/saloon-rwd/car.toml");
        let source = Source::new("car.toml", car);
        let error = set_values(&source, &[("fuel.as_weighed", "\"3 L\"".into())]).unwrap_err().to_string();
        assert!(error.contains("would break") && error.contains("disagree"), "{error}");
        let (text, left) = set_values(&source, &[("corners.front_left", "\"3 kg\"".into())]).unwrap();
        assert_eq!((text.as_str(), left), (car, vec!["corners.front_left".to_owned()]));
    }
}
