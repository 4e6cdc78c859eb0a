//! `unladen check`.

use std::process::ExitCode;

use unladen_questions::check::Question;
use unladen_report::check::{checked_text, summary};
use unladen_report::words::brief::Length;

use crate::args::CheckArgs;
use crate::disk::DISK;
use crate::error::CliError;
use crate::output::{complain, say, warn};

/// Reads each file and says what it found in it; faults go to standard error.
pub fn run(args: &CheckArgs, length: Length) -> Result<ExitCode, CliError> {
    let mut faulty = false;
    // A line each, unless one thing is asked about.
    let length = if args.files.len() == 1 { Length::Whole } else { length };
    let all = (Question { files: args.files.clone() }).answer(&DISK);
    if args.files.len() > 1 {
        say(&summary(all.len(), all.iter().filter(|found| found.what.is_err()).count()))?;
    }
    for found in all {
        match found.what {
            Ok(checked) => {
                let count = checked.warnings().len() + found.beside.len();
                say(&format!("{}: {}", found.path.display(), checked_text(&checked, count, length)))?;
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
