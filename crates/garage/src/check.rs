//! Checks any of the files, whichever kind it is.

use std::path::{Path, PathBuf};

use crate::car::CarFile;
use crate::car_keys::CAR;
use crate::finding::{Faults, FileErrors, Warning};
use crate::io::{read_car, read_text, read_track};
use crate::keys::Table;
use crate::segments;
use crate::set::Overrides;
use crate::source::Source;
use crate::track::TrackFile;
use crate::track_keys::TRACK;
use crate::tree::{self, Item};

/// A file without faults.
#[derive(Debug)]
pub enum Checked {
    /// A car.
    Car(Box<CarFile>),
    /// A track, with its segments.
    Track(Box<TrackFile>),
    /// A track's segments alone; how many.
    Segments(usize),
}

impl Checked {
    /// What is unlikely in it.
    pub fn warnings(&self) -> &[Warning] {
        match self {
            Checked::Car(car) => &car.warnings,
            Checked::Track(track) => &track.warnings,
            Checked::Segments(_) => &[],
        }
    }
}

/// Checks each file; its kind follows from what it says (`.csv`: a track's segments).
pub fn check<P: AsRef<Path>>(paths: impl IntoIterator<Item = P>) -> Vec<(PathBuf, Result<Checked, FileErrors>)> {
    paths.into_iter().map(|path| (path.as_ref().to_owned(), one(path.as_ref()))).collect()
}

fn one(path: &Path) -> Result<Checked, FileErrors> {
    let source = read_text(path).map_err(|f| FileErrors::unread(*f))?;
    if path.extension().is_some_and(|e| e.eq_ignore_ascii_case("csv")) {
        let mut faults = Faults::default();
        let rows = segments::read(&source, &mut faults);
        return faults.result().map(|()| Checked::Segments(rows.segments.len()));
    }
    if is_track(&source) {
        return read_track(path, &Overrides::none(), None).map(|t| Checked::Track(Box::new(t)));
    }
    read_car(path, &Overrides::none()).map(|c| Checked::Car(Box::new(c)))
}

/// Whether more of its names are a track's than a car's.
fn is_track(source: &std::sync::Arc<Source>) -> bool {
    let root = tree::document(source, &mut Faults::default());
    let Item::Table(entries) = &root.item else { return false };
    let known = |table: Table| entries.iter().filter(|e| table.names("").contains(&e.name.as_str())).count();
    known(TRACK) > known(CAR)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn property_the_kind_follows_from_the_keys() {
        let track = |text: &str| is_track(&Source::new("x.toml", text));
        assert!(track("schema = 1\nname = \"x\"\nclosed = true\n"));
        assert!(!track("schema = 1\nname = \"x\"\n[mass]\ntotal = \"5 kg\"\n"));
        assert!(!track(""));
    }

    #[test]
    fn bad_input_no_such_file_and_a_directory() {
        let found = check(["no/such.toml", "."]);
        let messages: Vec<String> = found.iter().map(|f| f.1.as_ref().unwrap_err().to_string()).collect();
        assert_eq!(messages, ["no/such.toml: no such file", ".: a directory, not a file"]);
    }
}
