//! Where results go: standard output, files that appear whole or not at all, and messages on standard error.

use std::io::{self, ErrorKind, IsTerminal, Write};
use std::path::{Path, PathBuf};

use anstream::ColorChoice;
use unladen_garage::{Explain, FileErrors, Located, Style, plain};
use unladen_questions::{AskError, Failure, LoggedError, Unmade};
use unladen_report::draw::picture::{Picture, PlotError, check_plot, save_plot};
use unladen_report::files::write::{check_destination, write_whole};

use crate::args::Run;
use crate::error::{CliError, Output, Usage};

/// Can the files that a run asks for be written? Asked before it starts.
pub fn check_outputs(run: &Run) -> Result<(), CliError> {
    if let Some(path) = &run.csv {
        check_destination(path)?;
    }
    if let Some(path) = &run.plot {
        check_plot(path)?;
    }
    match (&run.csv, &run.plot) {
        (Some(csv), Some(plot)) if same(csv, plot) => Err(Usage::SameOutput { path: csv.clone() }.into()),
        _ => Ok(()),
    }
}

/// Do two paths name one file?
pub fn same(a: &Path, b: &Path) -> bool {
    let full = |path: &Path| -> Option<PathBuf> {
        let folder = path.parent().filter(|f| !f.as_os_str().is_empty()).unwrap_or(Path::new("."));
        Some(folder.canonicalize().ok()?.join(path.file_name()?))
    };
    full(a).is_some_and(|a| full(b) == Some(a))
}

/// Writes the files that a run asks for, then prints its text or JSON.
pub fn deliver(
    run: &Run,
    csv: impl FnOnce() -> Result<String, CliError>,
    plot: impl FnOnce() -> Result<Picture, PlotError>,
    print: impl FnOnce() -> Result<String, CliError>,
) -> Result<(), CliError> {
    let printed = print()?;
    if let Some(path) = &run.csv {
        write_whole(path, csv()?.as_bytes())?;
    }
    if let Some(path) = &run.plot {
        save_plot(path, plot)?;
    }
    say(&printed)
}

/// Prints a result. Nobody reading any more is no error.
pub fn say(text: &str) -> Result<(), CliError> {
    let mut out = io::stdout().lock();
    let text = if out.is_terminal() { plain(text) } else { text.into() };
    match out.write_all(text.as_bytes()).and_then(|()| out.flush()) {
        Err(e) if e.kind() != ErrorKind::BrokenPipe => Err(Output::Print(e).into()),
        _ => Ok(()),
    }
}

/// How messages are drawn on standard error.
fn style() -> Style {
    let terminal = io::stderr().is_terminal();
    let colour = !matches!(anstream::AutoStream::choice(&io::stderr()), ColorChoice::Never);
    let width = terminal_size::terminal_size_of(io::stderr()).map_or(Style::PLAIN.width, |(w, _)| w.0.into());
    Style { colour: terminal && colour, width: width.clamp(40, 120), ..Style::PLAIN }
}

/// Prints what is unlikely in a file.
pub fn warn<T: Explain>(warnings: &[Located<T>]) {
    for warning in warnings.iter().take(FileErrors::SHOWN) {
        drawn(&warning.render(style()));
    }
    if warnings.len() > FileErrors::SHOWN {
        drawn(&format!("and {} more\n", warnings.len() - FileErrors::SHOWN));
    }
}

/// What was unlikely until there was no answer is printed; the rest is the command's error.
pub fn failed(failure: Failure) -> CliError {
    warn(&failure.warnings);
    (*failure.why).into()
}

/// What the files were taken for is printed where nothing was made of them; the rest is the command's error.
pub fn unmade(error: Unmade) -> CliError {
    error.notes.iter().for_each(|n| note(&format!("{n}\n")));
    (*error.why).into()
}

/// Prints an error, files' faults underlined.
pub fn complain(error: &CliError) {
    match error {
        CliError::Files(all) | CliError::Ask(AskError::Files(all)) => {
            all.iter().for_each(|errors| drawn(&errors.render(style())));
        }
        CliError::Ask(AskError::Logged(LoggedError::Cell(fault))) if fault.place.is_some() => {
            drawn(&fault.render(style()));
        }
        error => note(&format!("error: {error}\n")),
    }
}

/// To standard error, without what a name in a file would do to a terminal.
pub fn note(text: &str) {
    drawn(&plain(text));
}

/// Somebody else edits the same file.
pub fn waiting(path: &Path) {
    note(&format!("note: {}: another unladen is editing it; waiting\n", path.display()));
}

/// As it is drawn, with colours; where standard error is closed, nobody is there to be told.
fn drawn(text: &str) {
    let _ = io::stderr().lock().write_all(text.as_bytes());
}
