//! Files of a question, read: every fault at once, and what is unlikely beside them.

pub mod hashed;
pub mod project;
pub mod scene;

use std::path::{Path, PathBuf};

use unladen_garage::{CarFile, Carried, FileErrors, Files, Ledger, Overrides, Warning, unlikely};

use crate::error::{AskError, Asked, Failure};
use crate::read::project::{Project, car_file, ledger_file, size};
use crate::read::scene::{Inputs, Scene};
use crate::stands::now::becomes;
use crate::stands::rows::rows;
use crate::stands::standing::Standing;
use crate::stands::state::State;

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
        for warning in warnings {
            // Of one file that is read twice it is said once.
            if self.warnings.iter().all(|known| known.to_string() != warning.to_string()) {
                self.warnings.push(warning);
            }
        }
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
        let car = match self.standing(&scene.car, &scene.set, &scene.state) {
            Ok(car) => Some(car),
            Err(AskError::Files(all)) => {
                all.into_iter().for_each(&mut keep);
                None
            }
            // A row that is not there is said where all files are sound.
            Err(error) => {
                let read = |(path, _): &(PathBuf, f64)| self.files.track(path, &overrides, scene.grip).err();
                let faults: Vec<FileErrors> = scene.tracks.iter().filter_map(read).collect();
                return Err(if faults.is_empty() { error } else { AskError::Files(faults) });
            }
        };
        let mut tracks = Vec::new();
        for (path, weight) in &scene.tracks {
            match self.files.track(path, &overrides, scene.grip) {
                Ok(track) => tracks.push((track, *weight)),
                Err(e) => keep(e),
            }
        }
        let Some(car) = car.filter(|_| errors.is_empty()) else { return Err(AskError::Files(errors)) };
        self.warn(tracks.iter().flat_map(|(track, _)| track.warnings.iter().cloned()));
        Ok(Inputs { car, tracks })
    }

    /// The one car of a folder in a state: its file, and what of its ledger is in it.
    ///
    /// # Errors
    /// [`AskError::Files`] with every fault of both; [`crate::Asked`] where it has no such row.
    pub fn standing(&mut self, car: &Path, set: &[String], state: &State) -> Result<Standing, AskError> {
        let path = car_file(self.files, car);
        let ledger = ledger_file(self.files, car);
        let read = |set: &[String]| self.files.car(&path, &Overrides::parse(set)?);
        let mut file = read(set);
        // Who gets in or out changes the car's mass as it laps: the file is read as if it said so.
        let aboard = file.as_ref().map_or_else(|_| Vec::new(), |f| f.loads.aboard.clone());
        let named = |names: &[String], there: bool| -> Vec<String> {
            let is = |name: &&Carried| names.iter().any(|given| given.trim().eq_ignore_ascii_case(&name.name));
            aboard.iter().filter(is).map(|c| format!("aboard.{}.on_track={there}", c.name)).collect()
        };
        let moved = [named(&state.with, true), named(&state.without, false)].concat();
        if !moved.is_empty() {
            file = read(&[set, &moved].concat());
        }
        let scales = file.as_ref().ok().map(|c| c.shop.scales.as_slice());
        let ledger = self.files.is_file(&ledger).then(|| self.files.ledger(&ledger, scales)).transpose();
        match (file, ledger) {
            (Ok(file), Ok(ledger)) => {
                let ledger = ledger.map(|(ledger, _)| ledger);
                self.warn(file.warnings.iter().cloned());
                self.warn(ledger.iter().flat_map(|ledger| unlikely(ledger, size(&file))));
                let names: Vec<&str> = aboard.iter().map(|c| c.name.as_str()).collect();
                let entries = ledger.as_ref().map_or(&[][..], |l| &l.entries);
                let rows = rows(entries, file.shop.weighed_on, state, &names)?;
                let others = self.others(car, set, ledger.as_ref(), &rows.on)?;
                one_at_most(ledger.as_ref(), &rows.on)?;
                Standing::new(file, ledger, state.clone(), rows, others)
            }
            (file, ledger) => Err(AskError::Files([file.err(), ledger.err()].into_iter().flatten().collect())),
        }
    }

    /// The cars that these rows make of this one.
    ///
    /// # Errors
    /// [`AskError::Files`] with every fault of the first that can't be read.
    pub fn others(
        &mut self,
        car: &Path,
        set: &[String],
        ledger: Option<&Ledger>,
        rows: &[usize],
    ) -> Result<Vec<(String, CarFile)>, AskError> {
        let mut all: Vec<(String, CarFile)> = Vec::new();
        let folder = ledger_file(self.files, car);
        let folder = folder.parent().unwrap_or(Path::new(""));
        // Of what is set only that counts which is taken from the other file.
        let taken = |set: &&String| TAKEN.iter().any(|table| set.trim_start().starts_with(table));
        let taken: Vec<&String> = set.iter().filter(taken).collect();
        for (row, word) in rows.iter().filter_map(|&row| Some((row, becomes(ledger?, row)?))) {
            if all.iter().all(|(known, _)| known != word) {
                let path = self.files.joined(folder, word);
                let item = ledger.map_or_else(String::new, |l| l.entries[row].item.clone());
                let path = match car_file(self.files, &path) {
                    file if self.files.is_file(&file) => file,
                    _ => return Err(Asked::NoOtherCar { item, word: word.to_owned(), path }.into()),
                };
                let file = self.files.car(&path, &Overrides::parse(&taken)?)?;
                self.warn(file.warnings.iter().cloned());
                all.push((word.to_owned(), file));
            }
        }
        Ok(all)
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
}

/// What of its file a car takes over that another becomes.
const TAKEN: [&str; 7] = ["chassis.", "tyres.", "aero.", "engine.", "driveline.", "brakes.", "driver.use_"];

/// Rows that are in a car together make at most one other car of it.
fn one_at_most(ledger: Option<&Ledger>, rows: &[usize]) -> Result<(), Asked> {
    let Some(ledger) = ledger else { return Ok(()) };
    let mut words = rows.iter().filter_map(|&row| becomes(ledger, row));
    let Some(one) = words.next() else { return Ok(()) };
    match words.find(|other| *other != one) {
        Some(other) => Err(Asked::TwoCars { one: one.into(), other: other.into() }),
        None => Ok(()),
    }
}
