//! What is valid: a tree of what was typed, read through a table of keys, with every fault of it.

use std::collections::{HashMap, HashSet};

use crate::fault::finding::Faults;
use crate::fault::source::Place;
use crate::fault::{Fault, Wrong};
use crate::keys::{Key, Kind, Span, Table, shared};
use crate::measured::{self, Measured};
use crate::plain::steers;
use crate::toml_file::presence;
use crate::toml_file::tree::{Item, Node};
use crate::unit::Dimension;
use crate::unit::date;
use crate::unit::near;

/// A value of a known key.
#[derive(Clone, Debug)]
pub(crate) enum Typed {
    Text(String),
    Flag(bool),
    Choice(&'static str),
    Quantity(Measured),
    List(Vec<Measured>),
    Pairs(Vec<(Measured, Measured)>),
}

/// The values of a file, by key, each with its place.
#[derive(Debug, Default)]
pub(crate) struct Values {
    of: HashMap<&'static str, (Typed, Place)>,
    assumed: HashSet<&'static str>,
}

/// The word before a value that nobody has measured: `"assumed 550 ± 30 mm"`. It stands in the value, so that it goes
/// when another value is written there, by hand or by a command.
pub(crate) const ASSUMED: &str = "assumed";

/// What stands behind the word, and how many bytes the word takes; `None` without it.
pub(crate) fn assumed(text: &str) -> Option<(&str, usize)> {
    let rest = text.trim_start().strip_prefix(ASSUMED)?;
    let value = rest.trim_start();
    (value.len() < rest.len()).then_some((value, text.len() - value.len()))
}

impl Values {
    /// Where a value stands; of an axle's tyres, or else of both.
    pub(crate) fn place(&self, path: &str) -> Option<&Place> {
        self.with_shared(path).map(|v| &v.1)
    }

    fn with_shared(&self, path: &str) -> Option<&(Typed, Place)> {
        self.of.get(path).or_else(|| self.of.get(shared(path)?.as_str()))
    }

    fn typed(&self, path: &str) -> Option<&Typed> {
        self.with_shared(path).map(|v| &v.0)
    }

    /// A value under its own key only.
    pub(crate) fn own_quantity(&self, path: &str) -> Option<Measured> {
        if let Some((Typed::Quantity(m), _)) = self.of.get(path) { Some(*m) } else { None }
    }

    /// Nobody has measured it.
    pub(crate) fn is_assumed(&self, path: &str) -> bool {
        self.assumed.contains(path)
    }

    /// The keys whose values are assumed, in the order of the table.
    pub(crate) fn assumed(&self, table: Table) -> Vec<&'static str> {
        table.keys().map(|key| key.path).filter(|path| self.assumed.contains(path)).collect()
    }

    pub(crate) fn quantity(&self, path: &str) -> Option<Measured> {
        if let Some(Typed::Quantity(m)) = self.typed(path) { Some(*m) } else { None }
    }

    pub(crate) fn list(&self, path: &str) -> Option<&[Measured]> {
        if let Some(Typed::List(list)) = self.typed(path) { Some(list) } else { None }
    }

    pub(crate) fn pairs(&self, path: &str) -> Option<&[(Measured, Measured)]> {
        if let Some(Typed::Pairs(pairs)) = self.typed(path) { Some(pairs) } else { None }
    }

    pub(crate) fn text(&self, path: &str) -> Option<&str> {
        if let Some(Typed::Text(text)) = self.typed(path) { Some(text) } else { None }
    }

    pub(crate) fn choice(&self, path: &str) -> Option<&'static str> {
        if let Some(Typed::Choice(choice)) = self.typed(path) { Some(choice) } else { None }
    }

    pub(crate) fn flag(&self, path: &str) -> Option<bool> {
        if let Some(Typed::Flag(flag)) = self.typed(path) { Some(*flag) } else { None }
    }
}

/// Reads every key of the table; pushes every fault: values, unknown keys, and missing keys unless the text had faults
/// of syntax already (which may have cost it those keys).
pub(crate) fn read(root: &Node, table: Table, faults: &mut Faults) -> Values {
    let sound = faults.is_empty();
    let mut values = Values::default();
    let mut blocked: Vec<String> = Vec::new();
    for key in table.keys() {
        if let Some(node) = root.at(key.path)
            && let Some(typed) = one(key, node, faults)
        {
            values.of.insert(key.path, (typed, node.place.clone()));
            if is_assumed(node) {
                values.assumed.insert(key.path);
            }
        }
    }
    presence::unknown(root, table, "", faults, &mut blocked);
    if sound {
        presence::missing(root, table, &values, &blocked, faults);
    }
    values
}

