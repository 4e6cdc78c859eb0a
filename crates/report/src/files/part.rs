//! The temporary file beside a destination. Its name can't clash with another's, a lock says that its writer lives, and what
//! the dead have left behind is swept.

use std::fs::{self, File};
use std::io;
use std::path::Path;
use std::time::Duration;

use tempfile::{Builder, NamedTempFile};

const PREFIX: &str = ".unladen-";
const SUFFIX: &str = ".part";
/// A younger one may not be locked yet.
const YOUNG: Duration = Duration::from_secs(5);

/// A new one in a folder; removed again unless it is put in place, also when a panic unwinds.
pub(super) fn part(folder: &Path) -> io::Result<NamedTempFile> {
    sweep(folder);
    let mut builder = Builder::new();
    builder.prefix(PREFIX).suffix(SUFFIX);
    // What any new file gets: the mask of the process takes away what it takes away.
    #[cfg(unix)]
    builder.permissions(std::os::unix::fs::PermissionsExt::from_mode(0o666));
    let part = builder.tempfile_in(folder)?;
    // A drive without locks does without: there, what the dead left stays.
    let _ = part.as_file().try_lock();
    Ok(part)
}

/// Removes the temporary files of killed runs: those that nobody holds.
fn sweep(folder: &Path) {
    for entry in fs::read_dir(folder).into_iter().flatten().flatten() {
        let name = entry.file_name();
        let ours = name.to_str().is_some_and(|n| n.starts_with(PREFIX) && n.ends_with(SUFFIX));
        let file = entry.file_type().is_ok_and(|t| t.is_file());
        let age = entry.metadata().and_then(|m| m.modified()).ok().and_then(|t| t.elapsed().ok());
        if ours && file && age.is_some_and(|age| age > YOUNG) {
            let free = File::open(entry.path()).is_ok_and(|f| f.try_lock().is_ok());
            if free {
                let _ = fs::remove_file(entry.path());
            }
        }
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn regression_leftovers_of_the_dead_are_swept_and_those_of_the_living_stay() {
        let folder = tempfile::tempdir().unwrap();
        let old = std::time::SystemTime::now() - Duration::from_secs(60);
        let left = |name: &str| {
            let file = File::create(folder.path().join(name)).unwrap();
            file.set_modified(old).unwrap();
            file
        };
        // As process 1 of a container leaves it, and finds it again.
        drop(left(".unladen-1-0.part"));
        drop(left("mine.part"));
        let alive = part(folder.path()).unwrap();
        alive.as_file().set_modified(old).unwrap();
        drop(part(folder.path()).unwrap());
        let mut names: Vec<_> = fs::read_dir(folder.path()).unwrap().map(|e| e.unwrap().path()).collect();
        names.sort();
        assert_eq!(names, [alive.path().to_owned(), folder.path().join("mine.part")]);
    }
}
