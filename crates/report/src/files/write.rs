//! Files that appear whole or not at all.
//!
//! Bytes go to a temporary file beside the destination, are forced to disk, and take its name by a rename. A run that
//! takes long asks [`check_destination`] first, so that a wrong folder is reported before the work and not after it.

use std::fs::{self, File, OpenOptions};
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicU32, Ordering};

/// Why a file could not be written.
#[derive(Debug, thiserror::Error)]
pub enum WriteError {
    /// The path ends in no name, such as `/` or `..`.
    #[error("{}: names no file", path.display())]
    NoFileName {
        /// As given.
        path: PathBuf,
    },
    /// A folder has that name.
    #[error("{}: is a folder; give a file in it", path.display())]
    IsFolder {
        /// As given.
        path: PathBuf,
    },
    /// The folder that it should go to is missing.
    #[error("{}: there is no folder {}; make it first", path.display(), folder.display())]
    NoFolder {
        /// As given.
        path: PathBuf,
        /// The missing one.
        folder: PathBuf,
    },
    /// The operating system refused.
    #[error("{}: can't {step}: {source}", path.display())]
    Refused {
        /// As given.
        path: PathBuf,
        /// What was being done.
        step: &'static str,
        /// Its reason.
        source: io::Error,
    },
}

/// Can a file be written at `path`? To ask before a long run. Leaves no trace.
pub fn check_destination(path: &Path) -> Result<(), WriteError> {
    match Destination::of(path)? {
        Destination::Device => Ok(()),
        Destination::File(target) => Part::beside(path, &target).map(drop),
    }
}

/// Writes `bytes` to `path`, whole or not at all; a file that was there is replaced and keeps its permissions.
pub fn write_whole(path: &Path, bytes: &[u8]) -> Result<(), WriteError> {
    write_whole_by(path, |file| {
        file.write_all(bytes).map_err(|source| WriteError::Refused { path: path.to_owned(), step: "write", source })
    })
}

/// The same, of what `fill` writes.
///
/// # Errors
/// Those of `fill`, and [`WriteError`].
pub fn write_whole_by<E: From<WriteError>>(
    path: &Path,
    fill: impl FnOnce(&mut File) -> Result<(), E>,
) -> Result<(), E> {
    let refused = |step| move |source| WriteError::Refused { path: path.to_owned(), step, source };
    let target = match Destination::of(path)? {
        Destination::File(target) => target,
        Destination::Device => {
            let device = OpenOptions::new().write(true).open(path);
            return fill(&mut device.map_err(refused("open"))?);
        }
    };
    let mut part = Part::beside(path, &target)?;
    fill(&mut part.file)?;
    if let Ok(old) = fs::metadata(&target) {
        part.file.set_permissions(old.permissions()).map_err(refused("keep the permissions of the file"))?;
    }
    part.file.sync_all().map_err(refused("write to disk"))?;
    fs::rename(&part.path, &target).map_err(refused("put in place"))?;
    part.renamed = true;
    // The rename itself: not every file system lets a folder be synced, and the file is whole either way.
    if let Some(Ok(folder)) = target.parent().map(File::open) {
        let _ = folder.sync_all();
    }
    Ok(())
}

/// What `path` leads to.
enum Destination {
    /// A regular file, there or not yet, links followed.
    File(PathBuf),
    /// A terminal, a pipe, `/dev/stdout`: written to, never replaced.
    Device,
}

impl Destination {
    fn of(path: &Path) -> Result<Self, WriteError> {
        match fs::metadata(path) {
            Ok(there) if there.is_dir() => return Err(WriteError::IsFolder { path: path.to_owned() }),
            Ok(there) if !there.is_file() => return Ok(Destination::Device),
            Ok(_) => {
                return fs::canonicalize(path).map(Destination::File).map_err(|source| WriteError::Refused {
                    path: path.to_owned(),
                    step: "find",
                    source,
                });
            }
            Err(_) => {}
        }
        if path.file_name().is_none() {
            return Err(WriteError::NoFileName { path: path.to_owned() });
        }
        let folder = folder_of(path);
        if !folder.is_dir() {
            return Err(WriteError::NoFolder { path: path.to_owned(), folder });
        }
        Ok(Destination::File(path.to_owned()))
    }
}

