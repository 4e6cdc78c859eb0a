//! `unladen new`: a commented project that a first-time user fills in.

use std::fs;
use std::path::PathBuf;
use std::process::ExitCode;

use unladen_questions::new::files;
use unladen_report::files::write::write_whole;

use crate::error::{CliError, Output, Usage};
use crate::output::say;

/// `unladen new`.
#[derive(Debug, clap::Args)]
pub struct NewArgs {
    /// A folder for the car; made if it is not there
    pub dir: PathBuf,
}

/// Shown with `--help`.
pub const HELP: &str =
    "Example:  unladen new my-car, fill the files in, then  unladen check my-car/*.toml my-car/*.csv";

/// Writes the files; none where one of them is there already.
pub fn run(args: &NewArgs) -> Result<ExitCode, CliError> {
    let files = files();
    for (name, _) in &files {
        let path = args.dir.join(name);
        if path.exists() {
            return Err(Usage::Exists { path }.into());
        }
    }
    fs::create_dir_all(&args.dir).map_err(|source| Output::NoFolder { path: args.dir.clone(), source })?;
    let mut written = Vec::new();
    for (name, text) in &files {
        let path = args.dir.join(name);
        if let Err(error) = write_whole(&path, text.as_bytes()) {
            // All or none.
            for path in written {
                let _ = fs::remove_file(path);
            }
            return Err(error.into());
        }
        written.push(path);
    }
    let dir = args.dir.display();
    say(&format!(
        "{dir}: car.toml, ledger.csv, areas.csv and readings.toml to fill in; every number in them is a placeholder.\n\
         Then:  unladen check {dir}/car.toml {dir}/ledger.csv {dir}/areas.csv {dir}/readings.toml\n       \
         unladen weigh {dir}/readings.toml --into {dir}\n       unladen ledger {dir}\n"
    ))?;
    Ok(ExitCode::SUCCESS)
}
