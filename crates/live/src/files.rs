//! The files of a page, each read once for as long as the same is asked of it: a car is lapped at every frame.

use std::cell::RefCell;
use std::path::{Path, PathBuf};

use unladen_garage::log::Mapping;
use unladen_garage::{Areas, CarFile, FileErrors, FileProblem, Files, Finding, Ledger, Limit, Memory, Overrides};
use unladen_vehicle::entry::Scale;

/// So many answers are kept of each kind: cars before and after, and others that rows make of them.
const KEPT: usize = 4;

/// What was read, by all that it depends on.
struct Read<K, T>(RefCell<Vec<(K, T)>>);

impl<K: PartialEq, T: Clone> Read<K, T> {
    fn or(&self, key: K, read: impl FnOnce() -> Result<T, FileErrors>) -> Result<T, FileErrors> {
        let known = self.0.borrow().iter().find(|(known, _)| *known == key).map(|(_, what)| what.clone());
        if let Some(known) = known {
            return Ok(known);
        }
        let what = read()?;
        let mut all = self.0.borrow_mut();
        if all.len() == KEPT {
            all.remove(0);
        }
        all.push((key, what.clone()));
        Ok(what)
    }
}

impl<K, T> Default for Read<K, T> {
    fn default() -> Self {
        Self(RefCell::default())
    }
}

type OfLedger = (PathBuf, Option<Vec<Scale>>);

/// Files in memory, and what was read of them.
#[derive(Default)]
pub struct Packed {
    files: Memory,
    cars: Read<(PathBuf, String), CarFile>,
    ledgers: Read<OfLedger, (Ledger, Option<Areas>)>,
}

impl From<Memory> for Packed {
    fn from(files: Memory) -> Self {
        Self { files, ..Self::default() }
    }
}

impl Files for Packed {
    fn bytes(&self, path: &Path, limit: Limit) -> Result<Vec<u8>, FileProblem> {
        self.files.bytes(path, limit)
    }

    fn is_file(&self, path: &Path) -> bool {
        self.files.is_file(path)
    }

    fn is_dir(&self, path: &Path) -> bool {
        self.files.is_dir(path)
    }

    fn list(&self, folder: &Path) -> Vec<PathBuf> {
        self.files.list(folder)
    }

    // No page carries a log.
    fn mapping(&self, _: &Path) -> Result<Mapping, Box<Finding>> {
        Ok(Mapping::default())
    }

    fn ledger(&self, path: &Path, scales: Option<&[Scale]>) -> Result<(Ledger, Option<Areas>), FileErrors> {
        let key = (path.to_owned(), scales.map(<[Scale]>::to_vec));
        self.ledgers.or(key, || self.files.ledger(path, scales))
    }

    fn car(&self, path: &Path, overrides: &Overrides) -> Result<CarFile, FileErrors> {
        self.cars.or((path.to_owned(), format!("{overrides:?}")), || self.files.car(path, overrides))
    }
}
