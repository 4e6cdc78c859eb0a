//! The examples of the crate, run as a stranger would.

use std::path::{Path, PathBuf};
use std::process::Command;

/// Cargo builds examples before tests, beside them.
fn example(name: &str) -> PathBuf {
    let test = std::env::current_exe().unwrap();
    test.parent().unwrap().parent().unwrap().join("examples").join(format!("{name}{}", std::env::consts::EXE_SUFFIX))
}

fn said(name: &str, given: &[&str]) -> String {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../..");
    let run = Command::new(example(name)).args(given).current_dir(root).output().unwrap();
    assert!(run.status.success(), "{name}: {}", String::from_utf8_lossy(&run.stderr));
    String::from_utf8(run.stdout).unwrap()
}

const CAR: &str = "vehicles/saloon-awd";
const TRACK: &str = "tracks/airfield.toml";

/// The same question of the command line has the same answer.
fn command(given: &[&str]) -> serde_json::Value {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../..");
    let run = Command::new(env!("CARGO_BIN_EXE_unladen")).args(given).current_dir(root).output().unwrap();
    serde_json::from_slice(&run.stdout).unwrap()
}

#[test]
fn end_to_end_a_lap_and_a_kilogram() {
    let text = said("lap", &[CAR, TRACK]);
    let lap = command(&["lap", CAR, TRACK, "--json"]);
    let time =
        format!("{:.3} ± {:.3} s", lap["lap_time_s"].as_f64().unwrap(), lap["lap_time_error_s"].as_f64().unwrap());
    assert!(text.contains(&time) && text.contains("ruled by power"), "{text}");
    let worth = command(&["worth", CAR, TRACK, "--json"]);
    let kilogram = format!("a kilogram costs {:.2} ± ", 1e3 * worth["mix"]["s_per_kg"].as_f64().unwrap());
    assert!(text.contains(&kilogram), "{kilogram} in {text}");
}

#[test]
fn end_to_end_a_sweep() {
    let text = said("sweep", &[CAR, TRACK, "1200kg..1300kg:3"]);
    assert_eq!(text.lines().filter(|line| line.starts_with("12") || line.starts_with("13")).count(), 3, "{text}");
}

#[test]
fn end_to_end_a_decision() {
    let text = said("decide", &[CAR, TRACK]);
    assert!(text.contains("do: ") && text.contains("nine chances in ten"), "{text}");
}

#[test]
fn property_examples_are_short() {
    for name in ["lap", "sweep", "decide"] {
        let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("examples/{name}.rs"));
        assert!(std::fs::read_to_string(path).unwrap().lines().count() < 30, "{name}");
    }
}