/// A value, or one of a list, that nobody has measured.
pub(crate) fn is_assumed(node: &Node) -> bool {
    match &node.item {
        Item::Text(text) => assumed(text).is_some(),
        Item::List(list) => list.iter().any(is_assumed),
        _ => false,
    }
}

fn one(key: &'static Key, node: &Node, faults: &mut Faults) -> Option<Typed> {
    let mut fail = |wrong: Wrong, place: &Place| {
        faults.push(Fault::Value { key: key.path.into(), wrong }, place);
        None
    };
    let mismatch = |due: &'static str| Wrong::Type { found: node.item.kind(), due, example: key.example() };
    match (&key.kind, &node.item) {
        (Kind::Schema, Item::Number(x)) if *x == 1.0 => Some(Typed::Flag(true)),
        (Kind::Schema, _) => fail(Wrong::Schema { given: node.place.text().into() }, &node.place),
        (Kind::Text, Item::Text(text)) if text.trim().is_empty() => fail(Wrong::Empty, &node.place),
        (Kind::Text, Item::Text(text)) => match text.chars().find(|c| steers(*c)) {
            Some(character) => fail(Wrong::Steers { character }, &node.place),
            None => Some(Typed::Text(text.clone())),
        },
        (Kind::Text, _) => fail(mismatch("a text"), &node.place),
        (Kind::Date, Item::Text(text)) if date::day(text).is_some() => Some(Typed::Text(text.clone())),
        (Kind::Date, Item::Date) if date::day(node.place.text()).is_some() => {
            Some(Typed::Text(node.place.text().to_owned()))
        }
        (Kind::Date, Item::Text(text)) => fail(Wrong::NotADate { given: text.clone() }, &node.place),
        (Kind::Date, _) => fail(mismatch("a date"), &node.place),
        (Kind::Flag, Item::Flag(flag)) => Some(Typed::Flag(*flag)),
        (Kind::Flag, _) => fail(mismatch("true or false"), &node.place),
        (Kind::Choice(choices), Item::Text(text)) => {
            let word = assumed(text).map_or(text.as_str(), |(word, _)| word).trim();
            match choices.iter().find(|c| **c == word) {
                Some(choice) => Some(Typed::Choice(choice)),
                None => {
                    let meant = near::nearest(word, choices.iter().copied());
                    fail(Wrong::NotAChoice { given: word.into(), choices, meant }, &node.place)
                }
            }
        }
        (Kind::Choice(_), _) => fail(mismatch("a word"), &node.place),
        (Kind::Quantity(span), _) => quantity(key, span, node, faults).map(Typed::Quantity),
        (Kind::List(_) | Kind::Pairs(..), Item::List(list)) if list.is_empty() => {
            fail(Wrong::TooFew { given: 0, least: 1 }, &node.place)
        }
        (Kind::List(span), Item::List(list)) => {
            let read: Vec<_> = list.iter().map(|n| quantity(key, span, n, faults)).collect();
            read.into_iter().collect::<Option<_>>().map(Typed::List)
        }
        (Kind::Pairs(x, y), Item::List(list)) => {
            let read: Vec<_> = list.iter().map(|n| pair(key, x, y, n, faults)).collect();
            read.into_iter().collect::<Option<_>>().map(Typed::Pairs)
        }
        (Kind::List(_) | Kind::Pairs(..), _) => fail(mismatch("a list"), &node.place),
    }
}

fn pair(key: &Key, x: &Span, y: &Span, node: &Node, faults: &mut Faults) -> Option<(Measured, Measured)> {
    match &node.item {
        Item::List(pair) if pair.len() == 2 => {
            let (a, b) = (quantity(key, x, &pair[0], faults), quantity(key, y, &pair[1], faults));
            Some((a?, b?))
        }
        item => {
            let found = if matches!(item, Item::List(_)) { "a list of another length" } else { item.kind() };
            let wrong = Wrong::Type { found, due: "a pair", example: key.example() };
            faults.push(Fault::Value { key: key.path.into(), wrong }, &node.place);
            None
        }
    }
}

