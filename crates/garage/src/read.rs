//! Bytes from the disk, and never more than a limit: whatever a file's size is said to be, whether it ends or not.

use std::fs::File;
use std::io::{ErrorKind, Read};
use std::path::Path;

use crate::fault::FileProblem;

/// How much of a file is read; what is larger is refused.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Limit {
    kilobytes: u64,
}

impl Limit {
    /// A TOML file that people write; a car is 10 kB.
    pub const TEXT: Limit = Limit { kilobytes: 1 << 10 };
    /// A ledger or areas: of 10 000 rows each may have 800 bytes.
    pub const SHEET: Limit = Limit { kilobytes: 8 << 10 };
    /// Segments: more than are solved.
    pub const SEGMENTS: Limit = Limit { kilobytes: 32 << 10 };
    /// A log or positions.
    pub const LOG: Limit = Limit { kilobytes: 64 << 10 };

    pub(crate) fn holds(self, bytes: u64) -> Result<(), FileProblem> {
        let megabytes = |bytes: u64| bytes.div_ceil(1 << 20);
        let most = self.kilobytes << 10;
        if bytes <= most {
            return Ok(());
        }
        Err(FileProblem::TooLarge { megabytes: megabytes(bytes), limit: megabytes(most) })
    }
}

pub(crate) fn bytes(path: &Path, limit: Limit) -> Result<Vec<u8>, FileProblem> {
    let meta = path.metadata().map_err(problem)?;
    if meta.is_dir() {
        return Err(FileProblem::Directory);
    }
    // What a pipe or a device says of its length is nothing.
    let likely = if meta.is_file() { meta.len() } else { 0 };
    limit.holds(likely)?;
    let mut bytes = Vec::with_capacity(likely as usize);
    File::open(path).map_err(problem)?.take((limit.kilobytes << 10) + 1).read_to_end(&mut bytes).map_err(problem)?;
    limit.holds(bytes.len() as u64)?;
    Ok(bytes)
}

fn problem(e: std::io::Error) -> FileProblem {
    match e.kind() {
        ErrorKind::NotFound => FileProblem::NotFound,
        ErrorKind::IsADirectory => FileProblem::Directory,
        _ => FileProblem::Unreadable { reason: e.to_string() },
    }
}

/// Whether a path leads out of a folder, by its name or by a link.
pub(crate) fn outside(path: &Path, folder: Option<&Path>) -> bool {
    let folder = folder.filter(|f| !f.as_os_str().is_empty()).unwrap_or(Path::new("."));
    match (path.canonicalize(), folder.canonicalize()) {
        (Ok(path), Ok(folder)) => !path.starts_with(folder),
        // What is not there says nothing.
        _ => false,
    }
}
