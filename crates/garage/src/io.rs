//! The only part that touches the disk: files to texts, and the readers on top; the same readers on files in memory.

use std::collections::BTreeMap;
use std::path::{Component, Path, PathBuf};
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

/// Where files come from: the disk, or texts that somebody holds in memory (a page, a program). The readers stand on
/// it.
pub trait Files {
    /// The bytes of a file, of `limit` at most.
    ///
    /// # Errors
    /// Why there are none.
    fn bytes(&self, path: &Path, limit: Limit) -> Result<Vec<u8>, FileProblem>;

    /// A file is there.
    fn is_file(&self, path: &Path) -> bool;

    /// A folder is there.
    fn is_dir(&self, path: &Path) -> bool;

    /// The files right in a folder, by name; none where it can't be read.
    fn list(&self, folder: &Path) -> Vec<PathBuf>;

    /// Something is there.
    fn exists(&self, path: &Path) -> bool {
        self.is_file(path) || self.is_dir(path)
    }

    /// Reads a file as text.
    ///
    /// # Errors
    /// [`Fault::File`] with the path and what is the matter.
    fn text(&self, path: &Path) -> Result<Arc<Source>, Box<Finding>> {
        let text = self.bytes(path, Limit::TEXT).and_then(decode).map_err(|problem| unread(path, problem))?;
        Ok(Source::new(path.display().to_string(), text))
    }

    /// A path as a file in this folder names it, `..` worked out.
    fn joined(&self, folder: &Path, path: &str) -> PathBuf {
        let mut all = PathBuf::new();
        for part in folder.join(path).components() {
            match part {
                Component::CurDir => {}
                Component::ParentDir if matches!(all.components().next_back(), Some(Component::Normal(_))) => {
                    all.pop();
                }
                part => all.push(part),
            }
        }
        all
    }

    /// Whether a path leads out of a folder: what it holds is then named, not quoted.
    fn outside(&self, path: &Path, folder: &Path) -> bool {
        !path.starts_with(folder)
    }

    /// Reads a track's segments as text.
    ///
    /// # Errors
    /// [`Fault::File`] with the path and what is the matter.
    fn segments(&self, path: &Path) -> Result<Arc<Source>, Box<Finding>> {
        let text = self.bytes(path, Limit::SEGMENTS).and_then(decode).map_err(|problem| unread(path, problem))?;
        Ok(Source::new(path.display().to_string(), text))
    }

    /// Reads what is kept beside a log of its columns; nothing where there is no such file.
    ///
    /// # Errors
    /// [`Fault::File`] with the path and what is the matter.
    fn mapping(&self, path: &Path) -> Result<Mapping, Box<Finding>> {
        if !self.exists(path) {
            return Ok(Mapping::default());
        }
        let source = self.text(path)?;
        Mapping::parse(&source.text).map_err(|error| {
            // What a link leads to may be nobody's business.
            let far = self.outside(path, path.parent().unwrap_or(Path::new("")));
            let reason = if far { "not such a list".into() } else { error.to_string() };
            unread(path, FileProblem::Unreadable { reason })
        })
    }

    /// Reads a CSV file in whatever dialect it is.
    ///
    /// # Errors
    /// [`Fault::File`] with the path and what is the matter.
    fn sheet(&self, path: &Path) -> Result<Sheet, Box<Finding>> {
        let bytes = self.bytes(path, Limit::SHEET).map_err(|problem| unread(path, problem))?;
        Sheet::parse(&path.display().to_string(), &bytes)
    }

    /// Reads the areas beside a ledger, where there are any.
    ///
    /// # Errors
    /// Every fault of them.
    fn areas(&self, folder: &Path) -> Result<Option<Areas>, FileErrors> {
        let path = folder.join("areas.csv");
        if !self.exists(&path) {
            return Ok(None);
        }
        let sheet = self.sheet(&path).map_err(|f| FileErrors::unread(*f))?;
        parse_areas(&sheet).map(Some)
    }

    /// Reads a ledger with the areas beside it. Without `scales` any scale's name will do.
    ///
    /// # Errors
    /// Every fault of both files.
    fn ledger(&self, path: &Path, scales: Option<&[Scale]>) -> Result<(Ledger, Option<Areas>), FileErrors> {
        let areas = self.areas(path.parent().unwrap_or(Path::new("")))?;
        let sheet = self.sheet(path).map_err(|f| FileErrors::unread(*f))?;
        parse_ledger(sheet, areas.as_ref(), scales).map(|ledger| (ledger, areas))
    }

    /// Reads `car.toml`.
    ///
    /// # Errors
    /// Every fault of the file and of the overrides that belong to it.
    fn car(&self, path: &Path, overrides: &Overrides) -> Result<CarFile, FileErrors> {
        let source = self.text(path).map_err(|f| FileErrors::unread(*f))?;
        parse_car(&source, overrides)
    }

    /// Reads a track's TOML file and the segments it names, beside it. `grip` replaces the file's.
    ///
    /// # Errors
    /// Every fault of both files and of the overrides that belong to them.
    fn track(&self, path: &Path, overrides: &Overrides, grip: Option<f64>) -> Result<TrackFile, FileErrors> {
        let source = self.text(path).map_err(|f| FileErrors::unread(*f))?;
        let folder = path.parent().unwrap_or(Path::new(""));
        parse_track(&source, overrides, grip, |name| {
            let path = folder.join(name);
            let segments = self.segments(&path)?;
            Ok(if self.outside(&path, folder) { segments.unquoted() } else { segments })
        })
    }
}

