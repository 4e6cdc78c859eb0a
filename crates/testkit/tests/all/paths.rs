//! Every path in backquotes, in the documents for people and in comments, is there.

use std::path::{Path, PathBuf};

use unladen_testkit::files::{root, text};

/// Files that end so, apart from what is built and what is hidden.
fn files(ending: &str) -> Vec<PathBuf> {
    let mut all = Vec::new();
    let mut open = vec![root()];
    while let Some(folder) = open.pop() {
        for path in std::fs::read_dir(folder).unwrap().map(|e| e.unwrap().path()) {
            let name = path.file_name().unwrap().to_string_lossy();
            if path.is_dir() && !name.starts_with('.') && name != "target" {
                open.push(path);
            } else if name.ends_with(ending) {
                all.push(path);
            }
        }
    }
    all.sort();
    all
}

/// The words in backquotes that look like a path: with a slash inside, or a document's name.
fn paths(text: &str) -> Vec<&str> {
    let plain = |c: char| c.is_ascii_alphanumeric() || "_.-/".contains(c);
    let path = |word: &&str| {
        let document = word.strip_suffix(".md").is_some_and(|stem| !stem.is_empty());
        word.chars().all(plain) && !word.starts_with('/') && (document || word.trim_end_matches('/').contains('/'))
    };
    text.lines()
        .flat_map(|line| line.split('`').skip(1).step_by(2))
        .flat_map(str::split_whitespace)
        .filter(path)
        .collect()
}

/// From the root, from the folder of what names it, or from that one's crate.
fn is_there(path: &str, named_in: &Path) -> bool {
    let folders = named_in.ancestors().skip(1);
    let near = folders.clone().next().into_iter();
    let krate = folders.filter(|folder| folder.join("Cargo.toml").is_file());
    near.chain(krate).any(|folder| folder.join(path).exists())
}

fn missing(files: &[PathBuf], said: impl Fn(&str) -> String, counts: impl Fn(&str) -> bool) -> Vec<String> {
    let mut all = Vec::new();
    for file in files {
        let said = said(&text(file));
        let lost = paths(&said).into_iter().filter(|path| counts(path) && !is_there(path, file));
        let name = file.strip_prefix(root()).unwrap().display();
        all.extend(lost.map(|path| format!("{name}: {path}")));
    }
    all.dedup();
    all
}

#[test]
fn closed_form_what_looks_like_a_path() {
    let text = "`a/b.rs` and `cargo run c/d/ --x`, `e.md`, not `/e/f`, `g.rs`, `*/h`, a/b, `m/s²` or `.md`\n`i\n`j/k`";
    assert_eq!(paths(text), ["a/b.rs", "c/d/", "e.md", "j/k"]);
    let here = root().join("crates/testkit/src/rooms/mod.rs");
    assert!(["tests/run", "read.rs", "src/lib.rs", "crates/lap/"].iter().all(|path| is_there(path, &here)));
    assert!(["lib.rs", "rooms/read.rs", "no/such"].iter().all(|path| !is_there(path, &here)));
}

#[test]
fn property_paths_in_documents_are_there() {
    let all = files(".md");
    assert!(all.len() >= 6, "{all:?}");
    let lost = missing(&all, str::to_owned, |_| true);
    assert!(lost.is_empty(), "not there:\n{}", lost.join("\n"));
}

/// Only what begins like a folder of the repository or ends like a file: `dd/mm/yyyy` is none.
#[test]
fn property_paths_in_comments_are_there() {
    let all = files(".rs");
    assert!(all.len() >= 300);
    let comments =
        |text: &str| text.lines().filter(|l| l.trim_start().starts_with("//")).collect::<Vec<_>>().join("\n");
    let folders = ["crates/", "docs/", "examples/", "fuzz/", "notebooks/", "src/", "tests/", "tracks/", "vehicles/"];
    let endings = [".csv", ".gpx", ".json", ".md", ".mjs", ".py", ".rs", ".toml", ".txt"];
    let counts = |path: &str| folders.iter().any(|f| path.starts_with(f)) || endings.iter().any(|e| path.ends_with(e));
    let lost = missing(&all, comments, counts);
    assert!(lost.is_empty(), "not there:\n{}", lost.join("\n"));
}
