//! `--set KEY=VALUE`, `KEY+=VALUE`, `KEY-=VALUE`, `KEY*=FACTOR`: any dotted key of the car's or the track's file, changed
//! for one run.

use std::sync::Arc;

use crate::fault::finding::{Faults, FileErrors};
use crate::fault::source::{Place, Source};
use crate::fault::{Fault, SetProblem};
use crate::keys::car::CAR;
use crate::keys::shop::{ABOARD, SCALE};
use crate::keys::track::TRACK;
use crate::keys::{Key, Table, shared};
use crate::toml_file::shift::{How, changed};
use crate::toml_file::tree::{self, Node};
use crate::unit::near;

/// Values that stand in for those of the files, or shift them, one after another. A value keeps the ± of the one that
/// it stands in for unless it states its own.
#[derive(Clone, Debug, Default)]
pub struct Overrides {
    sets: Vec<Set>,
}

#[derive(Clone, Debug)]
struct Set {
    path: String,
    /// Of a list: which entry.
    index: Option<usize>,
    how: How,
    key: Place,
    node: Node,
}

/// Tables of the car's file that stand under names of their owner's own: `scales.NAME.KEY`.
const NAMED: [(&str, Table); 2] = [("scales", SCALE), ("aboard", ABOARD)];

impl Overrides {
    /// None.
    pub fn none() -> Self {
        Self::default()
    }

    /// From the command line's arguments. The keys are checked here, the values where they are read.
    ///
    /// `driveline.gears[1]=2.1` and `engine.torque[2]=320Nm` (from 0) set one entry of a list.
    ///
    /// # Errors
    /// Every argument that is no `KEY=VALUE` or whose key is in neither file.
    pub fn parse<T: AsRef<str>>(arguments: impl IntoIterator<Item = T>) -> Result<Self, FileErrors> {
        let mut faults = Faults::default();
        let mut sets = Vec::new();
        for argument in arguments {
            let source = Source::new("--set", argument.as_ref());
            match one(&source) {
                Ok(set) => sets.push(set),
                Err((problem, place)) => {
                    let given = source.text.split('=').next().unwrap_or_default().trim().to_owned();
                    faults.push(Fault::Set { given, problem }, &place);
                }
            }
        }
        faults.result().map(|()| Self { sets })
    }

    /// Whether a ± is stated for this key here, rather than in the file.
    pub(crate) fn states_sd(&self, key: &str) -> bool {
        let of = |set: &Set| match set.index {
            Some(i) => format!("{}[{i}]", set.path) == key,
            None => set.path == key,
        };
        self.sets.iter().rev().find(|set| of(set)).is_some_and(|set| set.how == How::To && set.node.states_sd())
    }

    /// Puts those that belong to this kind of file into what was typed.
    pub(crate) fn apply(&self, table: Table, root: &mut Node, faults: &mut Faults) {
        self.put(root, |path| table.find(path), faults);
    }

    /// Puts those of a car's scales and of what is aboard, `scales.NAME.KEY`, into what was typed.
    pub(crate) fn apply_named(&self, root: &mut Node, faults: &mut Faults) {
        self.put(root, |path| named(path).and_then(|(table, key)| table.find(key)), faults);
    }

    fn put(&self, root: &mut Node, belongs: impl Fn(&str) -> Option<&'static Key>, faults: &mut Faults) {
        for set in &self.sets {
            let Some(key) = belongs(&set.path) else { continue };
            // No such entry: the reader will say that a list is due here.
            let old = match set.index {
                Some(i) => root.at_mut(&set.path).and_then(|node| node.entry_of_list(i)).cloned(),
                None => root.at(&set.path).or_else(|| root.at(&instead(&set.path)?)).cloned(),
            };
            let new = match changed(key, old.as_ref(), set.how, &set.node) {
                Ok(new) => new,
                Err(problem) => {
                    faults.push(Fault::Set { given: set.path.clone(), problem }, &set.node.place);
                    continue;
                }
            };
            let entry = set.index.and_then(|i| root.at_mut(&set.path)?.entry_of_list(i));
            match entry {
                Some(entry) => *entry = new,
                None => root.put(&set.path, &set.key, new),
            }
        }
    }
}

/// Where the value of a key that may be left out stands then.
fn instead(path: &str) -> Option<String> {
    match path {
        "fuel.on_track" => Some("fuel.as_weighed".into()),
        "driver.on_track" => Some("driver.as_weighed".into()),
        path => shared(path),
    }
}

/// The table and the key in `scales.NAME.KEY`.
fn named(path: &str) -> Option<(Table, &str)> {
    let (table, rest) = NAMED.iter().find_map(|(name, table)| {
        let rest = path.strip_prefix(name)?.strip_prefix('.')?;
        Some((*table, rest))
    })?;
    // The longest name that leaves a key: names may have dots.
    let mut keys = rest.match_indices('.').map(|(i, _)| &rest[i + 1..]);
    let known = keys.clone().find(|key| table.find(key).is_some());
    known.or_else(|| keys.next_back()).map(|key| (table, key))
}

