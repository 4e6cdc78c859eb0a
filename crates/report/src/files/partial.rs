//! A long table that grows beside the file it will be: stopped at any moment, what was done is kept, and the file
//! itself appears whole or not at all.
//!
//! `out.csv` is `out.csv.partial` while it grows, and `out.csv.partial.json` says which question its rows answer. A
//! last line that was torn is cut off when the work goes on.

use std::fs::{self, File, OpenOptions};
use std::io::{self, BufRead, BufReader, Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};

use crate::files::lock::same;
use crate::files::ours::small;
use crate::files::write::{WriteError, check_destination, write_whole};

/// Why a growing table can't be started or gone on with.
#[derive(Debug, thiserror::Error)]
pub enum PartialError {
    /// Work that was stopped would be lost.
    #[error(
        "{}: rows of a run that was stopped are here; add --resume to go on with them, or delete that file to begin anew",
        path.display()
    )]
    Stopped {
        /// Where they are.
        path: PathBuf,
    },
    /// The rows that are there answer another question.
    #[error(
        "{}: its rows are of another run: a file, a value or an option has changed since; delete it to begin anew",
        path.display()
    )]
    Another {
        /// Where they are.
        path: PathBuf,
    },
    /// Somebody else is writing it.
    #[error("{}: another run is writing it", path.display())]
    Busy {
        /// Where.
        path: PathBuf,
    },
    /// The operating system refused.
    #[error(transparent)]
    Write(#[from] WriteError),
}

/// What a row is that is there when work goes on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Row {
    /// The one that is due.
    Due,
    /// None: it, and all behind it, is cut off.
    Broken,
    /// A sound one that answers something else: nothing is touched.
    Foreign,
}

/// A table that grows.
#[derive(Debug)]
pub struct Partial {
    target: PathBuf,
    path: PathBuf,
    card: PathBuf,
    file: File,
}

impl Partial {
    /// Starts, or with `resume` goes on: `head` is the first line, `question` what the rows answer. Each whole row that
    /// is there is shown to `keep` in its order.
    ///
    /// # Errors
    /// [`PartialError`].
    pub fn open(
        target: &Path,
        head: &[u8],
        question: &str,
        resume: bool,
        keep: &mut dyn FnMut(&[u8]) -> Row,
    ) -> Result<Partial, PartialError> {
        let beside = |more: &str| {
            let mut name = target.as_os_str().to_owned();
            name.push(more);
            PathBuf::from(name)
        };
        let (path, card) = (beside(".partial"), beside(".partial.json"));
        let refused = |step| {
            let path = path.clone();
            move |source| WriteError::Refused { path, step, source }
        };
        let file = OpenOptions::new().read(true).write(true).create(true).truncate(false).open(&path);
        let mut file = file.map_err(refused("open"))?;
        // The lock comes first: what another run has is not touched.
        if matches!(file.try_lock(), Err(fs::TryLockError::WouldBlock)) {
            return Err(PartialError::Busy { path });
        }
        // One without rows, of a run that was killed at once, is none.
        let there = file.metadata().map_err(refused("look at"))?.len() > 0;
        if there && !resume {
            return Err(PartialError::Stopped { path });
        }
        if there && small(&card).as_deref() != Some(question) {
            return Err(PartialError::Another { path });
        }
        // First what the rows will answer: killed in between there is no row without it.
        if !there {
            let begun = check_destination(&card).and_then(|()| write_whole(&card, question.as_bytes()));
            if let Err(error) = begun {
                let _ = fs::remove_file(&path);
                return Err(error.into());
            }
        }
        let Some(whole) = whole(&mut file, head, keep).map_err(refused("read"))? else {
            return Err(PartialError::Another { path });
        };
        file.set_len(whole).map_err(refused("cut the torn end off"))?;
        file.seek(SeekFrom::Start(whole)).map_err(refused("go to its end"))?;
        let mut partial = Partial { target: target.to_owned(), path, card, file };
        if whole == 0 {
            partial.append(head)?;
        }
        Ok(partial)
    }

    /// Adds whole lines.
    ///
    /// # Errors
    /// [`WriteError`] where the disk refuses.
    pub fn append(&mut self, lines: &[u8]) -> Result<(), WriteError> {
        let path = self.path.clone();
        self.file.write_all(lines).map_err(|source| WriteError::Refused { path, step: "write", source })
    }

    /// Where the rows are that are done so far.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// It is not wanted: its rows and its card are removed.
    ///
    /// # Errors
    /// [`WriteError`] where the disk refuses.
    pub fn abandon(self) -> Result<(), WriteError> {
        for path in [&self.path, &self.card] {
            fs::remove_file(path).map_err(|source| WriteError::Refused {
                path: path.clone(),
                step: "remove",
                source,
            })?;
        }
        Ok(())
    }

