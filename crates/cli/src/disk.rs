//! The disk as a command reads it: a pipe is waited for aloud, and remembered.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::Duration;

use unladen_garage::{FileProblem, Limit};
use unladen_questions::{Disk, Files};

use crate::output::note;

/// The disk of this run.
pub static DISK: Remembering = Remembering(Mutex::new(BTreeMap::new()));

/// The disk, with what was read of pipes: they can be read once, and are asked for again where a file's kind is looked
/// for, or its hash.
pub struct Remembering(Mutex<BTreeMap<PathBuf, Vec<u8>>>);

impl Files for Remembering {
    fn bytes(&self, path: &Path, limit: Limit) -> Result<Vec<u8>, FileProblem> {
        if path.is_file() || !path.exists() || path.is_dir() {
            return Disk.bytes(path, limit);
        }
        let mut pipes = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(known) = pipes.get(path) {
            return Ok(known.clone());
        }
        let read = aloud(path, || Disk.bytes(path, limit))?;
        pipes.insert(path.to_owned(), read.clone());
        Ok(read)
    }

    fn is_file(&self, path: &Path) -> bool {
        Disk.is_file(path)
    }

    fn list(&self, folder: &Path) -> Vec<PathBuf> {
        Disk.list(folder)
    }

    fn is_dir(&self, path: &Path) -> bool {
        Disk.is_dir(path)
    }

    fn exists(&self, path: &Path) -> bool {
        Disk.exists(path)
    }

    fn outside(&self, path: &Path, folder: &Path) -> bool {
        Disk.outside(path, folder)
    }
}

/// Waits for whoever writes to a pipe; after a second it is said.
fn aloud<T>(path: &Path, read: impl FnOnce() -> T) -> T {
    let done = Arc::new(AtomicBool::new(false));
    let (over, name) = (done.clone(), path.display().to_string());
    // Left alone: it ends by itself, and the process does not wait for it.
    std::thread::spawn(move || {
        std::thread::sleep(Duration::from_secs(1));
        if !over.load(Ordering::Relaxed) {
            note(&format!("note: {name}: not a file; waiting for whoever writes to it\n"));
        }
    });
    let read = read();
    done.store(true, Ordering::Relaxed);
    read
}
