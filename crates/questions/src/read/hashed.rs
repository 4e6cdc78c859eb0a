//! The files that an answer was made from, with their hashes.

use std::path::{Path, PathBuf};

use sha2::{Digest, Sha256};
use unladen_garage::{Fault, Files, Limit, Located};

use crate::error::AskError;
use crate::read::project::{car_file, ledger_file};
use crate::read::scene::{Inputs, Scene};

/// A file that was read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FileRead {
    /// Which.
    pub path: PathBuf,
    /// Its length, bytes.
    pub bytes: u64,
    /// SHA-256 of it, hexadecimal.
    pub sha256: String,
}

/// Cars with what lies beside them, tracks with their segments.
pub(crate) fn all_read(
    files: &dyn Files,
    scene: &Scene,
    other: Option<&Path>,
    inputs: &Inputs,
) -> Result<Vec<FileRead>, AskError> {
    let mut paths = Vec::new();
    for car in std::iter::once(scene.car.as_path()).chain(other) {
        let ledger = ledger_file(files, car);
        let areas = ledger.with_file_name("areas.csv");
        paths.push(car_file(files, car));
        paths.extend([ledger, areas].into_iter().filter(|p| files.is_file(p)));
    }
    for ((path, _), (file, _)) in scene.tracks.iter().zip(&inputs.tracks) {
        paths.extend([path.clone(), path.with_file_name(&file.segments)]);
    }
    paths.into_iter().map(|path| file_read(files, path)).collect()
}

fn file_read(files: &dyn Files, path: PathBuf) -> Result<FileRead, AskError> {
    let bytes = files.bytes(&path, Limit::LOG).map_err(|problem| {
        AskError::one(Located { what: Fault::File { path: path.display().to_string(), problem }, place: None })
    })?;
    Ok(FileRead { path, bytes: bytes.len() as u64, sha256: hash(&bytes) })
}

/// SHA-256, hexadecimal.
pub(crate) fn hash(bytes: &[u8]) -> String {
    Sha256::digest(bytes).iter().map(|b| format!("{b:02x}")).collect()
}