fn folder_of(path: &Path) -> PathBuf {
    match path.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder.to_owned(),
        _ => PathBuf::from("."),
    }
}

/// The temporary file; removed again unless it was renamed, also when a panic unwinds.
struct Part {
    path: PathBuf,
    file: File,
    renamed: bool,
}

impl Part {
    fn beside(asked: &Path, target: &Path) -> Result<Part, WriteError> {
        static COUNT: AtomicU32 = AtomicU32::new(0);
        let count = COUNT.fetch_add(1, Ordering::Relaxed);
        let path = folder_of(target).join(format!(".unladen-{}-{count}.part", std::process::id()));
        let file = OpenOptions::new().write(true).create_new(true).open(&path).map_err(|source| {
            WriteError::Refused { path: asked.to_owned(), step: "create a file in its folder", source }
        })?;
        Ok(Part { path, file, renamed: false })
    }
}

impl Drop for Part {
    fn drop(&mut self) {
        if !self.renamed {
            let _ = fs::remove_file(&self.path);
        }
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    fn names(folder: &Path) -> Vec<String> {
        let mut names: Vec<_> =
            fs::read_dir(folder).unwrap().map(|e| e.unwrap().file_name().into_string().unwrap()).collect();
        names.sort();
        names
    }

    #[test]
    fn property_a_file_is_whole_and_alone_in_its_folder() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("out.svg");
        check_destination(&path).unwrap();
        assert!(names(folder.path()).is_empty());
        write_whole(&path, b"first").unwrap();
        write_whole(&path, b"second, longer").unwrap();
        assert_eq!(fs::read(&path).unwrap(), b"second, longer");
        assert_eq!(names(folder.path()), ["out.svg"]);
    }

    #[test]
    fn bad_input_destinations_are_refused_by_name() {
        let folder = tempfile::tempdir().unwrap();
        let missing = folder.path().join("no/such/out.svg");
        assert!(matches!(check_destination(&missing), Err(WriteError::NoFolder { .. })));
        assert!(matches!(write_whole(&missing, b"x"), Err(WriteError::NoFolder { .. })));
        assert!(matches!(check_destination(folder.path()), Err(WriteError::IsFolder { .. })));
        assert!(matches!(check_destination(Path::new("")), Err(WriteError::NoFileName { .. })));
        let file = folder.path().join("file");
        write_whole(&file, b"x").unwrap();
        assert!(matches!(check_destination(&file.join("inside")), Err(WriteError::NoFolder { .. })));
        assert_eq!(names(folder.path()), ["file"]);
    }

    #[cfg(unix)]
    #[test]
    fn regression_a_link_is_followed_and_a_device_is_written_to() {
        use std::os::unix::fs::PermissionsExt;
        let folder = tempfile::tempdir().unwrap();
        let real = folder.path().join("real.csv");
        let link = folder.path().join("link.csv");
        write_whole(&real, b"old").unwrap();
        fs::set_permissions(&real, fs::Permissions::from_mode(0o600)).unwrap();
        std::os::unix::fs::symlink(&real, &link).unwrap();
        write_whole(&link, b"new").unwrap();
        assert_eq!(fs::read(&real).unwrap(), b"new");
        assert!(fs::symlink_metadata(&link).unwrap().is_symlink());
        assert_eq!(fs::metadata(&real).unwrap().permissions().mode() & 0o777, 0o600);
        write_whole(Path::new("/dev/null"), b"gone").unwrap();
    }

    #[test]
    fn regression_a_panic_leaves_no_part() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("out.svg");
        let unwound = std::panic::catch_unwind(|| {
            let _part = Part::beside(&path, &path).unwrap();
            panic!("while drawing");
        });
        assert!(unwound.is_err());
        assert!(names(folder.path()).is_empty());
    }
}
