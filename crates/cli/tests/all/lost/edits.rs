//! Nothing that was typed into a ledger is lost: many at once, killed, on a full disk, read-only.
#![allow(clippy::unwrap_used)]

use std::fs;
use std::path::Path;
use std::process::{Child, Stdio};
use std::time::Duration;

use crate::common::{CAR, Folder, command, root, unladen};

fn project() -> (Folder, String) {
    let folder = Folder::new();
    for name in ["car.toml", "ledger.csv", "areas.csv"] {
        folder.write(name, fs::read(root().join(CAR).join(name)).unwrap());
    }
    let car = folder.path("");
    (folder, car)
}

fn add(car: &str, item: &str) -> Child {
    let args = ["ledger", "add", car, item, "--before", "1 kg", "--before-at=100,0,300"];
    command(&args).stdin(Stdio::null()).stdout(Stdio::null()).stderr(Stdio::piped()).spawn().unwrap()
}

/// Pseudo-random numbers by Knuth's multiplicative step, the seed explicit.
struct Dice(u64);

impl Dice {
    fn below(&mut self, most: u64) -> u64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) % most
    }
}

#[test]
fn end_to_end_fifty_edits_at_once_are_fifty_rows() {
    let (folder, car) = project();
    let before = fs::read(folder.path("ledger.csv")).unwrap();
    let all: Vec<Child> = (0..50).map(|i| add(&car, &format!("part {i}"))).collect();
    let done = all.into_iter().map(|c| c.wait_with_output().unwrap()).filter(|o| o.status.success()).count();
    let text = fs::read_to_string(folder.path("ledger.csv")).unwrap();
    assert_eq!((done, text.matches("part ").count()), (50, 50), "{text}");
    for _ in 0..50 {
        assert_eq!(unladen(&["ledger", "undo", &car]).code, Some(0));
    }
    assert_eq!(fs::read(folder.path("ledger.csv")).unwrap(), before);
    assert_eq!(folder.names(), ["areas.csv", "car.toml", "ledger.csv", "ledger.csv.undo"]);
}

/// Killed at any moment: every row that was said to be there is, the file is whole, and undo goes on.
#[test]
fn end_to_end_killed_edits_can_be_taken_back() {
    let (folder, car) = project();
    let path = folder.path("ledger.csv");
    let first = fs::read_to_string(&path).unwrap();
    let mut dice = Dice(18);
    let (mut said, mut killed) = (Vec::new(), 0);
    for i in 0..60 {
        let item = format!("part {i}");
        let mut child = if i % 5 == 4 {
            command(&["ledger", "undo", &car]).stdout(Stdio::null()).stderr(Stdio::piped()).spawn().unwrap()
        } else {
            add(&car, &item)
        };
        std::thread::sleep(Duration::from_micros(dice.below(12_000)));
        let _ = child.kill();
        match child.wait().unwrap().success() {
            true if i % 5 == 4 => {
                said.pop();
            }
            true => said.push(item),
            false => killed += 1,
        }
        let text = fs::read_to_string(&path).unwrap();
        assert!(text.starts_with(&first) && text.ends_with('\n') == first.ends_with('\n'), "{text}");
    }
    assert!(killed > 5, "{killed} were killed: too few to say anything");
    // Back to the first byte, whatever was killed on the way.
    let mut back = 0;
    while fs::read_to_string(&path).unwrap() != first {
        let undo = unladen(&["ledger", "undo", &car]);
        assert_eq!(undo.code, Some(0), "{}", undo.err);
        back += 1;
        assert!(back < 200);
    }
    unladen(&["ledger", "undo", &car]).refused(2, &["nothing to undo"]);
}

#[test]
fn bad_input_a_read_only_ledger_stays() {
    let (folder, car) = project();
    let path = folder.path("ledger.csv");
    let before = fs::read(&path).unwrap();
    let mut only = fs::metadata(&path).unwrap().permissions();
    only.set_readonly(true);
    fs::set_permissions(&path, only).unwrap();
    unladen(&["ledger", "done", &car, "bonnet pins"]).refused(2, &["is read-only"]);
    assert_eq!(fs::read(&path).unwrap(), before);
}

#[test]
fn property_names_that_look_like_formulas_read_back() {
    let (folder, car) = project();
    for item in ["=1+1", "- seat", "@home", "+ more"] {
        let args = ["ledger", "add", &car, item, "--before=1 kg", "--before-at=100,0,300"];
        let args = [&args[..3], &["--before=1 kg", "--before-at=100,0,300", "--", item]].concat();
        assert_eq!(unladen(&args).code, Some(0), "{item}");
        let written = fs::read_to_string(folder.path("ledger.csv")).unwrap();
        assert!(written.contains(&format!("\n'{item},")), "{written}");
        let csv = folder.path("out.csv");
        assert_eq!(unladen(&["ledger", &car, "--csv", &csv]).code, Some(0));
        let out = fs::read_to_string(&csv).unwrap();
        assert!(out.contains(&format!("\n'{item},")) && !out.contains(&format!("\n{item},")), "{out}");
        assert_eq!(unladen(&["ledger", "done", &car, "--", item]).code, Some(0), "{item}");
    }
    let bad = unladen(&["ledger", "add", &car, "a\u{1b}[31mred", "--before", "1 kg", "--before-at=100,0,300"]);
    bad.refused(2, &["nothing was written"]);
    assert!(!bad.err.contains('\u{1b}'), "{:?}", bad.err);
}

/// A full disk: what was there stays, whole. Only root can make one.
#[cfg(target_os = "linux")]
#[test]
fn end_to_end_a_full_disk_loses_nothing() {
    let (folder, _) = project();
    let small = folder.path("small");
    fs::create_dir(&small).unwrap();
    let mount = std::process::Command::new("mount").args(["-t", "tmpfs", "-o", "size=64k", "tmpfs", &small]).output();
    if !mount.is_ok_and(|o| o.status.success()) {
        return;
    }
    for name in ["car.toml", "ledger.csv", "areas.csv"] {
        fs::copy(folder.path(name), Path::new(&small).join(name)).unwrap();
    }
    let path = Path::new(&small).join("ledger.csv");
    let before = fs::read(&path).unwrap();
    // Filled to the last byte.
    let _ = fs::write(Path::new(&small).join("filler"), vec![0; 1 << 17]);
    let args = ["ledger", "add", &small, "part", "--before", "1 kg", "--before-at=100,0,300"];
    let full = unladen(&args);
    let kept = fs::read(&path).unwrap();
    let names = fs::read_dir(&small).unwrap().map(|e| e.unwrap().file_name()).collect::<Vec<_>>();
    let _ = std::process::Command::new("umount").arg(&small).status();
    assert_eq!(full.code, Some(1), "{}{}", full.out, full.err);
    assert_eq!(kept, before);
    assert!(!names.iter().any(|n| n.to_string_lossy().ends_with(".part")), "{names:?}");
}
