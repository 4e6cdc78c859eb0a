//! What stands in folders.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

/// As many files as one can keep in mind.
pub const MOST_FILES: usize = 15;

/// Every folder at or below this one that holds more `.rs` files than that, and how many.
pub fn crowded(folder: &Path) -> Vec<(PathBuf, usize)> {
    let mut count = BTreeMap::<PathBuf, usize>::new();
    for file in sources(folder) {
        *count.entry(file.parent().unwrap_or(folder).to_owned()).or_default() += 1;
    }
    count.into_iter().filter(|(_, n)| *n > MOST_FILES).collect()
}

/// Every `.rs` file at or below this folder that none of these is: a file whose `mod` was forgotten is never compiled,
/// and its tests never run.
pub fn left_out(folder: &Path, compiled: &BTreeSet<PathBuf>) -> Vec<PathBuf> {
    sources(folder).into_iter().filter(|file| !compiled.contains(file)).collect()
}

fn sources(folder: &Path) -> Vec<PathBuf> {
    let mut all = Vec::new();
    let mut open = vec![folder.to_owned()];
    while let Some(folder) = open.pop() {
        let Ok(entries) = std::fs::read_dir(&folder) else { continue };
        for path in entries.filter_map(|e| Some(e.ok()?.path())) {
            if path.is_dir() {
                open.push(path);
            } else if path.extension().is_some_and(|e| e == "rs") {
                all.push(path);
            }
        }
    }
    all.sort();
    all
}
