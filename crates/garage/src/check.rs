//! Checks any of the files, whichever kind it is.

use std::path::{Path, PathBuf};

use crate::car::CarFile;
use crate::fault::finding::{Faults, FileErrors, Warning};
use crate::fault::source::Source;
use crate::io::{Disk, Files};
use crate::keys::Table;
use crate::keys::car::CAR;
use crate::keys::track::TRACK;
use crate::ledger::Ledger;
use crate::ledger::areas::parse_areas;
use crate::ledger::unlikely::{Size, unlikely};
use crate::readings::{ReadingsFile, parse_readings};
use crate::toml_file::set::Overrides;
use crate::toml_file::tree::{self, Item};
use crate::track::TrackFile;
use crate::track::segments;

/// A file without faults.
#[derive(Debug)]
pub enum Checked {
    /// A car.
    Car(Box<CarFile>),
    /// A track, with its segments.
    Track(Box<TrackFile>),
    /// A track's segments alone; how many.
    Segments(usize),
    /// A ledger, and the likely mistakes in it.
    Ledger(Box<Ledger>, Vec<Warning>),
    /// Areas; how many.
    Areas(usize),
    /// Scale readings.
    Readings(Box<ReadingsFile>),
    /// Nothing but comments.
    Blank,
    /// Nobody's to edit: a schema, a list of edits.
    Ours,
}

impl Checked {
    /// What it is, as in a sentence.
    pub fn kind(&self) -> &'static str {
        match self {
            Checked::Car(_) => "a car",
            Checked::Track(_) => "a track",
            Checked::Segments(_) => "a track's segments",
            Checked::Ledger(..) => "a ledger",
            Checked::Areas(_) => "a car's areas",
            Checked::Readings(_) => "scale readings",
            Checked::Blank => "a file without anything in it",
            Checked::Ours => "a file of unladen's own",
        }
    }

    /// What is unlikely in it.
    pub fn warnings(&self) -> &[Warning] {
        match self {
            Checked::Car(car) => &car.warnings,
            Checked::Track(track) => &track.warnings,
            Checked::Ledger(_, warnings) => warnings,
            Checked::Segments(_) | Checked::Areas(_) | Checked::Readings(_) | Checked::Blank | Checked::Ours => &[],
        }
    }
}

/// Checks each file; its kind follows from what it says (`.csv`: a track's segments).
pub fn check<P: AsRef<Path>>(paths: impl IntoIterator<Item = P>) -> Vec<(PathBuf, Result<Checked, FileErrors>)> {
    paths.into_iter().map(|path| (path.as_ref().to_owned(), check_one(&Disk, path.as_ref()))).collect()
}

/// Checks one file, wherever it is held.
///
/// # Errors
/// Every fault of it.
pub fn check_one(files: &dyn Files, path: &Path) -> Result<Checked, FileErrors> {
    let ends = |end: &str| path.extension().is_some_and(|e| e.eq_ignore_ascii_case(end));
    if files.is_file(path) && ["json", "undo", "lock"].into_iter().any(ends) {
        return Ok(Checked::Ours);
    }
    let csv = ends("csv");
    if csv && let Some(found) = table(files, path) {
        return found;
    }
    if csv {
        let source = files.segments(path).map_err(|f| FileErrors::unread(*f))?;
        let mut faults = Faults::default();
        let rows = segments::read(&source, &mut faults);
        return faults.result().map(|()| Checked::Segments(rows.segments.len()));
    }
    let source = files.text(path).map_err(|f| FileErrors::unread(*f))?;
    if is_blank(&source) {
        return Ok(Checked::Blank);
    }
    if is_readings(&source) {
        return parse_readings(&source).map(|r| Checked::Readings(Box::new(r)));
    }
    if is_track(&source) {
        return files.track(path, &Overrides::none(), None).map(|t| Checked::Track(Box::new(t)));
    }
    files.car(path, &Overrides::none()).map(|c| Checked::Car(Box::new(c)))
}

/// A ledger or areas, by the header; a ledger with the areas and the car beside it, as far as these can be read.
fn table(files: &dyn Files, path: &Path) -> Option<Result<Checked, FileErrors>> {
    let sheet = files.sheet(path).ok()?;
    let header = sheet.filled().next()?;
    let has = |name: &str| sheet.records[header].fields.iter().any(|f| sheet.value(f) == name);
    if has("item") || has("mass_before_kg") || has("mass_after_kg") {
        let car = files.car(&path.with_file_name("car.toml"), &Overrides::none()).ok();
        let scales = car.as_ref().map(|c| c.shop.scales.as_slice());
        return Some(files.ledger(path, scales).map(|(ledger, _)| {
            let chassis = car.as_ref().map(|c| &c.car.chassis);
            let size = Size {
                wheelbase: chassis.map_or(2.6, |c| c.l),
                track: chassis.map_or(1.5, |c| c.t_f.max(c.t_r)),
                mass: car.as_ref().map_or(1200.0, |c| c.loads.weighed.m),
            };
            let warnings = unlikely(&ledger, size);
            Checked::Ledger(Box::new(ledger), warnings)
        }));
    }
    (has("area") && !has("length_m")).then(|| parse_areas(&sheet).map(|a| Checked::Areas(a.0.len())))
}

/// Whether it holds comments only, as a file that waits to be filled in.
fn is_blank(source: &std::sync::Arc<Source>) -> bool {
    let mut faults = Faults::default();
    let root = tree::document(source, &mut faults);
    faults.is_empty() && matches!(&root.item, Item::Table(entries) if entries.is_empty())
}

/// Whether it holds readings: a list that no other file has, or dimensions under their names.
fn is_readings(source: &std::sync::Arc<Source>) -> bool {
    let root = tree::document(source, &mut Faults::default());
    // A car has an [aboard] too.
    root.at("mass").is_none() && ["level", "lift", "aboard"].iter().any(|name| root.at(name).is_some())
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
