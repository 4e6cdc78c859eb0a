//! The only part that touches the disk: files to texts, and the readers on top.

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
use crate::log::Mapping;
use crate::read::{Limit, bytes, outside};
use crate::toml_file::set::Overrides;
use crate::track::{TrackFile, parse_track};

/// Reads a file that people write as text.
///
/// # Errors
/// [`Fault::File`] with the path and what is the matter.
pub fn read_text(path: &Path) -> Result<Arc<Source>, Box<Finding>> {
    text(path, Limit::TEXT)
}

/// Reads a track's segments as text.
pub(crate) fn read_segments(path: &Path) -> Result<Arc<Source>, Box<Finding>> {
    text(path, Limit::SEGMENTS)
}

fn text(path: &Path, limit: Limit) -> Result<Arc<Source>, Box<Finding>> {
    let name = path.display().to_string();
    match bytes(path, limit).and_then(decode) {
        Ok(text) => Ok(Source::new(name, text)),
        Err(problem) => Err(unread(path, problem)),
    }
}

/// Reads a CSV file that people write, in whatever dialect it is.
///
/// # Errors
/// [`Fault::File`] with the path and what is the matter.
pub fn read_sheet(path: &Path) -> Result<Sheet, Box<Finding>> {
    Sheet::parse(&path.display().to_string(), &read_bytes(path, Limit::SHEET)?)
}

/// Reads a file's bytes, at most so many.
///
/// # Errors
/// [`Fault::File`] with the path and what is the matter.
pub fn read_bytes(path: &Path, limit: Limit) -> Result<Vec<u8>, Box<Finding>> {
    bytes(path, limit).map_err(|problem| unread(path, problem))
}

/// Reads what is kept beside a log of its columns; nothing where there is no such file.
///
/// # Errors
/// [`Fault::File`] with the path and what is the matter.
pub fn read_mapping(path: &Path) -> Result<Mapping, Box<Finding>> {
    if !path.exists() {
        return Ok(Mapping::default());
    }
    let source = read_text(path)?;
    Mapping::parse(&source.text).map_err(|error| {
        // What a link leads to may be nobody's business.
        let reason = if outside(path, path.parent()) { "not such a list".into() } else { error.to_string() };
        unread(path, FileProblem::Unreadable { reason })
    })
}

fn unread(path: &Path, problem: FileProblem) -> Box<Finding> {
    Box::new(Located { what: Fault::File { path: path.display().to_string(), problem }, place: None })
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
    parse_track(&source, overrides, grip, |name| {
        let path = folder.join(name);
        let far = outside(&path, Some(folder));
        read_segments(&path).map(|segments| if far { segments.unquoted() } else { segments })
    })
}
