//! Runs the binary, and the demo files.

pub mod logged;

use std::path::Path;
use std::process::{Command, Stdio};

use tempfile::TempDir;
use unladen_testkit::files;
pub use unladen_testkit::files::root;

/// What a run left behind.
pub struct Run {
    pub code: Option<i32>,
    pub out: String,
    pub err: String,
}

impl Run {
    /// Asserts the exit code and words on standard error, and that nothing panicked.
    #[track_caller]
    pub fn refused(&self, code: i32, words: &[&str]) {
        assert_eq!(self.code, Some(code), "{}{}", self.out, self.err);
        assert_eq!(self.out, "", "a refused run prints no result");
        for word in words {
            assert!(flat(&self.err).contains(word), "`{word}` is not in:\n{}", self.err);
        }
        assert!(!self.err.contains("panicked"), "{}", self.err);
    }

    /// Asserts success without a word on standard error.
    #[track_caller]
    pub fn quiet(&self) -> &str {
        assert_eq!((self.code, self.err.as_str()), (Some(0), ""), "{}", self.out);
        &self.out
    }

    pub fn json(&self) -> serde_json::Value {
        serde_json::from_str(&self.out).unwrap()
    }
}

/// A message without the drawing's line breaks.
fn flat(text: &str) -> String {
    text.replace('│', " ").split_whitespace().collect::<Vec<_>>().join(" ")
}

pub fn unladen<S: AsRef<std::ffi::OsStr>>(args: &[S]) -> Run {
    let output = command(args).stdin(Stdio::null()).output().unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    Run { code: output.status.code(), out: text(output.stdout), err: text(output.stderr) }
}

/// Run at the root of the repository, as its README says.
pub fn command<S: AsRef<std::ffi::OsStr>>(args: &[S]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_unladen"));
    command.current_dir(root()).args(args);
    command
}

/// Every folder of `vehicles`, and every track's TOML file, from the root.
pub fn cars() -> Vec<String> {
    files::cars().iter().map(|path| named(path.parent().unwrap())).collect()
}

pub fn tracks() -> Vec<String> {
    files::tracks().iter().map(|path| named(path)).collect()
}

fn named(path: &Path) -> String {
    path.strip_prefix(root()).unwrap().to_str().unwrap().to_owned()
}

pub const CAR: &str = "vehicles/saloon-awd";
pub const TRACK: &str = "tracks/airfield.toml";

/// A folder for one test's files.
pub struct Folder(TempDir);

impl Folder {
    pub fn new() -> Self {
        Self(tempfile::tempdir().unwrap())
    }

    pub fn path(&self, name: &str) -> String {
        self.0.path().join(name).display().to_string()
    }

    pub fn write(&self, name: &str, bytes: impl AsRef<[u8]>) -> String {
        std::fs::write(self.0.path().join(name), bytes).unwrap();
        self.path(name)
    }

    /// An open course of these rows; `head` goes into its TOML file.
    pub fn course(&self, head: &str, rows: &str) -> String {
        self.write("t.csv", format!("{COLUMNS}\n{rows}"));
        self.write("t.toml", format!("schema = 1\nname = \"t\"\nsegments = \"t.csv\"\n{head}"))
    }

    pub fn names(&self) -> Vec<String> {
        let entries = std::fs::read_dir(self.0.path()).unwrap();
        let mut names: Vec<_> = entries.map(|e| e.unwrap().file_name().into_string().unwrap()).collect();
        names.sort();
        names
    }
}

const COLUMNS: &str =
    "length_m,curvature_start_1pm,curvature_end_1pm,grade_start_pct,grade_end_pct,bank_start_deg,bank_end_deg";
pub const OPEN: &str = "closed = false\nstart_speed = \"0 km/h\"\n";
pub const CIRCUIT: &str = "closed = true\n";