fn quantity(key: &Key, span: &Span, node: &Node, faults: &mut Faults) -> Option<Measured> {
    let due = span.unit().dimension;
    let mut fail = |wrong: Wrong, place: &Place| {
        faults.push(Fault::Value { key: key.path.into(), wrong }, place);
        None
    };
    let read = match &node.item {
        Item::Text(text) => {
            let (value, skipped) = assumed(text).unwrap_or((text, 0));
            let read = measured::parse(value, due, span.unit);
            read.map(|(m, _)| m).map_err(|(part, wrong)| (part.start + skipped..part.end + skipped, wrong))
        }
        Item::Number(x) if x.is_nan() => Err((0..0, Wrong::NotFinite)),
        Item::Measured(m) => Ok(*m),
        Item::Number(x) if due == Dimension::Pure => Ok(Measured { value: *x, sd: 0.0 }),
        Item::Number(x) => {
            let example = format!("{} {}", measured::digits(*x), span.unit);
            Err((0..0, Wrong::UnitMissing { due, example }))
        }
        other => {
            let due = if due == Dimension::Pure { "a number" } else { "a text with its unit" };
            Err((0..0, Wrong::Type { found: other.kind(), due, example: key.example() }))
        }
    };
    match read {
        Ok(m) if span.allows(m.value) => Some(m),
        Ok(m) => {
            let given = Measured { sd: 0.0, ..m }.show(span.unit());
            fail(Wrong::OutOfRange { given, range: span.range() }, &node.place)
        }
        Err((part, wrong)) => {
            let place = match node.inner() {
                Some(inner) if !part.is_empty() => inner.part(part),
                _ => node.place.clone(),
            };
            fail(wrong, &place)
        }
    }
}

#[cfg(test)]
pub(crate) mod tests {
    use super::*;
    use crate::fault::source::Source;
    use crate::keys::car::CAR;
    use crate::toml_file::tree;

    pub(crate) fn faults(text: &str) -> Vec<Fault> {
        let mut faults = Faults::default();
        let root = tree::document(&Source::new("car.toml", text), &mut faults);
        read(&root, CAR, &mut faults);
        faults.result().err().map_or(vec![], |e| e.faults.into_iter().map(|f| f.what).collect())
    }

    pub(crate) fn about(text: &str, key: &str) -> Vec<Fault> {
        faults(text)
            .into_iter()
            .filter(|f| match f {
                Fault::Value { key: k, .. } | Fault::UnknownKey { key: k, .. } | Fault::KeyMissing { key: k, .. } => {
                    k.starts_with(key)
                }
                Fault::TableMissing { table, .. } => table.starts_with(key),
                _ => true,
            })
            .collect()
    }

    #[test]
    fn bad_input_values_of_the_wrong_kind() {
        for (text, key) in [
            ("mass = 5", "mass"),
            ("mass.total = 1284", "mass.total"),
            ("mass.total = nan", "mass.total"),
            ("mass.total = \"-5 kg\"", "mass.total"),
            ("mass.total = [\"5 kg\"]", "mass.total"),
            ("mass.total = {}", "mass.total"),
            ("mass.total = 1979-05-27", "mass.total"),
            ("name = \" \"", "name"),
            ("name = 5", "name"),
            ("schema = 2", "schema"),
            ("schema = \"1\"", "schema"),
            ("driveline.gears = []", "driveline.gears"),
            ("driveline.gears = 3.6", "driveline.gears"),
            ("driveline.gears = [3.6, \"x\"]", "driveline.gears"),
            ("driveline.gears = [3.6, inf]", "driveline.gears"),
            ("engine.torque = [[\"1500 rpm\"]]", "engine.torque"),
            ("engine.torque = [\"1500 rpm\", \"180 Nm\"]", "engine.torque"),
            ("engine.torque = [[\"180 Nm\", \"1500 rpm\"]]", "engine.torque"),
            ("driveline.front_share = 1.0", "driveline.front_share"),
            ("driveline.rear_bias = 0.5", "driveline.rear_bias"),
        ] {
            let found = about(text, key);
            assert!(found.iter().any(|f| matches!(f, Fault::Value { .. })), "{text}: {found:?}");
        }
    }
}
