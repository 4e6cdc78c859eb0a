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
    // A line each, unless there is only one.
    let length = if args.files.len() == 1 { Length::Whole } else { length };
    let all = (Question { files: args.files.clone() }).answer(&DISK);
    if all.len() > 1 {
        say(&summary(all.len(), all.iter().filter(|(_, found)| found.is_err()).count()))?;
    }
    for (path, found) in all {
        match found {
            Ok(checked) => {
                say(&format!("{}: {}", path.display(), checked_text(&checked, length)))?;
                warn(checked.warnings());
            }
            Err(errors) => {
                faulty = true;
                complain(&CliError::Files(vec![errors]));
            }
        }
    }
    Ok(ExitCode::from(if faulty { 2 } else { 0 }))
}
