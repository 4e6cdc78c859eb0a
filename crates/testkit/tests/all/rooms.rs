//! Rooms look one way, folders are small, and no file of tests is forgotten.

use std::path::{Path, PathBuf};

use unladen_testkit::files::root;
use unladen_testkit::rooms::{Crate, MOST_FILES, circles, crowded, left_out};

fn crates() -> Vec<PathBuf> {
    let entries = std::fs::read_dir(root().join("crates")).unwrap();
    let mut all: Vec<_> = entries.map(|e| e.unwrap().path()).filter(|p| p.join("Cargo.toml").is_file()).collect();
    all.sort();
    assert!(all.len() >= 8, "{all:?}");
    all
}

fn name(path: &Path) -> String {
    path.strip_prefix(root().join("crates")).unwrap().display().to_string()
}

#[test]
fn property_rooms_look_one_way() {
    let mut faults = Vec::new();
    for krate in crates() {
        let roots = ["lib.rs", "main.rs"].map(|file| krate.join("src").join(file));
        for file in roots.iter().filter(|file| file.is_file()) {
            let all = Crate::open(file).unwrap_or_else(|e| panic!("{}: {e}", name(file)));
            faults.extend(circles(&all).into_iter().map(|circle| format!("{}: {circle}", name(&krate))));
        }
    }
    assert!(faults.is_empty(), "{} circles:\n\n{}", faults.len(), faults.join("\n\n"));
}

#[test]
fn property_no_folder_is_crowded() {
    let all: Vec<_> = crates().iter().flat_map(|krate| crowded(krate)).collect();
    let told: Vec<_> = all.iter().map(|(folder, n)| format!("{}: {n} files", name(folder))).collect();
    assert!(told.is_empty(), "more than {MOST_FILES} .rs files in\n{}", told.join("\n"));
}

#[test]
fn property_every_file_of_tests_is_compiled() {
    let mut seen = 0;
    for krate in crates() {
        let folder = krate.join("tests");
        let main = folder.join("all/main.rs");
        if !main.is_file() {
            continue;
        }
        let all = Crate::open(&main).unwrap_or_else(|e| panic!("{}: {e}", name(&main)));
        let compiled = all.files().iter().map(|file| folder.join("all").join(file)).collect();
        let forgotten: Vec<_> = left_out(&folder, &compiled).iter().map(|file| name(file)).collect();
        assert!(forgotten.is_empty(), "no `mod` in {} leads to {}", name(&main), forgotten.join(", "));
        seen += 1;
    }
    assert!(seen >= 7);
}
