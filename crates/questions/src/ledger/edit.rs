//! A row added, marked done, or an edit taken back: the ledger and its list of edits as they are to be then.

use std::path::{Path, PathBuf};

use unladen_garage::{
    CarFile, Edit, Fault, Files, History, Ledger, LedgerFault, Limit, Located, Overrides, Sheet, Warning, parse_ledger,
    unlikely,
};

use crate::error::AskError;
use crate::read::project::{car_file, ledger_file, size};
use crate::write::ToWrite;

/// An edit of a car's ledger.
#[derive(Clone, Debug, PartialEq)]
pub struct Question {
    /// A car: its car.toml, or the folder that holds one; its ledger.csv is beside it.
    pub car: PathBuf,
    /// What is to be done.
    pub change: Change,
}

/// What is done to a ledger.
#[derive(Clone, Debug, PartialEq)]
pub enum Change {
    /// A row at its end, by its columns.
    Add(Vec<(&'static str, String)>),
    /// A row is done.
    Done {
        /// Which, by its item.
        item: String,
        /// Its line in the file, where several rows have that name.
        line: Option<usize>,
        /// When, days since 1970-01-01.
        day: Option<i64>,
    },
    /// A row that is done is planned again.
    NotDone {
        /// Which, by its item.
        item: String,
        /// Its line in the file, where several rows have that name.
        line: Option<usize>,
    },
    /// The last edit is taken back, to the byte.
    TakeBack,
}

/// An edit that is to be written.
#[derive(Clone, Debug)]
#[must_use = "an edit is to be written"]
pub struct Answer {
    /// The ledger.
    pub path: PathBuf,
    /// What was done, in words.
    pub what: String,
    /// What could not be done, and is no reason not to do the rest.
    pub remark: Option<String>,
    /// What is unlikely in the ledger then and was not before.
    pub warnings: Vec<Warning>,
    /// The ledger and its list of edits, in the order in which they are to be written: killed in between, the list ends
    /// with an edit that the ledger doesn't have, and the next one says so.
    pub writes: [ToWrite; 2],
}

impl Question {
    /// Edits it. A car's faults are no reason not to edit its ledger.
    ///
    /// # Errors
    /// [`AskError::Files`] where the ledger has faults, or no such row.
    pub fn answer(&self, files: &dyn Files) -> Result<Answer, AskError> {
        let path = ledger_file(files, &self.car);
        if self.change == Change::TakeBack {
            return take_back(files, path);
        }
        let car = files.car(&car_file(files, &self.car), &Overrides::none()).ok();
        let (ledger, _) = files.ledger(&path, car.as_ref().map(|c| c.shop.scales.as_slice()))?;
        let edit = match &self.change {
            Change::Add(cells) => unladen_garage::add(&ledger, cells)?,
            Change::Done { item, line, day } => unladen_garage::done(&ledger, item, *line, *day)?,
            Change::NotDone { item, line } => unladen_garage::not_done(&ledger, item, *line)?,
            Change::TakeBack => return take_back(files, path),
        };
        edited(files, path, &ledger, edit, car.as_ref())
    }
}

fn edited(
    files: &dyn Files,
    path: PathBuf,
    ledger: &Ledger,
    edit: Edit,
    car: Option<&CarFile>,
) -> Result<Answer, AskError> {
    let (list, history) = history(files, &path)?;
    let history = history.with(&ledger.sheet, &edit);
    let warnings = car.map(|car| new_slips(files, &path, ledger, &edit, car)).unwrap_or_default();
    let list = ToWrite { bytes: history.text().into_bytes(), ..list };
    let after = ToWrite { path: path.clone(), read: Some(ledger.sheet.bytes()), bytes: edit.bytes };
    Ok(Answer { path, what: edit.what, remark: edit.remark, warnings, writes: [list, after] })
}

/// Only what is new: the rest has been said.
fn new_slips(files: &dyn Files, path: &Path, ledger: &Ledger, edit: &Edit, car: &CarFile) -> Vec<Warning> {
    let areas = files.areas(path.parent().unwrap_or(Path::new(""))).ok();
    let sheet = Sheet::parse(&path.display().to_string(), &edit.bytes).ok();
    let after = areas.zip(sheet).and_then(|(areas, sheet)| parse_ledger(sheet, areas.as_ref(), None).ok());
    let Some(after) = after else { return Vec::new() };
    let old: Vec<String> = unlikely(ledger, size(car)).iter().map(|w| w.what.to_string()).collect();
    unlikely(&after, size(car)).into_iter().filter(|w| !old.contains(&w.what.to_string())).collect()
}

fn take_back(files: &dyn Files, path: PathBuf) -> Result<Answer, AskError> {
    let sheet = files.sheet(&path).map_err(|f| AskError::one(*f))?;
    let (list, history) = history(files, &path)?;
    let (bytes, what, rest) = history.back(&sheet).map_err(fault)?;
    let before = ToWrite { path: path.clone(), read: Some(sheet.bytes()), bytes };
    let list = ToWrite { bytes: rest.text().into_bytes(), ..list };
    let what = format!("took back: {what}");
    Ok(Answer { path, what, remark: None, warnings: Vec::new(), writes: [before, list] })
}

/// The list of edits beside a ledger as it is, not yet to be written, and as it is read.
fn history(files: &dyn Files, ledger: &Path) -> Result<(ToWrite, History), AskError> {
    let mut name = ledger.as_os_str().to_owned();
    name.push(".undo");
    let path = PathBuf::from(name);
    if !files.exists(&path) {
        return Ok((ToWrite { path, read: None, bytes: Vec::new() }, History::default()));
    }
    let bytes = files.bytes(&path, Limit::SHEET).map_err(|problem| {
        let path = path.display().to_string();
        AskError::one(Located { what: Fault::File { path, problem }, place: None })
    })?;
    // People don't write it: what is wrong with it its own reader says.
    let history = History::parse(&String::from_utf8_lossy(&bytes)).map_err(fault)?;
    Ok((ToWrite { path, read: Some(bytes), bytes: Vec::new() }, history))
}

fn fault(what: LedgerFault) -> AskError {
    AskError::one(Located { what: Fault::Ledger(what), place: None })
}
