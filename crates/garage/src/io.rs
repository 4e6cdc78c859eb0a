//! The only part that touches the disk: files to texts, and the readers on top.

use std::fs::File;
use std::io::{ErrorKind, Read};
use std::path::Path;
use std::sync::Arc;

use unladen_vehicle::entry::Scale;

use crate::car::{CarFile, parse_car};
use crate::csv_file::dialect::Sheet;
use crate::fault::finding::{FileErrors, Finding, Located};
use crate::fault::source::Source;
use crate::fault::{Fault, FileProblem};
use crate::ledger::areas::{Areas, parse_areas};
use crate::ledger::{Ledger, parse_ledger};
use crate::toml_file::set::Overrides;
use crate::track::{TrackFile, parse_track};

/// Larger files are refused, MB.
pub const LIMIT_MB: u64 = 64;

/// Reads a file as text.
///
/// # Errors
/// [`Fault::File`] with the path and what is the matter.
pub fn read_text(path: &Path) -> Result<Arc<Source>, Box<Finding>> {
    let name = path.display().to_string();
    text(path)
        .map(|text| Source::new(name.clone(), text))
        .map_err(|problem| Box::new(Located { what: Fault::File { path: name, problem }, place: None }))
}

fn text(path: &Path) -> Result<String, FileProblem> {
    decode(bytes(path)?)
}

/// Reads a CSV file in whatever dialect it is.
///
/// # Errors
/// [`Fault::File`] with the path and what is the matter.
pub fn read_sheet(path: &Path) -> Result<Sheet, Box<Finding>> {
    let name = path.display().to_string();
    match bytes(path) {
        Ok(bytes) => Sheet::parse(&name, &bytes),
        Err(problem) => Err(Box::new(Located { what: Fault::File { path: name, problem }, place: None })),
    }
}

/// Reads the areas beside a ledger, where there are any.
///
/// # Errors
/// Every fault of them.
pub fn read_areas(folder: &Path) -> Result<Option<Areas>, FileErrors> {
    let path = folder.join("areas.csv");
    if !path.exists() {
        return Ok(None);
    }
    let sheet = read_sheet(&path).map_err(|f| FileErrors::unread(*f))?;
    parse_areas(&sheet).map(Some)
}

/// Reads a ledger with the areas beside it. Without `scales` any scale's name will do.
///
/// # Errors
/// Every fault of both files.
pub fn read_ledger(path: &Path, scales: Option<&[Scale]>) -> Result<(Ledger, Option<Areas>), FileErrors> {
    let areas = read_areas(path.parent().unwrap_or(Path::new("")))?;
    let sheet = read_sheet(path).map_err(|f| FileErrors::unread(*f))?;
    parse_ledger(sheet, areas.as_ref(), scales).map(|ledger| (ledger, areas))
}

fn bytes(path: &Path) -> Result<Vec<u8>, FileProblem> {
    let unreadable = |e: std::io::Error| match e.kind() {
        ErrorKind::NotFound => FileProblem::NotFound,
        ErrorKind::IsADirectory => FileProblem::Directory,
        _ => FileProblem::Unreadable { reason: e.to_string() },
    };
    let meta = path.metadata().map_err(unreadable)?;
    if meta.is_dir() {
        return Err(FileProblem::Directory);
    }
    let limit = LIMIT_MB << 20;
    let too_large = |bytes: u64| FileProblem::TooLarge { megabytes: bytes.div_ceil(1 << 20), limit: LIMIT_MB };
    if meta.len() > limit {
        return Err(too_large(meta.len()));
    }
    let mut bytes = Vec::with_capacity(meta.len() as usize);
    File::open(path).map_err(unreadable)?.take(limit + 1).read_to_end(&mut bytes).map_err(unreadable)?;
    if bytes.len() as u64 > limit {
        return Err(too_large(bytes.len() as u64));
    }
    Ok(bytes)
}

/// UTF-8 without NUL that says something.
pub(crate) fn decode(bytes: Vec<u8>) -> Result<String, FileProblem> {
    let not_text = |bytes: &[u8], byte: usize| {
        let line = bytes[..byte].iter().filter(|b| **b == b'\n').count() + 1;
        FileProblem::NotText { byte, line }
    };
    let text = String::from_utf8(bytes).map_err(|e| not_text(e.as_bytes(), e.utf8_error().valid_up_to()))?;
    if let Some(nul) = text.find('\0') {
        return Err(not_text(text.as_bytes(), nul));
    }
    if text.trim_start_matches('\u{feff}').trim().is_empty() {
        return Err(FileProblem::Empty);
    }
    Ok(text)
}

/// Reads `car.toml`.
///
/// # Errors
/// Every fault of the file and of the overrides that belong to it.
pub fn read_car(path: impl AsRef<Path>, overrides: &Overrides) -> Result<CarFile, FileErrors> {
    let source = read_text(path.as_ref()).map_err(|f| FileErrors::unread(*f))?;
    parse_car(&source, overrides)
}

/// Reads a track's TOML file and the segments it names, beside it. `grip` replaces the file's.
///
/// # Errors
/// Every fault of both files and of the overrides that belong to them.
pub fn read_track(path: impl AsRef<Path>, overrides: &Overrides, grip: Option<f64>) -> Result<TrackFile, FileErrors> {
    let path = path.as_ref();
    let source = read_text(path).map_err(|f| FileErrors::unread(*f))?;
    let folder = path.parent().unwrap_or(Path::new(""));
    parse_track(&source, overrides, grip, |name| read_text(&folder.join(name)))
}
