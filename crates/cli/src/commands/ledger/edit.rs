//! `unladen ledger add`, `done` and `undo`: the ledger and the list of its edits, each written whole or not at all.

use std::path::{Path, PathBuf};
use std::process::ExitCode;

use unladen_garage::{Fault, LedgerFault, Located, argument};
use unladen_questions::ledger::edit::{Change, Question};
use unladen_questions::read::project::ledger_file;
use unladen_report::files::lock::Lock;
use unladen_report::files::write::replace_whole;

use crate::disk::DISK;
use crate::error::{CliError, Usage};
use crate::output::{note, say, waiting, warn};

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
    /// Of a part that turns, how far its mass is from its axis, in the mean (its radius of gyration): "240 mm"; a bare
    /// number is in mm. What it adds or takes is that squared times the change of mass
    #[arg(long, value_name = "RADIUS", conflicts_with = "turning_inertia")]
    pub turning_radius: Option<String>,
    /// Or the change of inertia itself, negative where it falls: "-0.25 kg m2"
    #[arg(long, value_name = "INERTIA", allow_hyphen_values = true)]
    pub turning_inertia: Option<String>,
    /// What it turns with: wheels, shaft (a propshaft) or engine [left out: wheels]
    #[arg(long, value_name = "WHAT")]
    pub turns_with: Option<String>,
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
    put("rotating_inertia_kgm2", &turning(args)?);
    put("turns_with", &args.turns_with);
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
            return Err(Usage::Position { given: at.clone(), why: format!("{} of them", parts.len()) }.into());
        }
        for (column, part) in columns.into_iter().zip(parts) {
            cells.push((column, part.trim().to_owned()));
        }
    }
    edit(&args.car, Change::Add(cells))
}

/// The change of inertia of what turns, kg m²: as typed, or k² times the change of mass at a radius of gyration k.
fn turning(args: &AddArgs) -> Result<Option<String>, CliError> {
    let Some(radius) = &args.turning_radius else {
        return match (&args.turning_inertia, &args.turns_with) {
            (None, Some(_)) => Err(Usage::NothingTurns.into()),
            (inertia, _) => Ok(inertia.clone()),
        };
    };
    let number = |option: &'static str, text: &str, span| {
        argument::argument(text, span).map_err(|why| Usage::Number { option, given: text.to_owned(), why })
    };
    let mass =
        |option, text: &Option<String>| text.as_ref().map_or(Ok(0.0), |text| number(option, text, argument::MASS));
    let k = number("--turning-radius", radius, argument::TURNING)?;
    let inertia = k * k * (mass("--after", &args.after)? - mass("--before", &args.before)?);
    Ok(Some(format!("{:.6} kg m2", inertia)))
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
    edit(&args.car, Change::Done { item: args.item.clone(), line: args.line, day })
}

/// Takes back.
pub fn undo(args: &UndoArgs) -> Result<ExitCode, CliError> {
    edit(
        &args.car,
        match &args.item {
            Some(item) => Change::NotDone { item: item.clone(), line: args.line },
            None => Change::TakeBack,
        },
    )
}

/// Writes what an edit makes of the ledger and of its list of edits, and says what was done and what may be a mistake.
fn edit(car: &Path, change: Change) -> Result<ExitCode, CliError> {
    let path = ledger_file(&DISK, car);
    // From reading to replacing nobody else edits it.
    let _lock = Lock::of(&path, || waiting(&path))?;
    let answer = Question { car: car.to_owned(), change }.answer(&DISK)?;
    for write in &answer.writes {
        replace_whole(&write.path, write.read.as_deref(), &write.bytes)?;
    }
    if let Some(remark) = &answer.remark {
        note(&format!("note: {remark}\n"));
    }
    warn(&answer.warnings);
    say(&format!("{}: {}\n", answer.path.display(), answer.what))?;
    Ok(ExitCode::SUCCESS)
}

fn fault(what: LedgerFault) -> CliError {
    CliError::one(Located { what: Fault::Ledger(what), place: None })
}
