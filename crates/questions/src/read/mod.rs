//! Files of a question, read: every fault at once, and what is unlikely beside them.

pub mod hashed;
pub mod project;
pub mod scene;

use std::path::Path;

use unladen_garage::{CarFile, FileErrors, Files, Ledger, Overrides, Warning, unlikely};

use crate::error::{AskError, Failure};
use crate::read::project::{Project, car_file, ledger_file, size};
use crate::read::scene::{Inputs, Scene};

/// Reads the files of one question and keeps what is unlikely in them.
pub struct Reader<'f> {
    files: &'f dyn Files,
    warnings: Vec<Warning>,
}

impl<'f> Reader<'f> {
    /// Reads with `read`; a failure takes along what was unlikely until then.
    ///
    /// # Errors
    /// Those of `read`.
    pub fn run<T>(
        files: &'f dyn Files,
        read: impl FnOnce(&mut Reader<'f>) -> Result<T, AskError>,
    ) -> Result<T, Failure> {
        let mut reader = Reader { files, warnings: Vec::new() };
        read(&mut reader).map_err(|why| Failure::of(why, reader.warnings))
    }

    /// Where the files are.
    pub fn files(&self) -> &'f dyn Files {
        self.files
    }

    /// What was unlikely so far.
    pub fn warnings(&mut self) -> Vec<Warning> {
        std::mem::take(&mut self.warnings)
    }

    /// One more thing that is unlikely.
    pub fn warn(&mut self, warnings: impl IntoIterator<Item = Warning>) {
        self.warnings.extend(warnings);
    }

    /// The car and the tracks; every fault of all of them at once.
    ///
    /// # Errors
    /// [`AskError::Files`].
    pub fn inputs(&mut self, scene: &Scene) -> Result<Inputs, AskError> {
        let overrides = Overrides::parse(&scene.set)?;
        let mut errors: Vec<FileErrors> = Vec::new();
        let mut keep = |e: FileErrors| {
            // A fault in a value that is set is one of every file that it goes into.
            if errors.iter().all(|known| known.to_string() != e.to_string()) {
                errors.push(e);
            }
        };
        let car = self.files.car(&car_file(self.files, &scene.car), &overrides).map_err(&mut keep).ok();
        let mut tracks = Vec::new();
        for (path, weight) in &scene.tracks {
            match self.files.track(path, &overrides, scene.grip) {
                Ok(track) => tracks.push((track, *weight)),
                Err(e) => keep(e),
            }
        }
        let Some(car) = car.filter(|_| errors.is_empty()) else { return Err(AskError::Files(errors)) };
        self.warn(car.warnings.iter().cloned());
        self.warn(tracks.iter().flat_map(|(track, _)| track.warnings.iter().cloned()));
        Ok(Inputs { car, tracks })
    }

    /// The car and its ledger, every fault of both at once.
    ///
    /// # Errors
    /// [`AskError::Files`].
    pub fn project(&mut self, car: &Path, set: &[String]) -> Result<Project, AskError> {
        let overrides = Overrides::parse(set)?;
        let file = self.files.car(&car_file(self.files, car), &overrides);
        let scales = file.as_ref().ok().map(|c| c.shop.scales.as_slice());
        let ledger = self.files.ledger(&ledger_file(self.files, car), scales);
        match (file, ledger) {
            (Ok(car), Ok((ledger, _))) => {
                self.warn(car.warnings.iter().cloned());
                self.warn(unlikely(&ledger, size(&car)));
                Ok(Project { car, ledger })
            }
            (car, ledger) => Err(AskError::Files([car.err(), ledger.err()].into_iter().flatten().collect())),
        }
    }

    /// A car and its ledger, and what is unlikely in them: all that some questions read.
    ///
    /// # Errors
    /// [`Failure`] with every fault of both.
    pub fn only_project(files: &dyn Files, car: &Path, set: &[String]) -> Result<(Project, Vec<Warning>), Failure> {
        Reader::run(files, |r| Ok((r.project(car, set)?, r.warnings())))
    }

    /// The ledger of a car that is read already.
    ///
    /// # Errors
    /// [`AskError::Files`].
    pub fn ledger(&mut self, car: &Path, file: &CarFile) -> Result<Ledger, AskError> {
        let path = ledger_file(self.files, car);
        let (ledger, _) = self.files.ledger(&path, Some(file.shop.scales.as_slice()))?;
        self.warn(unlikely(&ledger, size(file)));
        Ok(ledger)
    }

    /// The same, where there is one.
    ///
    /// # Errors
    /// [`AskError::Files`].
    pub fn ledger_if_any(&mut self, car: &Path, file: &CarFile) -> Result<Option<Ledger>, AskError> {
        let there = self.files.is_file(&ledger_file(self.files, car));
        there.then(|| self.ledger(car, file)).transpose()
    }
}
