//! Courses: a track made of positions or logged laps, one looked over, and a log that is invented.

pub mod from;
pub mod log;
pub mod look;
mod notes;

use std::path::{Path, PathBuf};

use unladen_garage::log::Mapping;
use unladen_garage::{Fault, Files, Located};

use crate::error::AskError;

/// A log's bytes.
pub(crate) fn bytes(files: &dyn Files, path: &Path) -> Result<Vec<u8>, AskError> {
    files.bytes(path).map_err(|problem| {
        let path = path.display().to_string();
        AskError::one(Located { what: Fault::File { path, problem }, place: None })
    })
}

/// The file beside a log that says what its columns are.
pub fn mapping_file(log: &Path) -> PathBuf {
    let mut name = log.file_name().unwrap_or_default().to_os_string();
    name.push(".columns.toml");
    log.with_file_name(name)
}

/// What it says, and over that what was told.
pub(crate) fn mapping(files: &dyn Files, log: &Path, told: &Mapping) -> Result<Mapping, AskError> {
    let text = files.bytes(&mapping_file(log)).ok().and_then(|bytes| String::from_utf8(bytes).ok());
    let beside = text.map_or_else(|| Ok(Mapping::default()), |text| Mapping::parse(&text))?;
    Ok(beside.overridden_by(told))
}
