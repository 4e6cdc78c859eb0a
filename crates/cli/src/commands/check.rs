//! `unladen check`.

use std::process::ExitCode;

use unladen_questions::check::Question;
use unladen_report::check::checked_text;

use crate::args::CheckArgs;
use crate::disk::DISK;
use crate::error::CliError;
use crate::output::{complain, say, warn};

/// Reads each file and says what it found in it; faults go to standard error.
pub fn run(args: &CheckArgs) -> Result<ExitCode, CliError> {
    let mut faulty = false;
    for found in (Question { files: args.files.clone() }).answer(&DISK) {
        match found.what {
            Ok(checked) => {
                let count = checked.warnings().len() + found.beside.len();
                say(&format!("{}: {}", found.path.display(), checked_text(&checked, count)))?;
                warn(checked.warnings());
                warn(&found.beside);
            }
            Err(errors) => {
                faulty = true;
                complain(&CliError::Files(vec![errors]));
            }
        }
    }
    Ok(ExitCode::from(if faulty { 2 } else { 0 }))
}
