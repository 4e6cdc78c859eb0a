//! A track that was read: its files as texts, and its stations.

use std::path::PathBuf;

use unladen_garage::{FileErrors, Files, Memory, Overrides, TrackFile};
use unladen_lap::Course;
use unladen_questions::AskError;
use unladen_questions::roads::course;

use crate::held::keeping::Keeping;

/// A track's files, and its stations.
pub struct Laid {
    /// Its TOML file.
    pub path: PathBuf,
    /// It and the segments that it names, to be packed.
    pub texts: Vec<(PathBuf, Vec<u8>)>,
    /// Values of its file that were replaced.
    pub set: Vec<String>,
    /// The day's, where it isn't the file's.
    pub grip: Option<f64>,
    /// Distance between stations, m.
    pub step_m: f64,
    overrides: Overrides,
    /// The same files.
    pub files: Memory,
    /// As it is.
    pub file: TrackFile,
    /// Ready for laps.
    pub course: Course,
}

impl Laid {
    /// Reads its file and what that names.
    ///
    /// # Errors
    /// Every fault of its files; more stations than are solved.
    pub fn read(path: PathBuf, set: Vec<String>, grip: Option<f64>, step_m: f64) -> Result<Self, AskError> {
        let keeping = Keeping::default();
        keeping.track(&path, &Overrides::parse(&set)?, grip)?;
        Self::new(path, keeping.kept(), set, grip, step_m)
    }

    /// Of files that were read.
    ///
    /// # Errors
    /// As `read`.
    pub fn new(
        path: PathBuf,
        texts: Vec<(PathBuf, Vec<u8>)>,
        set: Vec<String>,
        grip: Option<f64>,
        step_m: f64,
    ) -> Result<Self, AskError> {
        let files: Memory = texts.iter().cloned().collect();
        let overrides = Overrides::parse(&set)?;
        let file = files.track(&path, &overrides, grip)?;
        let course = course(&file.track, step_m)?;
        Ok(Self { path, texts, set, grip, step_m, overrides, files, file, course })
    }

    /// As it is, with more of its file's values replaced, on a day of another grip.
    pub fn with(&self, more: &Overrides, grip: Option<f64>) -> Result<TrackFile, FileErrors> {
        if more.is_none() && grip.is_none() {
            return Ok(self.file.clone());
        }
        self.files.track(&self.path, &self.overrides.clone().and(more), grip.or(self.grip))
    }
}
