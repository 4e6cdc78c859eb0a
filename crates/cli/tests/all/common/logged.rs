//! Runs in a folder of logs.

use std::path::Path;
use std::process::{Command, Output};

pub const ROOT: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/../..");

pub fn unladen(dir: &Path, args: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_unladen")).current_dir(dir).args(args).output().unwrap()
}

pub fn said(output: &Output) -> String {
    String::from_utf8_lossy(&output.stderr).into_owned()
}

pub fn number(output: &Output, key: &str) -> f64 {
    let json: serde_json::Value =
        serde_json::from_slice(&output.stdout).unwrap_or_else(|e| panic!("{e}: {}", said(output)));
    json[key].as_f64().unwrap()
}
