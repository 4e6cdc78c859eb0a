//! A long table that grows beside the file it will be: stopped at any moment, what was done is kept, and the file
//! itself appears whole or not at all.
//!
//! `out.csv` is `out.csv.partial` while it grows, and `out.csv.partial.json` says which question its rows answer. A
//! last line that was torn is cut off when the work goes on.

use std::fs::{self, File, OpenOptions};
use std::io::{self, BufRead, BufReader, Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};

use crate::files::write::{WriteError, write_whole};

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
    /// is there is shown to `keep` in its order; from the first that it refuses on, rows are cut off.
    ///
    /// # Errors
    /// [`PartialError`].
    pub fn open(
        target: &Path,
        head: &[u8],
        question: &str,
        resume: bool,
        keep: &mut dyn FnMut(&[u8]) -> bool,
    ) -> Result<Partial, PartialError> {
        let beside = |more: &str| {
            let mut name = target.as_os_str().to_owned();
            name.push(more);
            PathBuf::from(name)
        };
        let (path, card) = (beside(".partial"), beside(".partial.json"));
        let there = path.exists();
        if there && !resume {
            return Err(PartialError::Stopped { path });
        }
        if there && fs::read_to_string(&card).ok().as_deref() != Some(question) {
            return Err(PartialError::Another { path });
        }
        // First what the rows will answer: killed in between there is no row without it.
        if !there {
            write_whole(&card, question.as_bytes())?;
        }
        let refused = |step| {
            let path = path.clone();
            move |source| WriteError::Refused { path, step, source }
        };
        let file = OpenOptions::new().read(true).write(true).create(true).truncate(false).open(&path);
        let mut file = file.map_err(refused("open"))?;
        if file.try_lock().is_err() {
            return Err(PartialError::Busy { path });
        }
        let whole = whole(&mut file, head, keep).map_err(refused("read"))?;
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

    /// The table is complete: it takes the file's name.
    ///
    /// # Errors
    /// [`WriteError`] where the disk refuses.
    pub fn finish(self) -> Result<(), WriteError> {
        self.finish_by(|rows, target| {
            let path = target.to_owned();
            fs::rename(rows, target).map_err(|source| WriteError::Refused { path, step: "put in place", source })
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
        make(&path, &target)?;
        // What is left of them is of no account: a card without rows is none.
        let _ = fs::remove_file(&path);
        let _ = fs::remove_file(&card);
        Ok(())
    }
}

/// How many bytes are the head and whole rows that `keep` accepts.
fn whole(file: &mut File, head: &[u8], keep: &mut dyn FnMut(&[u8]) -> bool) -> io::Result<u64> {
    let mut reader = BufReader::new(&mut *file);
    let (mut line, mut whole) = (Vec::new(), 0);
    loop {
        line.clear();
        let read = reader.read_until(b'\n', &mut line)?;
        let accepted = line.ends_with(b"\n") && if whole == 0 { line == head } else { keep(&line) };
        if !accepted {
            return Ok(whole);
        }
        whole += read as u64;
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    const HEAD: &[u8] = b"a,b\n";

    fn open(target: &Path, question: &str, resume: bool) -> Result<(Partial, Vec<Vec<u8>>), PartialError> {
        let mut kept = Vec::new();
        let partial = Partial::open(target, HEAD, question, resume, &mut |row| {
            kept.push(row.to_vec());
            true
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
            drop(open(&target, "q", false).unwrap());
            fs::write(folder.path().join("out.csv.partial"), &whole[..cut]).unwrap();
            assert!(matches!(open(&target, "q", false), Err(PartialError::Stopped { .. })));
            assert!(matches!(open(&target, "other", true), Err(PartialError::Another { .. })));
            let (mut partial, kept) = open(&target, "q", true).unwrap();
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
        let (mut partial, _) = open(&target, "q", false).unwrap();
        partial.append(b"1,2\nnonsense\n3,4\n").unwrap();
        assert!(matches!(open(&target, "q", true), Err(PartialError::Busy { .. })));
        drop(partial);
        let partial = Partial::open(&target, HEAD, "q", true, &mut |row| row != b"nonsense\n").unwrap();
        finish(partial);
        assert_eq!(fs::read(&target).unwrap(), b"a,b\n1,2\n");
    }
}
