//! `--set KEY=VALUE`: any dotted key of the car's or the track's file, changed for one run.

use std::sync::Arc;

use crate::fault::finding::{Faults, FileErrors};
use crate::fault::source::{Place, Source};
use crate::fault::{Fault, SetProblem};
use crate::keys::Table;
use crate::keys::car::CAR;
use crate::keys::shop::SCALE;
use crate::keys::track::TRACK;
use crate::toml_file::tree::{self, Item, Node};
use crate::unit::near;

/// Values that stand in for those of the files. A value without ± is exact; the last one of a key counts.
#[derive(Clone, Debug, Default)]
pub struct Overrides {
    sets: Vec<Set>,
}

#[derive(Clone, Debug)]
struct Set {
    path: String,
    /// Of a list: which entry.
    index: Option<usize>,
    key: Place,
    node: Node,
}

impl Overrides {
    /// None.
    pub fn none() -> Self {
        Self::default()
    }

    /// Whether there are none.
    pub fn is_none(&self) -> bool {
        self.sets.is_empty()
    }

    /// These, and then others: where both have a key, the others' value counts.
    pub fn and(mut self, others: &Overrides) -> Self {
        self.sets.extend(others.sets.iter().cloned());
        self
    }

    /// From the command line's arguments, each `KEY=VALUE`. The keys are checked here, the values where they are read.
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

    /// Puts those that belong to this kind of file into what was typed.
    pub(crate) fn apply(&self, table: Table, root: &mut Node) {
        self.put(root, |path| table.find(path).is_some());
    }

    /// Puts those of a car's scales, `scales.NAME.KEY`, into what was typed.
    pub(crate) fn apply_scales(&self, root: &mut Node) {
        self.put(root, |path| of_scale(path).is_some_and(|key| SCALE.find(key).is_some()));
    }

    fn put(&self, root: &mut Node, belongs: impl Fn(&str) -> bool) {
        for set in &self.sets {
            if !belongs(&set.path) {
                continue;
            }
            match (set.index, root.at_mut(&set.path)) {
                (Some(i), Some(Node { item: Item::List(list), .. })) if i < list.len() => match &mut list[i].item {
                    Item::List(pair) if pair.len() == 2 => pair[1] = set.node.clone(),
                    _ => list[i] = set.node.clone(),
                },
                // No such entry: the reader will say that a list is due here.
                _ => root.put(&set.path, &set.key, set.node.clone()),
            }
        }
    }
}

/// The key in `scales.NAME.KEY`.
fn of_scale(path: &str) -> Option<&str> {
    path.strip_prefix("scales.")?.rsplit_once('.').map(|(_, key)| key)
}

fn one(source: &Arc<Source>) -> Result<Set, (SetProblem, Place)> {
    let text = &source.text;
    let Some(equals) = text.find('=') else {
        return Err((SetProblem::NoEquals, Place::new(source, 0..text.len())));
    };
    let typed = text[..equals].trim();
    let start = text[..equals].find(typed).unwrap_or(0);
    let key = Place::new(source, start..start + typed.len());
    let (path, index) = match typed.strip_suffix(']').and_then(|t| t.split_once('[')) {
        Some((path, index)) => match index.parse() {
            Ok(index) => (path, Some(index)),
            Err(_) => return Err((SetProblem::UnknownKey { meant: None }, key)),
        },
        None => (typed, None),
    };
    let scale = of_scale(path);
    let of_car = CAR.find(path).is_some() || scale.is_some_and(|key| SCALE.find(key).is_some());
    match (of_car, TRACK.find(path).is_some()) {
        (true, true) => return Err((SetProblem::BothFiles, key)),
        (false, false) => {
            let known = CAR.keys().chain(TRACK.keys()).map(|k| k.path);
            let leaf = CAR
                .keys()
                .chain(TRACK.keys())
                .map(|k| k.path)
                .find(|p| !path.is_empty() && p.strip_suffix(path).is_some_and(|before| before.ends_with('.')));
            let in_scale = scale.and_then(|key| {
                let meant = near::nearest(key, SCALE.keys().map(|k| k.path))?;
                Some(format!("{}{meant}", &path[..path.len() - key.len()]))
            });
            let meant = in_scale.or(near::nearest(path, known).or(leaf).map(Into::into));
            return Err((SetProblem::UnknownKey { meant }, key));
        }
        _ => {}
    }
    let from = equals + 1 + (text[equals + 1..].len() - text[equals + 1..].trim_start().len());
    Ok(Set { path: path.into(), index, key, node: tree::value(source, from) })
}

#[cfg(test)]
mod tests {
    use super::*;

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
    }

    #[test]
    fn closed_form_which_file_a_key_belongs_to() {
        let set = Overrides::parse(["mass.total = 1200kg", "grip=0.6"]).unwrap();
        let mut faults = Faults::default();
        let mut car = tree::document(&Source::new("c", ""), &mut faults);
        let mut track = car.clone();
        set.apply(CAR, &mut car);
        set.apply(TRACK, &mut track);
        assert_eq!(car.at("mass.total").unwrap().place.text(), "1200kg");
        assert!(car.at("grip").is_none() && track.at("mass").is_none());
        assert!(matches!(track.at("grip").unwrap().item, Item::Number(0.6)));
    }
}
