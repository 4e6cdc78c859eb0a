//! What was typed: a TOML text as a tree whose every node knows its place, and into which `--set` can put others.

use std::sync::Arc;

use toml::de::{DeArray, DeTable, DeValue};

use crate::fault::Fault;
use crate::fault::finding::Faults;
use crate::fault::source::{Place, Source};
use crate::measured::Measured;

/// A value of the text.
#[derive(Clone, Debug)]
pub(crate) struct Node {
    pub(crate) item: Item,
    pub(crate) place: Place,
}

#[derive(Clone, Debug)]
pub(crate) enum Item {
    Text(String),
    Number(f64),
    Flag(bool),
    List(Vec<Node>),
    Table(Vec<Entry>),
    Date,
    /// What `--set` made of a value.
    Measured(Measured),
}

/// A key of a table and its value.
#[derive(Clone, Debug)]
pub(crate) struct Entry {
    pub(crate) name: String,
    pub(crate) key: Place,
    pub(crate) node: Node,
}

/// Reads a whole file; what can be read of it where its syntax has faults.
pub(crate) fn document(source: &Arc<Source>, faults: &mut Faults) -> Node {
    let (table, errors) = DeTable::parse_recoverable(&source.text);
    for error in errors {
        let place = Place::new(source, error.span().unwrap_or(0..0));
        faults.push(Fault::Syntax { message: error.message().trim().to_owned() }, &place);
    }
    Node { item: Item::Table(entries(source, 0, table.get_ref())), place: Place::new(source, 0..0) }
}

/// Reads the value of a `--set`, which starts at byte `from` of its source: TOML where it is, a bare text otherwise.
pub(crate) fn value(source: &Arc<Source>, from: usize) -> Node {
    let text = &source.text[from..];
    match DeValue::parse(text) {
        Ok(value) if !matches!(value.get_ref(), DeValue::Datetime(_)) => {
            node(source, from, value.get_ref(), value.span())
        }
        _ => Node { item: Item::Text(text.to_owned()), place: Place::new(source, from..source.text.len()) },
    }
}

fn entries(source: &Arc<Source>, from: usize, table: &DeTable<'_>) -> Vec<Entry> {
    let place = |span: std::ops::Range<usize>| Place::new(source, from + span.start..from + span.end);
    table
        .iter()
        .map(|(key, value)| Entry {
            name: key.get_ref().to_string(),
            key: place(key.span()),
            node: node(source, from, value.get_ref(), value.span()),
        })
        .collect()
}

fn node(source: &Arc<Source>, from: usize, value: &DeValue<'_>, span: std::ops::Range<usize>) -> Node {
    let item = match value {
        DeValue::String(text) => Item::Text(text.to_string()),
        DeValue::Integer(i) => Item::Number(integer(i.as_str(), i.radix())),
        DeValue::Float(f) => Item::Number(f.as_str().parse().unwrap_or(f64::NAN)),
        DeValue::Boolean(flag) => Item::Flag(*flag),
        DeValue::Datetime(_) => Item::Date,
        DeValue::Array(list) => Item::List(nodes(source, from, list)),
        DeValue::Table(table) => Item::Table(entries(source, from, table)),
    };
    Node { item, place: Place::new(source, from + span.start..from + span.end) }
}

fn nodes(source: &Arc<Source>, from: usize, list: &DeArray<'_>) -> Vec<Node> {
    list.iter().map(|v| node(source, from, v.get_ref(), v.span())).collect()
}

fn integer(digits: &str, radix: u32) -> f64 {
    match radix {
        10 => digits.parse().unwrap_or(f64::NAN),
        radix => i64::from_str_radix(digits, radix).map_or(f64::NAN, |i| i as f64),
    }
}

impl Item {
    /// For messages.
    pub(crate) fn kind(&self) -> &'static str {
        match self {
            Item::Text(_) => "a text",
            Item::Number(_) => "a number",
            Item::Flag(_) => "true or false",
            Item::List(_) => "a list",
            Item::Table(_) => "a table",
            Item::Date => "a date",
            Item::Measured(_) => "a value",
        }
    }
}

impl Node {
    /// Whether it says how uncertain it is.
    pub(crate) fn states_sd(&self) -> bool {
        matches!(&self.item, Item::Text(text) if ["±", "+-", "+/-"].iter().any(|sign| text.contains(sign)))
    }

    /// An entry of a list, to change it.
    pub(crate) fn entry_of_list(&mut self, i: usize) -> Option<&mut Node> {
        if let Item::List(list) = &mut self.item { list.get_mut(i) } else { None }
    }

