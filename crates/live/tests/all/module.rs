//! The committed module is that of these sources.

use std::path::{Path, PathBuf};

use sha2::{Digest, Sha256};

/// What `crates/live/module.sh` names: sources of the crates in the module, but for what only the page has.
const CRATES: [&str; 9] = ["garage", "lap", "live", "positions", "questions", "report", "study", "track", "vehicle"];

fn all_in(folder: &Path, into: &mut Vec<PathBuf>) {
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() { all_in(&path, into) } else { into.push(path) }
    }
}

fn hex(bytes: &[u8]) -> String {
    Sha256::digest(bytes).iter().map(|b| format!("{b:02x}")).collect()
}

#[test]
fn regression_the_module_is_made_of_these_sources() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../..");
    let mut files = Vec::new();
    for name in CRATES {
        all_in(&root.join("crates").join(name).join("src"), &mut files);
        files.push(root.join("crates").join(name).join("Cargo.toml"));
    }
    let named = |path: &PathBuf| path.strip_prefix(&root).unwrap().display().to_string().replace('\\', "/");
    let own = |path: &String| !path.starts_with("crates/live/src/page.") && !path.ends_with("/worker.js");
    let mut names: Vec<String> = files.iter().map(named).filter(own).collect();
    names.sort();
    let line = |name: &String| format!("{}  {name}\n", hex(&std::fs::read(root.join(name)).unwrap()));
    let made = std::fs::read_to_string(root.join("crates/live/module/sources.sha256")).unwrap();
    let now = hex(names.iter().map(line).collect::<String>().as_bytes());
    assert_eq!(made.trim(), now, "the page's module is stale: `bash crates/live/module.sh` makes it anew");
}
