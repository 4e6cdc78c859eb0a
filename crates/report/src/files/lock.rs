//! One at a time: a lock beside a file that is read, edited and replaced.

use std::fs::{self, File, OpenOptions};
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use crate::files::write::WriteError;

/// Held until it is dropped. Where the drive knows no locks it holds nobody off, and
/// [`crate::files::write::replace_whole`] finds out what somebody else has changed.
#[derive(Debug)]
pub struct Lock {
    path: PathBuf,
    file: Option<File>,
}

/// How long another may take.
const PATIENCE: Duration = Duration::from_secs(60);
/// From here on it is said that somebody else is waited for.
const ALOUD: Duration = Duration::from_secs(1);
const PAUSE: Duration = Duration::from_millis(10);

impl Lock {
    /// Waits until nobody else has the lock of this file; `aloud` is called once where that takes a while.
    ///
    /// # Errors
    /// [`WriteError::Busy`] after a minute.
    pub fn of(path: &Path, aloud: impl FnOnce()) -> Result<Lock, WriteError> {
        Self::within(path, PATIENCE, aloud)
    }

    fn within(path: &Path, patience: Duration, aloud: impl FnOnce()) -> Result<Lock, WriteError> {
        // Of one file there is one lock, by whatever link it is named.
        let real = fs::canonicalize(path).unwrap_or_else(|_| path.to_owned());
        let mut name = real.into_os_string();
        name.push(".lock");
        let lock = PathBuf::from(name);
        let start = Instant::now();
        let mut aloud = Some(aloud);
        loop {
            match attempt(&lock) {
                Attempt::Held(file) => return Ok(Lock { path: lock, file: Some(file) }),
                Attempt::Without => return Ok(Lock { path: lock, file: None }),
                Attempt::Busy => {}
            }
            if start.elapsed() > ALOUD.min(patience)
                && let Some(aloud) = aloud.take()
            {
                aloud();
            }
            if start.elapsed() > patience {
                return Err(WriteError::Busy { path: path.to_owned(), seconds: patience.as_secs() });
            }
            std::thread::sleep(PAUSE);
        }
    }
}

enum Attempt {
    Held(File),
    Busy,
    /// No locks here, or no file can be made: writing will say so.
    Without,
}

fn attempt(path: &Path) -> Attempt {
    let Ok(file) = OpenOptions::new().write(true).create(true).truncate(false).open(path) else {
        return Attempt::Without;
    };
    match file.try_lock() {
        // Whoever had it may have removed it while this one waited: then it holds nobody off.
        Ok(()) if same(&file, path) => Attempt::Held(file),
        Ok(()) | Err(fs::TryLockError::WouldBlock) => Attempt::Busy,
        Err(fs::TryLockError::Error(_)) => {
            let _ = fs::remove_file(path);
            Attempt::Without
        }
    }
}

/// Is this open file what the path leads to?
#[cfg(unix)]
pub(super) fn same(file: &File, path: &Path) -> bool {
    use std::os::unix::fs::MetadataExt;
    match (file.metadata(), fs::metadata(path)) {
        (Ok(a), Ok(b)) => (a.dev(), a.ino()) == (b.dev(), b.ino()),
        _ => false,
    }
}

/// Elsewhere a file that is open stays where it is.
#[cfg(not(unix))]
pub(super) fn same(_: &File, path: &Path) -> bool {
    path.exists()
}

impl Drop for Lock {
    fn drop(&mut self) {
        // While it is held, so that none who waits for it takes one that is gone for the lock.
        if cfg!(unix) && self.file.is_some() {
            let _ = fs::remove_file(&self.path);
        }
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use std::sync::atomic::{AtomicU32, Ordering};

    #[test]
    fn property_one_at_a_time_and_nothing_is_left() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("ledger.csv");
        fs::write(&path, "0").unwrap();
        let inside = AtomicU32::new(0);
        std::thread::scope(|scope| {
            for _ in 0..8 {
                scope.spawn(|| {
                    for _ in 0..25 {
                        let _lock = Lock::of(&path, || {}).unwrap();
                        assert_eq!(inside.fetch_add(1, Ordering::SeqCst), 0);
                        let n: u32 = fs::read_to_string(&path).unwrap().parse().unwrap();
                        fs::write(&path, (n + 1).to_string()).unwrap();
                        inside.fetch_sub(1, Ordering::SeqCst);
                    }
                });
            }
        });
        assert_eq!(fs::read_to_string(&path).unwrap(), "200");
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1);
    }

    #[test]
    fn bad_input_one_who_never_lets_go_is_named() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("ledger.csv");
        let _held = Lock::of(&path, || {}).unwrap();
        let mut said = false;
        let busy = Lock::within(&path, Duration::from_millis(50), || said = true);
        assert!(matches!(busy, Err(WriteError::Busy { .. })) && said);
    }
}
