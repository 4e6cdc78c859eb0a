//! The disk's files, kept as they are read.

use std::path::{Path, PathBuf};

use unladen_garage::{FileProblem, Files, Limit};

/// Files as they are read from the disk, kept.
#[derive(Default)]
pub struct Keeping(std::cell::RefCell<Vec<(PathBuf, Vec<u8>)>>);

impl Keeping {
    /// What was read.
    pub fn kept(self) -> Vec<(PathBuf, Vec<u8>)> {
        self.0.into_inner()
    }
}

impl Files for Keeping {
    fn bytes(&self, path: &Path, limit: Limit) -> Result<Vec<u8>, FileProblem> {
        let bytes = unladen_questions::Disk.bytes(path, limit)?;
        self.0.borrow_mut().push((path.to_owned(), bytes.clone()));
        Ok(bytes)
    }

    fn is_file(&self, path: &Path) -> bool {
        unladen_questions::Disk.is_file(path)
    }

    fn is_dir(&self, path: &Path) -> bool {
        unladen_questions::Disk.is_dir(path)
    }

    fn list(&self, folder: &Path) -> Vec<PathBuf> {
        unladen_questions::Disk.list(folder)
    }

    fn outside(&self, path: &Path, folder: &Path) -> bool {
        unladen_questions::Disk.outside(path, folder)
    }
}
