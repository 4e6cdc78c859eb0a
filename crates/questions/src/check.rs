//! Faults in files, whatever kind each is.

use std::path::PathBuf;

use unladen_garage::{Checked, FileErrors, Files, check_one};

use crate::read::project::car_file;

/// Some files: cars (files or folders), tracks, segments, ledgers, areas, scale readings.
#[derive(Clone, Debug, PartialEq)]
pub struct Question {
    /// Where they are.
    pub files: Vec<PathBuf>,
}

/// A file and what was found in it, warnings with it; or every fault of it.
pub type Answer = (PathBuf, Result<Checked, FileErrors>);

impl Question {
    /// Reads each; its kind follows from what it says.
    pub fn answer(&self, files: &dyn Files) -> Vec<Answer> {
        let one = |path: &PathBuf| {
            let path = car_file(files, path);
            let found = check_one(files, &path);
            (path, found)
        };
        self.files.iter().map(one).collect()
    }
}