    /// The entry of a table.
    pub(crate) fn entry(&self, name: &str) -> Option<&Entry> {
        match &self.item {
            Item::Table(entries) => entries.iter().find(|e| e.name == name),
            _ => None,
        }
    }

    /// The node at a dotted path.
    pub(crate) fn at(&self, path: &str) -> Option<&Node> {
        path.split('.').try_fold(self, |node, name| node.entry(name).map(|e| &e.node))
    }

    /// Likewise, to change it.
    pub(crate) fn at_mut(&mut self, path: &str) -> Option<&mut Node> {
        path.split('.').try_fold(self, |node, name| match &mut node.item {
            Item::Table(entries) => entries.iter_mut().find(|e| e.name == name).map(|e| &mut e.node),
            _ => None,
        })
    }

    /// Puts a node at a dotted path, making the tables on the way. What is in the way and no table is replaced.
    pub(crate) fn put(&mut self, path: &str, key: &Place, new: Node) {
        let (name, rest) = match path.split_once('.') {
            Some((name, rest)) => (name, Some(rest)),
            None => (path, None),
        };
        if !matches!(self.item, Item::Table(_)) {
            self.item = Item::Table(Vec::new());
            self.place = key.clone();
        }
        let Item::Table(entries) = &mut self.item else { return };
        let i = match entries.iter().position(|e| e.name == name) {
            Some(i) => i,
            None => {
                let node = Node { item: Item::Table(Vec::new()), place: key.clone() };
                entries.push(Entry { name: name.into(), key: key.clone(), node });
                entries.len() - 1
            }
        };
        match rest {
            Some(rest) => entries[i].node.put(rest, key, new),
            None => entries[i].node = new,
        }
    }

    /// The place of a text's own characters: without the quotes, where these can be told from it.
    pub(crate) fn inner(&self) -> Option<Place> {
        let Item::Text(text) = &self.item else { return None };
        let raw = self.place.text();
        let quoted = raw.len() == text.len() + 2 && raw.get(1..raw.len() - 1) == Some(text);
        match (raw == text, quoted) {
            (true, _) => Some(self.place.clone()),
            (_, true) => Some(self.place.part(1..raw.len() - 1)),
            _ => None,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str) -> (Node, Vec<String>) {
        let mut faults = Faults::default();
        let root = document(&Source::new("t.toml", text), &mut faults);
        (root, faults.result().err().map_or(vec![], |e| e.faults.iter().map(ToString::to_string).collect()))
    }

    #[test]
    fn closed_form_places_of_values() {
        let (root, faults) = read("[a]\r\nx = \"5 mm\"\nb.c = [1, 0x10, inf]\n");
        assert!(faults.is_empty());
        let x = root.at("a.x").unwrap();
        assert_eq!((x.place.text(), x.inner().unwrap().text()), ("\"5 mm\"", "5 mm"));
        assert_eq!(x.place.line(), 2);
        let Item::List(list) = &root.at("a.b.c").unwrap().item else { panic!() };
        let numbers: Vec<f64> =
            list.iter().filter_map(|n| if let Item::Number(x) = n.item { Some(x) } else { None }).collect();
        assert_eq!(numbers, [1.0, 16.0, f64::INFINITY]);
    }

    #[test]
    fn closed_form_put_makes_and_replaces() {
        let (mut root, _) = read("[fuel]\nas_weighed = \"20 L\"\n");
        let source = Source::new("--set", "fuel.on_track=30 L");
        let new = value(&source, 14);
        let key = Place::new(&source, 0..13);
        root.put("fuel.on_track", &key, new.clone());
        root.put("tank.deep.er", &key, new.clone());
        root.put("fuel.as_weighed", &key, new);
        assert_eq!(root.at("fuel.on_track").unwrap().inner().unwrap().text(), "30 L");
        assert_eq!(root.at("tank.deep.er").unwrap().place.source.name, "--set");
        assert_eq!(root.at("fuel.as_weighed").unwrap().place.text(), "30 L");
    }

    #[test]
    fn bad_input_every_fault_of_the_syntax() {
        let (root, faults) = read("a = \nb = 1\nc = 'x\nd = 2\nd = 3\n");
        assert!(faults.len() >= 3, "{faults:?}");
        assert!(root.at("b").is_some());
    }

    #[test]
    fn bad_input_nested_without_end() {
        for deep in ["a = ".to_owned() + &"[".repeat(100_000), "a = ".to_owned() + &"{ b = ".repeat(100_000)] {
            assert!(!read(&deep).1.is_empty());
        }
        let header = format!("[{}]\n", vec!["a"; 50_000].join("."));
        let _ = read(&header);
    }
}
