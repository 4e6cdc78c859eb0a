//! Two files of which one names the other, changed as one: at every moment the first names a second that is whole and its own.

use std::fs;
use std::path::Path;

use crate::files::ours::small;
use crate::files::write::{WriteError, check_destination, write_whole};

/// A track's two files, say: `first` is the text of the one that names the other, by the other's name.
#[derive(Clone, Copy, Debug)]
pub struct Pair<'a> {
    /// The file that names the other.
    pub naming: &'a Path,
    /// The other one, beside it.
    pub named: &'a Path,
    /// Between, where the other is in use: its name.
    pub spare: &'a Path,
}

impl Pair<'_> {
    /// Can both be written? Asked before the run.
    ///
    /// # Errors
    /// [`WriteError`].
    pub fn check(&self) -> Result<(), WriteError> {
        check_destination(self.naming)?;
        check_destination(self.named)?;
        // Left by a run that was killed, or somebody's.
        if self.spare.exists() && !self.names(self.spare) { check_destination(self.spare) } else { Ok(()) }
    }

    /// Does the naming file as it stands name this one? Where that can't be told it is taken to.
    fn names(&self, other: &Path) -> bool {
        let (Some(text), Some(name)) = (small(self.naming), other.file_name().and_then(|n| n.to_str())) else {
            return false;
        };
        text.contains(&format!("\"{name}\"")) || text.contains(&format!("'{name}'"))
    }

    /// Writes both. Killed at any moment, the naming file names what was written with it.
    ///
    /// # Errors
    /// [`WriteError`].
    pub fn write(&self, naming: impl Fn(&str) -> String, named: &[u8]) -> Result<(), WriteError> {
        let name = |path: &Path| path.file_name().unwrap_or_default().to_string_lossy().into_owned();
        if self.names(self.named) && !self.names(self.spare) {
            // It stays while the file that names it does: first a copy under another name takes over.
            write_whole(self.spare, named)?;
            write_whole(self.naming, naming(&name(self.spare)).as_bytes())?;
        }
        write_whole(self.named, named)?;
        write_whole(self.naming, naming(&name(self.named)).as_bytes())?;
        if self.spare.exists() {
            let _ = fs::remove_file(self.spare);
        }
        Ok(())
    }
}
