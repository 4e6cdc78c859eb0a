//! What an answer wants to be written; writing it is left to whoever asked.

use std::path::PathBuf;

/// A file, to be written whole or not at all.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ToWrite {
    /// Which.
    pub path: PathBuf,
    /// Of an edit: what was read of it, and what it is an edit of; `None` where there was no file, or where it is a
    /// result.
    pub read: Option<Vec<u8>>,
    /// What is to stand in it.
    pub bytes: Vec<u8>,
}

impl ToWrite {
    /// A result.
    pub fn result(path: impl Into<PathBuf>, text: impl Into<Vec<u8>>) -> Self {
        Self { path: path.into(), read: None, bytes: text.into() }
    }
}