fn unread(path: &Path, problem: FileProblem) -> Box<Finding> {
    Box::new(Located { what: Fault::File { path: path.display().to_string(), problem }, place: None })
}

/// The disk.
#[derive(Clone, Copy, Debug, Default)]
pub struct Disk;

impl Files for Disk {
    fn bytes(&self, path: &Path, limit: Limit) -> Result<Vec<u8>, FileProblem> {
        bytes(path, limit)
    }

    fn outside(&self, path: &Path, folder: &Path) -> bool {
        outside(path, Some(folder))
    }

    fn is_file(&self, path: &Path) -> bool {
        path.is_file()
    }

    fn list(&self, folder: &Path) -> Vec<PathBuf> {
        let entries = std::fs::read_dir(folder).into_iter().flatten().flatten();
        let mut all: Vec<PathBuf> =
            entries.map(|entry| folder.join(entry.file_name())).filter(|p| p.is_file()).collect();
        all.sort();
        all
    }

    fn is_dir(&self, path: &Path) -> bool {
        path.is_dir()
    }

    fn exists(&self, path: &Path) -> bool {
        path.exists()
    }
}

/// Files that are held in memory, by their paths. Folders are what paths lead through.
#[derive(Clone, Debug, Default)]
pub struct Memory(BTreeMap<PathBuf, Vec<u8>>);

impl Memory {
    /// One more file, in place of what had its path.
    pub fn put(&mut self, path: impl Into<PathBuf>, bytes: impl Into<Vec<u8>>) {
        self.0.insert(path.into(), bytes.into());
    }
}

impl<P: Into<PathBuf>, B: Into<Vec<u8>>> FromIterator<(P, B)> for Memory {
    fn from_iter<I: IntoIterator<Item = (P, B)>>(files: I) -> Self {
        Self(files.into_iter().map(|(path, bytes)| (path.into(), bytes.into())).collect())
    }
}

impl Files for Memory {
    fn bytes(&self, path: &Path, limit: Limit) -> Result<Vec<u8>, FileProblem> {
        match self.0.get(path) {
            Some(bytes) => limit.holds(bytes.len() as u64).map(|()| bytes.clone()),
            None if self.is_dir(path) => Err(FileProblem::Directory),
            None => Err(FileProblem::NotFound),
        }
    }

    fn is_file(&self, path: &Path) -> bool {
        self.0.contains_key(path)
    }

    fn list(&self, folder: &Path) -> Vec<PathBuf> {
        self.0.keys().filter(|path| path.parent() == Some(folder)).cloned().collect()
    }

    fn is_dir(&self, path: &Path) -> bool {
        self.0.keys().any(|file| file != path && file.starts_with(path))
    }
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

/// [`Files::text`] of the [`Disk`].
///
/// # Errors
/// As there.
pub fn read_text(path: &Path) -> Result<Arc<Source>, Box<Finding>> {
    Disk.text(path)
}

/// [`Files::sheet`] of the [`Disk`].
///
/// # Errors
/// As there.
pub fn read_sheet(path: &Path) -> Result<Sheet, Box<Finding>> {
    Disk.sheet(path)
}

/// [`Files::areas`] of the [`Disk`].
///
/// # Errors
/// As there.
pub fn read_areas(folder: &Path) -> Result<Option<Areas>, FileErrors> {
    Disk.areas(folder)
}

/// [`Files::ledger`] of the [`Disk`].
///
/// # Errors
/// As there.
pub fn read_ledger(path: &Path, scales: Option<&[Scale]>) -> Result<(Ledger, Option<Areas>), FileErrors> {
    Disk.ledger(path, scales)
}

/// [`Files::car`] of the [`Disk`].
///
/// # Errors
/// As there.
pub fn read_car(path: impl AsRef<Path>, overrides: &Overrides) -> Result<CarFile, FileErrors> {
    Disk.car(path.as_ref(), overrides)
}

/// [`Files::track`] of the [`Disk`].
///
/// # Errors
/// As there.
pub fn read_track(path: impl AsRef<Path>, overrides: &Overrides, grip: Option<f64>) -> Result<TrackFile, FileErrors> {
    Disk.track(path.as_ref(), overrides, grip)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn property_memory_reads_as_a_disk_does() {
        let files: Memory = [("car/car.toml", "x"), ("t.toml", "\0")].into_iter().collect();
        assert!(files.is_dir(Path::new("car")) && files.is_file(Path::new("car/car.toml")));
        assert!(!files.exists(Path::new("ca")) && !files.is_dir(Path::new("t.toml")));
        let message = |path: &str| files.text(Path::new(path)).unwrap_err().what.to_string();
        assert_eq!(message("no.toml"), "no.toml: no such file");
        assert_eq!(message("car"), "car: a directory, not a file");
        assert!(message("t.toml").contains("t.toml"));
        assert_eq!(files.text(Path::new("car/car.toml")).unwrap().text, "x");
    }
}