fn one(source: &Arc<Source>) -> Result<Set, (SetProblem, Place)> {
    let text = &source.text;
    let Some(equals) = text.find('=') else {
        return Err((SetProblem::NoEquals, Place::new(source, 0..text.len())));
    };
    let before = &text[..equals];
    let (before, how) = [("+", How::Plus), ("-", How::Minus), ("−", How::Minus), ("*", How::Times)]
        .into_iter()
        .find_map(|(sign, how)| Some((before.strip_suffix(sign)?, how)))
        .unwrap_or((before, How::To));
    let typed = before.trim();
    let start = before.find(typed).unwrap_or(0);
    let key = Place::new(source, start..start + typed.len());
    let (path, index) = match typed.strip_suffix(']').and_then(|t| t.split_once('[')) {
        Some((path, index)) => match index.parse() {
            Ok(index) => (path, Some(index)),
            Err(_) => return Err((SetProblem::UnknownKey { meant: None }, key)),
        },
        None => (typed, None),
    };
    let own = named(path);
    let of_car = CAR.find(path).is_some() || own.is_some_and(|(table, key)| table.find(key).is_some());
    match (of_car, TRACK.find(path).is_some()) {
        (true, true) => return Err((SetProblem::BothFiles, key)),
        (false, false) => {
            let known = CAR.keys().chain(TRACK.keys()).map(|k| k.path);
            let leaf = CAR
                .keys()
                .chain(TRACK.keys())
                .map(|k| k.path)
                .find(|p| !path.is_empty() && p.strip_suffix(path).is_some_and(|before| before.ends_with('.')));
            let in_named = own.and_then(|(table, key)| {
                let meant = near::nearest(key, table.keys().map(|k| k.path))?;
                Some(format!("{}{meant}", &path[..path.len() - key.len()]))
            });
            let meant = in_named.or(near::nearest(path, known).or(leaf).map(Into::into));
            return Err((SetProblem::UnknownKey { meant }, key));
        }
        _ => {}
    }
    let value = text[equals + 1..].trim();
    let from = equals + 1 + (text[equals + 1..].len() - text[equals + 1..].trim_start().len());
    if how == How::To && value.starts_with('+') && !value.starts_with("+inf") {
        let shift = format!("{typed}+={}", value.trim_start_matches('+').trim_start());
        return Err((SetProblem::Plus { shift }, Place::new(source, from..text.len())));
    }
    Ok(Set { path: path.into(), index, how, key, node: tree::value(source, from) })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::toml_file::tree::Item;

    fn refused(argument: &str) -> String {
        Overrides::parse([argument]).unwrap_err().to_string()
    }

    #[test]
    fn bad_input_keys_of_neither_file() {
        assert_eq!(refused("mass.total"), "--set:1:1: --set mass.total: KEY=VALUE is due");
        assert!(refused("name=x").contains("both kinds of file"));
        for (argument, meant) in [
            ("mass.totl=1200kg", "mass.total"),
            ("wheelbase=2570mm", "chassis.wheelbase"),
            ("air.altitud=5m", "air.altitude"),
            ("scales.bench.bais=5g", "scales.bench.bias"),
            ("aboard.passenger.mas=70kg", "aboard.passenger.mass"),
        ] {
            let errors = Overrides::parse([argument]).unwrap_err();
            assert_eq!(
                errors.faults[0].what,
                Fault::Set {
                    given: argument.split('=').next().unwrap().into(),
                    problem: SetProblem::UnknownKey { meant: Some(meant.into()) }
                }
            );
        }
        assert!(refused("=5").contains("unknown key"));
        assert!(refused("driveline.gears[x]=5").contains("unknown key"));
        assert_eq!(Overrides::parse(["a=1", "b=2"]).unwrap_err().faults.len(), 2);
        let plus = Overrides::parse(["mass.cg_height=+30mm"]).unwrap_err();
        assert!(plus.render(crate::fault::finding::Style::PLAIN).contains("mass.cg_height+=30mm"), "{plus}");
    }

    #[test]
    fn closed_form_which_file_a_key_belongs_to() {
        let set = Overrides::parse(["mass.total = 1200kg", "grip=0.6"]).unwrap();
        let mut faults = Faults::default();
        let mut car = tree::document(&Source::new("c", ""), &mut faults);
        let mut track = car.clone();
        set.apply(CAR, &mut car, &mut faults);
        set.apply(TRACK, &mut track, &mut faults);
        assert_eq!(car.at("mass.total").unwrap().place.text(), "1200kg");
        assert!(car.at("grip").is_none() && track.at("mass").is_none());
        assert!(matches!(track.at("grip").unwrap().item, Item::Number(0.6)));
    }
}