    /// The table is complete: it takes the file's name.
    ///
    /// # Errors
    /// [`WriteError`] where the disk refuses.
    pub fn finish(self) -> Result<(), WriteError> {
        self.finish_by(|rows, target| {
            let path = target.to_owned();
            // What came to be there during the run stays; and a link stays a link.
            check_destination(target)?;
            let real = fs::canonicalize(target).unwrap_or_else(|_| target.to_owned());
            fs::rename(rows, real).map_err(|source| WriteError::Refused { path, step: "put in place", source })
        })
    }

    /// The table is complete: `make` makes the file of it.
    ///
    /// # Errors
    /// Those of `make`, and [`WriteError`] where the disk refuses.
    pub fn finish_by<E: From<WriteError>>(self, make: impl FnOnce(&Path, &Path) -> Result<(), E>) -> Result<(), E> {
        let Partial { target, path, card, file } = self;
        file.sync_all().map_err(|source| WriteError::Refused {
            path: target.clone(),
            step: "write to disk",
            source,
        })?;
        if !same(&file, &path) {
            let source = io::Error::other("somebody else has removed or replaced it");
            return Err(WriteError::Refused { path, step: "finish", source }.into());
        }
        make(&path, &target)?;
        // What is left of them is of no account: a card without rows is none.
        let _ = fs::remove_file(&path);
        let _ = fs::remove_file(&card);
        Ok(())
    }
}

/// How many bytes are the head and whole rows that are due; `None` where one answers something else.
fn whole(file: &mut File, head: &[u8], keep: &mut dyn FnMut(&[u8]) -> Row) -> io::Result<Option<u64>> {
    let mut reader = BufReader::new(&mut *file);
    let (mut line, mut whole) = (Vec::new(), 0);
    loop {
        line.clear();
        let read = reader.read_until(b'\n', &mut line)?;
        let row = match whole {
            _ if !line.ends_with(b"\n") => Row::Broken,
            0 if line == head => Row::Due,
            0 => Row::Broken,
            _ => keep(&line),
        };
        match row {
            Row::Due => whole += read as u64,
            Row::Broken => return Ok(Some(whole)),
            Row::Foreign => return Ok(None),
        }
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    const HEAD: &[u8] = b"a,b\n";
    const Q: &str = "{ \"schema\": 1, \"sweep\": \"q\" }\n";

    fn open(target: &Path, question: &str, resume: bool) -> Result<(Partial, Vec<Vec<u8>>), PartialError> {
        let mut kept = Vec::new();
        let partial = Partial::open(target, HEAD, question, resume, &mut |row| {
            kept.push(row.to_vec());
            Row::Due
        })?;
        Ok((partial, kept))
    }

    fn finish(partial: Partial) {
        partial.finish().unwrap();
    }

    #[test]
    fn property_torn_at_any_byte_it_goes_on() {
        let rows: [&[u8]; 3] = [b"1,2\n", b"33,\"x, y\"\n", b"5,6\n"];
        let whole = [HEAD, &rows.concat()].concat();
        for cut in 0..=whole.len() {
            let folder = tempfile::tempdir().unwrap();
            let target = folder.path().join("out.csv");
            drop(open(&target, Q, false).unwrap());
            fs::write(folder.path().join("out.csv.partial"), &whole[..cut]).unwrap();
            if cut > 0 {
                assert!(matches!(open(&target, Q, false), Err(PartialError::Stopped { .. })));
                assert!(matches!(open(&target, "other", true), Err(PartialError::Another { .. })));
            }
            let (mut partial, kept) = open(&target, Q, true).unwrap();
            for row in &rows[kept.len()..] {
                partial.append(row).unwrap();
            }
            assert!(!target.exists());
            finish(partial);
            assert_eq!(fs::read(&target).unwrap(), whole, "{cut}");
            assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1);
        }
    }

    #[test]
    fn bad_input_rows_that_are_not_what_they_should_be_are_cut_off() {
        let folder = tempfile::tempdir().unwrap();
        let target = folder.path().join("out.csv");
        let (mut partial, _) = open(&target, Q, false).unwrap();
        partial.append(b"1,2\nnonsense\n3,4\n").unwrap();
        assert!(matches!(open(&target, Q, true), Err(PartialError::Busy { .. })));
        // Another run has asked meanwhile, and has not said that the rows are its own.
        assert!(matches!(open(&target, "other", false), Err(PartialError::Busy { .. })));
        assert_eq!(fs::read(folder.path().join("out.csv.partial.json")).unwrap(), Q.as_bytes());
        drop(partial);
        let path = folder.path().join("out.csv.partial");
        let before = fs::read(&path).unwrap();
        let other = Partial::open(&target, HEAD, Q, true, &mut |_| Row::Foreign);
        assert!(matches!(other, Err(PartialError::Another { .. })));
        assert_eq!(fs::read(&path).unwrap(), before);
        let sound = |row: &[u8]| if row == b"nonsense\n" { Row::Broken } else { Row::Due };
        finish(Partial::open(&target, HEAD, Q, true, &mut |row| sound(row)).unwrap());
        assert_eq!(fs::read(&target).unwrap(), b"a,b\n1,2\n");
    }
}
