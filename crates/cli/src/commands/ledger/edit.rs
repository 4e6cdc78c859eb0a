//! `unladen ledger add`, `done` and `undo`: the list of edits is written first, then the ledger, each whole or not at all.

use std::path::{Path, PathBuf};
use std::process::ExitCode;

use unladen_garage::{
    CarFile, Edit, Fault, FileErrors, History, Ledger, LedgerFault, Limit, Located, Overrides, read_bytes, read_car,
    read_ledger, read_sheet, slips,
};
use unladen_report::files::lock::Lock;
use unladen_report::files::write::replace_whole;

use crate::error::CliError;
use crate::inputs::car_file;
use crate::output::{note, say, waiting, warn};
use crate::standing::{ledger_file, size};

/// `unladen ledger add`.
#[derive(Debug, clap::Args)]
pub struct AddArgs {
    /// A car: its car.toml, or the folder that holds one
    pub car: PathBuf,
    /// What comes off, goes on, is swapped or moved
    pub item: String,
    /// done, planned or idea
    #[arg(long, default_value = "planned")]
    pub state: String,
    /// A word of areas.csv
    #[arg(long)]
    pub area: Option<String>,
    /// What comes off: "12.4 kg", "27 lb"; a bare number is in kg
    #[arg(long, value_name = "MASS")]
    pub before: Option<String>,
    /// Its centre behind the front axle, right of the middle, above ground; mm
    #[arg(long, value_name = "X,Y,Z", allow_hyphen_values = true)]
    pub before_at: Option<String>,
    /// What goes on
    #[arg(long, value_name = "MASS")]
    pub after: Option<String>,
    /// Its centre
    #[arg(long, value_name = "X,Y,Z", allow_hyphen_values = true)]
    pub after_at: Option<String>,
    /// One standard deviation of the mass
    #[arg(long, value_name = "MASS")]
    pub sd: Option<String>,
    /// weighed, quoted or guessed
    #[arg(long)]
    pub source: Option<String>,
    /// The scale, as in car.toml's `[scales]`
    #[arg(long)]
    pub scale: Option<String>,
    /// Money
    #[arg(long)]
    pub cost: Option<String>,
    /// Hours of work
    #[arg(long)]
    pub hours: Option<String>,
    /// When it was done, 2026-03-14
    #[arg(long)]
    pub date: Option<String>,
    /// Rows that happen together share this word
    #[arg(long)]
    pub group: Option<String>,
    /// Items that can't be in the car with it
    #[arg(long, value_name = "ITEM")]
    pub excludes: Vec<String>,
    /// Items that it can't be without
    #[arg(long, value_name = "ITEM")]
    pub needs: Vec<String>,
    /// Anything else
    #[arg(long)]
    pub note: Option<String>,
}

/// `unladen ledger done`.
#[derive(Debug, clap::Args)]
pub struct DoneArgs {
    /// A car: its car.toml, or the folder that holds one
    pub car: PathBuf,
    /// The row, by its item
    pub item: String,
    /// When, 2026-03-14
    #[arg(long)]
    pub date: Option<String>,
    /// Its line in the file, where several rows have that name
    #[arg(long)]
    pub line: Option<usize>,
}

/// `unladen ledger undo`.
#[derive(Debug, clap::Args)]
pub struct UndoArgs {
    /// A car: its car.toml, or the folder that holds one
    pub car: PathBuf,
    /// A row that is done and shall be planned again; without it the last edit is taken back
    pub item: Option<String>,
    /// Its line in the file, where several rows have that name
    #[arg(long)]
    pub line: Option<usize>,
}

/// Adds a row.
pub fn add(args: &AddArgs) -> Result<ExitCode, CliError> {
    let _lock = lock(&args.car)?;
    let (ledger, car) = read(&args.car)?;
    let mut cells: Vec<(&'static str, String)> = vec![("item", args.item.clone()), ("state", args.state.clone())];
    let mut put = |column: &'static str, value: &Option<String>| {
        if let Some(value) = value {
            cells.push((column, value.clone()));
        }
    };
    put("area", &args.area);
    put("mass_before_kg", &args.before);
    put("mass_after_kg", &args.after);
    put("mass_sd_kg", &args.sd);
    put("source", &args.source);
    put("scale", &args.scale);
    put("cost", &args.cost);
    put("hours", &args.hours);
    put("date", &args.date);
    put("group", &args.group);
    put("note", &args.note);
    for (column, list) in [("excludes", &args.excludes), ("needs", &args.needs)] {
        put(column, &(!list.is_empty()).then(|| list.join(" | ")));
    }
    for (columns, at) in [
        (["x_before_mm", "y_before_mm", "z_before_mm"], &args.before_at),
        (["x_after_mm", "y_after_mm", "z_after_mm"], &args.after_at),
    ] {
        let Some(at) = at else { continue };
        let parts: Vec<&str> = at.split(',').collect();
        if parts.len() != 3 {
            return Err(CliError::Position { given: at.clone() });
        }
        for (column, part) in columns.into_iter().zip(parts) {
            cells.push((column, part.trim().to_owned()));
        }
    }
    let edit = unladen_garage::add(&ledger, &cells).map_err(|e| CliError::Files(vec![e]))?;
    keep(&args.car, &ledger, &edit, car.as_ref())
}

