//! A crate's modules, and where its paths lead.

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

use super::read::{Text, read};

/// A module: `["draw", "svg"]`; the crate's root is empty.
pub type Place = Vec<String>;

/// What one module holds.
#[derive(Debug, Default)]
struct Module {
    file: String,
    items: BTreeSet<String>,
    paths: Vec<Vec<String>>,
    shown: Vec<(String, Vec<String>)>,
}

/// One module looks into another.
#[derive(Clone, Debug, PartialEq)]
pub struct Look {
    /// From this module …
    pub from: Place,
    /// … into this one,
    pub into: Place,
    /// as it stands in this file.
    pub says: String,
}

/// A crate apart from its test code.
#[derive(Debug, Default)]
pub struct Crate {
    modules: BTreeMap<Place, Module>,
}

impl Crate {
    /// Reads a crate from its root (`lib.rs` or `main.rs`): what is wrong where a file is not there or not Rust.
    pub fn open(root: &Path) -> Result<Self, String> {
        let folder = root.parent().unwrap_or(Path::new("."));
        let name = root.file_name().unwrap_or_default().to_string_lossy();
        Self::of(&name, &|file| std::fs::read_to_string(folder.join(file)).ok())
    }

    /// The same from texts by their paths below `src`.
    pub fn of(root: &str, text: &dyn Fn(&str) -> Option<String>) -> Result<Self, String> {
        let mut all = Self::default();
        let found = text(root).ok_or_else(|| format!("{root} is not there"))?;
        all.add(vec![], root, read(&found).map_err(|e| format!("{root}: {e}"))?, text)?;
        Ok(all)
    }

    fn add(&mut self, at: Place, file: &str, is: Text, text: &dyn Fn(&str) -> Option<String>) -> Result<(), String> {
        let below = |name: &str| [at.as_slice(), &[name.to_owned()]].concat();
        for name in &is.files {
            let stem = below(name).join("/");
            let tried = [format!("{stem}.rs"), format!("{stem}/mod.rs")];
            let (file, found) = tried.iter().find_map(|file| Some((file, text(file)?))).ok_or_else(|| {
                format!("{file} declares `mod {name};`, and neither {} nor {} is there", tried[0], tried[1])
            })?;
            self.add(below(name), file, read(&found).map_err(|e| format!("{file}: {e}"))?, text)?;
        }
        for (name, inner) in is.inner {
            self.add(below(&name), file, inner, text)?;
        }
        let items = is.items.into_iter().collect();
        self.modules.insert(at, Module { file: file.to_owned(), items, paths: is.paths, shown: is.shown });
        Ok(())
    }

    /// Every file that the crate is made of, apart from test code.
    pub fn files(&self) -> BTreeSet<&str> {
        self.modules.values().map(|m| m.file.as_str()).collect()
    }

    /// Does this module have files below it?
    pub fn is_folder(&self, place: &[String]) -> bool {
        let own = self.modules.get(place).map(|module| &module.file);
        self.modules.iter().any(|(at, module)| {
            at.len() > place.len() && at.starts_with(place) && own.is_some_and(|file| *file != module.file)
        })
    }

    /// Everything that looks from one module into another.
    pub fn looks(&self) -> Vec<Look> {
        let mut all = Vec::new();
        for (from, module) in &self.modules {
            for path in &module.paths {
                let Some(start) = self.start(from, path) else { continue };
                let into = self.lead(start.0, start.1, 0);
                all.push(Look { from: from.clone(), into, says: format!("{}: {}", module.file, path.join("::")) });
            }
        }
        all
    }

    /// The module that a path begins at, and what is left of it; none where it leads out of the crate.
    fn start<'a>(&self, at: &[String], path: &'a [String]) -> Option<(Place, &'a [String])> {
        let mut place = at.to_vec();
        let mut rest = path;
        match path.first()?.as_str() {
            "crate" => (place, rest) = (vec![], &path[1..]),
            "self" => rest = &path[1..],
            "super" => {
                while rest.first().is_some_and(|s| s == "super") {
                    place.pop()?;
                    rest = &rest[1..];
                }
            }
            first => {
                place.push(first.to_owned());
                self.modules.get(&place)?;
                rest = &path[1..];
            }
        }
        Some((place, rest))
    }

    /// The module where what a path names is made.
    fn lead(&self, mut place: Place, rest: &[String], depth: usize) -> Place {
        for (i, name) in rest.iter().enumerate() {
            let below = [place.as_slice(), std::slice::from_ref(name)].concat();
            if self.modules.contains_key(&below) {
                place = below;
                continue;
            }
            // A name of its own, or one that it shows; 20 doors deep is a circle of re-exports.
            let Some(module) = self.modules.get(&place).filter(|m| !m.items.contains(name) && depth < 20) else {
                break;
            };
            let Some(door) = self.door(&place, module, name) else { break };
            let path = [door.as_slice(), &rest[i + 1..]].concat();
            let Some((start, rest)) = self.start(&place, &path) else { break };
            return self.lead(start, rest, depth + 1);
        }
        place
    }

    /// The path by which a module shows a name that is made elsewhere in the crate.
    fn door(&self, place: &[String], module: &Module, name: &str) -> Option<Vec<String>> {
        let named = module.shown.iter().find(|(shown, _)| shown == name).map(|(_, path)| path.clone());
        named.or_else(|| {
            let all = module.shown.iter().filter(|(shown, _)| shown == "*");
            all.map(|(_, path)| path).find_map(|path| {
                let (start, rest) = self.start(place, path)?;
                let there = self.modules.get(&self.lead(start, rest, 0))?;
                let has = there.items.contains(name) || there.shown.iter().any(|(shown, _)| shown == name);
                has.then(|| [path.as_slice(), &[name.to_owned()]].concat())
            })
        })
    }
}
