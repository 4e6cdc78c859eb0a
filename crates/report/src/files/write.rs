//! Files that appear whole or not at all, and the one rule of what they may replace: a result that this program wrote, and
//! nothing else unless the user says `--force`; never what is read-only.
//!
//! Bytes go to a temporary file beside the destination, are forced to disk, and take its name by a rename. A run that
//! takes long asks [`check_destination`] first, so that a wrong folder is reported before the work and not after it.

use std::fs::{self, File, OpenOptions};
use std::io::{self, ErrorKind, Write};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, Ordering};

use crate::files::ours::ours;
use crate::files::part::part;

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
    /// It is no result of this program.
    #[error(
        "{}: is no result that unladen wrote, and would be lost; give another name, or --force to replace it",
        path.display()
    )]
    Foreign {
        /// As given.
        path: PathBuf,
    },
    /// Its owner protects it.
    #[error("{}: is read-only and stays as it is; give another name, or make it writable", path.display())]
    ReadOnly {
        /// As given.
        path: PathBuf,
    },
    /// A link that leads nowhere.
    #[error("{}: is a link to a file that isn't there; give another name, or remove the link", path.display())]
    DeadLink {
        /// As given.
        path: PathBuf,
    },
    /// Somebody else wrote it while an edit of it was made.
    #[error("{}: was changed by something else since it was read; nothing was written: try again", path.display())]
    Changed {
        /// As given.
        path: PathBuf,
    },
    /// Somebody else edits it.
    #[error("{}: another unladen has been editing it for {seconds} s; nothing was written", path.display())]
    Busy {
        /// As given.
        path: PathBuf,
        /// How long was waited.
        seconds: u64,
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

impl WriteError {
    /// Whether what was typed is at fault, and not the disk.
    pub fn is_input(&self) -> bool {
        !matches!(self, WriteError::Refused { .. } | WriteError::Changed { .. } | WriteError::Busy { .. })
    }
}

static FORCED: AtomicBool = AtomicBool::new(false);

/// `--force`: from here on, and for the whole process, results may replace whatever can be written.
pub fn force() {
    FORCED.store(true, Ordering::Relaxed);
}

/// Can a file be written at `path`, and may it? To ask before a long run. Leaves no trace.
///
/// # Errors
/// [`WriteError`].
pub fn check_destination(path: &Path) -> Result<(), WriteError> {
    match Destination::of(path)? {
        Destination::Device => Ok(()),
        Destination::File(target) => {
            may_replace(path, &target)?;
            part(&folder_of(&target)).map(drop).map_err(refused(path, "create a file in its folder"))
        }
    }
}

/// Writes `bytes` to `path`, whole or not at all; a result that was there is replaced and keeps its permissions.
///
/// # Errors
/// [`WriteError`].
pub fn write_whole(path: &Path, bytes: &[u8]) -> Result<(), WriteError> {
    write_whole_by(path, |file| file.write_all(bytes).map_err(refused(path, "write")))
}

/// The same, of what `fill` writes.
///
/// # Errors
/// Those of `fill`, and [`WriteError`].
pub fn write_whole_by<E: From<WriteError>>(
    path: &Path,
    fill: impl FnOnce(&mut File) -> Result<(), E>,
) -> Result<(), E> {
    match Destination::of(path)? {
        Destination::File(target) => put(path, &target, fill, || may_replace(path, &target)),
        Destination::Device => {
            let device = OpenOptions::new().write(true).open(path);
            fill(&mut device.map_err(refused(path, "open"))?)
        }
    }
}

/// The edit of a file: `bytes` take the place of what was `read` from it, if that is still there; `None`: of no file.
///
/// # Errors
/// [`WriteError::Changed`] where it is not, and as [`write_whole`].
pub fn replace_whole(path: &Path, read: Option<&[u8]>, bytes: &[u8]) -> Result<(), WriteError> {
    let Destination::File(target) = Destination::of(path)? else {
        return Err(WriteError::NoFileName { path: path.to_owned() });
    };
    writable(path, &target)?;
    let unchanged = || {
        let now = fs::read(&target).ok();
        if now.as_deref() == read { Ok(()) } else { Err(WriteError::Changed { path: path.to_owned() }) }
    };
    put(path, &target, |file| file.write_all(bytes).map_err(refused(path, "write")), unchanged)
}

/// Fills a temporary file and gives it the name, if `last` sees nothing against it at the last moment.
fn put<E: From<WriteError>>(
    path: &Path,
    target: &Path,
    fill: impl FnOnce(&mut File) -> Result<(), E>,
    last: impl FnOnce() -> Result<(), WriteError>,
) -> Result<(), E> {
    let mut part = part(&folder_of(target)).map_err(refused(path, "create a file in its folder"))?;
    fill(part.as_file_mut())?;
    if let Ok(old) = fs::metadata(target) {
        let kept = part.as_file().set_permissions(old.permissions());
        kept.map_err(refused(path, "keep the permissions of the file"))?;
    }
    part.as_file().sync_all().map_err(refused(path, "write to disk"))?;
    last()?;
    part.persist(target).map_err(|e| refused(path, "put in place")(e.error))?;
    // The rename itself: not every file system lets a folder be synced, and the file is whole either way.
    if let Some(Ok(folder)) = target.parent().map(File::open) {
        let _ = folder.sync_all();
    }
    Ok(())
}

fn refused(path: &Path, step: &'static str) -> impl FnOnce(io::Error) -> WriteError {
    move |source| WriteError::Refused { path: path.to_owned(), step, source }
}

/// The rule.
pub(super) fn may_replace(path: &Path, target: &Path) -> Result<(), WriteError> {
    writable(path, target)?;
    if FORCED.load(Ordering::Relaxed) || !target.exists() || ours(target).map_err(refused(path, "read"))? {
        return Ok(());
    }
    Err(WriteError::Foreign { path: path.to_owned() })
}

/// Also where the user is one whom the system lets write everything.
fn writable(path: &Path, target: &Path) -> Result<(), WriteError> {
    match fs::metadata(target) {
        Ok(there) if there.permissions().readonly() => Err(WriteError::ReadOnly { path: path.to_owned() }),
        _ => Ok(()),
    }
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
        // A path takes a slash at its end off in silence.
        if path.as_os_str().as_encoded_bytes().last().is_some_and(|b| std::path::is_separator(char::from(*b)))
            && !path.is_dir()
        {
            return Err(WriteError::NoFileName { path: path.to_owned() });
        }
        match fs::metadata(path) {
            Ok(there) if there.is_dir() => return Err(WriteError::IsFolder { path: path.to_owned() }),
            Ok(there) if !there.is_file() => return Ok(Destination::Device),
            Ok(_) => return fs::canonicalize(path).map(Destination::File).map_err(refused(path, "find")),
            Err(_) if fs::symlink_metadata(path).is_ok() => return Err(WriteError::DeadLink { path: path.to_owned() }),
            Err(e) if matches!(e.kind(), ErrorKind::NotFound | ErrorKind::NotADirectory) => {}
            // A name that is too long, say: better now than after the run.
            Err(e) => return Err(refused(path, "use this name")(e)),
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
        write_whole(&path, b"s_m,t_s,v_mps,\n").unwrap();
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
        write_whole(&real, b"s_m,t_s,v_mps,old").unwrap();
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
            write_whole_by::<WriteError>(&path, |_| panic!("while drawing")).unwrap();
        });
        assert!(unwound.is_err());
        assert!(names(folder.path()).is_empty());
    }

    #[test]
    fn bad_input_what_somebody_else_wrote_stays() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("ledger.csv");
        fs::write(&path, "item,state\n").unwrap();
        assert!(matches!(check_destination(&path), Err(WriteError::Foreign { .. })));
        // A file that came to be during the run, too.
        assert!(matches!(write_whole(&path, b"x"), Err(WriteError::Foreign { .. })));
        assert_eq!(names(folder.path()), ["ledger.csv"]);
        let slash = folder.path().join("out.csv/");
        assert!(matches!(check_destination(&slash), Err(WriteError::NoFileName { .. })));
        let long = folder.path().join("x".repeat(300) + ".csv");
        assert!(matches!(check_destination(&long), Err(WriteError::Refused { .. })));
    }

    #[test]
    fn bad_input_read_only_files_and_dead_links_stay() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("out.csv");
        fs::write(&path, "s_m,t_s,v_mps,\n").unwrap();
        let mut only = fs::metadata(&path).unwrap().permissions();
        only.set_readonly(true);
        fs::set_permissions(&path, only).unwrap();
        assert!(matches!(check_destination(&path), Err(WriteError::ReadOnly { .. })));
        assert!(matches!(replace_whole(&path, Some(b"s_m,t_s,v_mps,\n"), b"x"), Err(WriteError::ReadOnly { .. })));
        #[cfg(unix)]
        {
            let link = folder.path().join("link.csv");
            std::os::unix::fs::symlink(folder.path().join("gone"), &link).unwrap();
            assert!(matches!(write_whole(&link, b"x"), Err(WriteError::DeadLink { .. })));
            assert!(fs::symlink_metadata(&link).unwrap().is_symlink());
        }
    }

    #[test]
    fn bad_input_an_edit_of_what_has_changed_is_none() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("ledger.csv");
        replace_whole(&path, None, b"one").unwrap();
        replace_whole(&path, Some(b"one"), b"two").unwrap();
        assert!(matches!(replace_whole(&path, Some(b"one"), b"three"), Err(WriteError::Changed { .. })));
        assert!(matches!(replace_whole(&path, None, b"three"), Err(WriteError::Changed { .. })));
        assert_eq!(fs::read(&path).unwrap(), b"two");
    }
}