/// Marks a row done.
pub fn done(args: &DoneArgs) -> Result<ExitCode, CliError> {
    let day = match &args.date {
        None => None,
        Some(given) => match unladen_garage::day(given) {
            Some(day) => Some(day),
            None => return Err(fault(LedgerFault::NotADate { given: given.clone() })),
        },
    };
    let _lock = lock(&args.car)?;
    let (ledger, car) = read(&args.car)?;
    let edit = unladen_garage::done(&ledger, &args.item, args.line, day).map_err(|e| CliError::Files(vec![e]))?;
    keep(&args.car, &ledger, &edit, car.as_ref())
}

/// Takes back.
pub fn undo(args: &UndoArgs) -> Result<ExitCode, CliError> {
    let _lock = lock(&args.car)?;
    if let Some(item) = &args.item {
        let (ledger, car) = read(&args.car)?;
        let edit = unladen_garage::not_done(&ledger, item, args.line).map_err(|e| CliError::Files(vec![e]))?;
        return keep(&args.car, &ledger, &edit, car.as_ref());
    }
    let path = ledger_file(&args.car);
    let sheet = read_sheet(&path).map_err(|f| CliError::one(*f))?;
    let (list, history) = history(&path)?;
    let (bytes, what, rest) = history.back(&sheet).map_err(fault)?;
    // The ledger first: killed in between, the list ends with an edit that the file doesn't have, and the next one sees that.
    replace_whole(&path, Some(&sheet.bytes()), &bytes)?;
    replace_whole(&list_file(&path), list.as_deref(), rest.text().as_bytes())?;
    say(&format!("{}: took back: {what}\n", path.display()))?;
    Ok(ExitCode::SUCCESS)
}

fn fault(what: LedgerFault) -> CliError {
    let finding = Located { what: Fault::Ledger(what), place: None };
    CliError::Files(vec![FileErrors { faults: vec![finding], more: 0 }])
}

/// The ledger; and the car, whose faults are no reason not to edit its ledger.
fn read(car: &Path) -> Result<(Ledger, Option<CarFile>), CliError> {
    let file = read_car(car_file(car), &Overrides::none()).ok();
    let scales = file.as_ref().map(|c| c.shop.scales.as_slice());
    let (ledger, _) = read_ledger(&ledger_file(car), scales).map_err(|e| CliError::Files(vec![e]))?;
    Ok((ledger, file))
}

/// From reading to replacing nobody else edits it.
fn lock(car: &Path) -> Result<Lock, CliError> {
    let path = ledger_file(car);
    Ok(Lock::of(&path, || waiting(&path))?)
}

/// The list of edits beside a ledger.
fn list_file(ledger: &Path) -> PathBuf {
    let mut name = ledger.as_os_str().to_owned();
    name.push(".undo");
    name.into()
}

/// The list as it stands on the disk, and as it is read.
fn history(ledger: &Path) -> Result<(Option<Vec<u8>>, History), CliError> {
    let path = list_file(ledger);
    if !path.exists() {
        return Ok((None, History::default()));
    }
    let bytes = read_bytes(&path, Limit::SHEET).map_err(|f| CliError::one(*f))?;
    let history = History::parse(&String::from_utf8_lossy(&bytes)).map_err(fault)?;
    Ok((Some(bytes), history))
}

/// Writes the list, then the ledger, and says what was done and what may be a mistake.
fn keep(car: &Path, ledger: &Ledger, edit: &Edit, file: Option<&CarFile>) -> Result<ExitCode, CliError> {
    let path = ledger_file(car);
    let (list, history) = history(&path)?;
    let history = history.with(&ledger.sheet, edit);
    replace_whole(&list_file(&path), list.as_deref(), history.text().as_bytes())?;
    replace_whole(&path, Some(&ledger.sheet.bytes()), &edit.bytes)?;
    if let Some(remark) = &edit.remark {
        note(&format!("note: {remark}\n"));
    }
    if let Some(file) = file
        && let Ok((after, _)) = read_ledger(&path, None)
    {
        // Only what is new: the rest has been said.
        let old: Vec<String> = slips(ledger, size(file)).iter().map(|w| w.what.to_string()).collect();
        let new: Vec<_> =
            slips(&after, size(file)).into_iter().filter(|w| !old.contains(&w.what.to_string())).collect();
        warn(&new);
    }
    say(&format!("{}: {}\n", path.display(), edit.what))?;
    Ok(ExitCode::SUCCESS)
}
