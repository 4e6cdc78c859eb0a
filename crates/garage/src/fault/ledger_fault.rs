//! What can be wrong in a ledger, its areas, and an edit of it.

use thiserror::Error;

/// What is wrong.
#[derive(Clone, Debug, PartialEq, Error)]
#[allow(missing_docs)]
pub enum LedgerFault {
    #[error("{column} is empty")]
    EmptyCell { column: &'static str },
    #[error("`{given}` is no {column}: {}", words.join(", "))]
    NotAWord { column: &'static str, given: String, words: &'static [&'static str], meant: Option<&'static str> },
    #[error("{item}: no mass before and none after")]
    NoMass { item: String },
    #[error("{item}: {which} needs all of x, y and z, or none with an area that areas.csv places")]
    HalfAPosition { item: String, which: &'static str },
    #[error("{item}: no position {which}, and {why}")]
    NoPosition { item: String, which: &'static str, why: String },
    #[error("`{area}` is not in areas.csv")]
    UnknownArea { area: String, meant: Option<String>, known: String },
    #[error("area `{area}` twice")]
    AreaTwice { area: String },
    #[error("{column}: no item is called `{given}`")]
    UnknownItem { column: &'static str, given: String, meant: Option<String>, known: String },
    #[error("{item} {column} itself")]
    Itself { column: &'static str, item: String },
    #[error("{item} takes out the car's `{what}`, which it must have one of, and no open row puts one in")]
    OnlyOne { item: String, what: String },
    #[error("scale `{given}` is not in car.toml's [scales]")]
    UnknownScale { given: String, meant: Option<String>, known: String },
    #[error("`{given}` is no date")]
    NotADate { given: String },
    #[error("`{given}`: is that a decimal sign or a thousands separator?")]
    Ambiguous { given: String, comma_file: bool },
    #[error("no rows")]
    NoRows,
    #[error("no item is called `{given}`")]
    NoSuchItem { given: String, meant: Option<String>, known: String },
    #[error("{count} rows are called `{given}`, in lines {lines}")]
    SeveralRows { given: String, count: usize, lines: String },
    #[error("{item} is {state} already")]
    AlreadyThere { item: String, state: &'static str },
    #[error("{item} excludes {other}, which is done")]
    Excluded { item: String, other: String },
    #[error("{item} needs {other}, which is not done")]
    Unmet { item: String, other: String },
    #[error("{item} is in the ledger already, line {line}")]
    ItemTwice { item: String, line: usize },
    #[error("no column `{name}` to write it into")]
    NoColumn { name: &'static str },
    #[error("this file's letters have no `{letter}`")]
    Letter { letter: char },
    #[error("nothing to undo")]
    NothingToUndo,
    #[error("the ledger was changed by something else since `{what}`")]
    ChangedSince { what: String },
    #[error("the list of edits can't be read: {reason}")]
    UndoUnread { reason: String },
    #[error("the edit would break the ledger: {why}; nothing was written")]
    WouldBreak { why: String },
}

impl LedgerFault {
    pub(crate) fn label(&self) -> String {
        match self {
            LedgerFault::EmptyCell { .. } => "a value is due".into(),
            LedgerFault::NotAWord { words, .. } => format!("one of {}", words.join(", ")),
            LedgerFault::Ambiguous { comma_file: true, .. } => "this file writes decimal commas".into(),
            LedgerFault::Ambiguous { .. } => "this file writes decimal points".into(),
            LedgerFault::NotADate { .. } => "2026-03-14 is one".into(),
            _ => "here".into(),
        }
    }

    pub(crate) fn hint(&self) -> Option<String> {
        // The nearest, and what there is.
        let one_of = |name: &Option<String>, known: &str| match (name, known) {
            (None, "") => None,
            (None, known) => Some(format!("there are {known}")),
            (Some(name), "") => Some(format!("did you mean `{name}`?")),
            (Some(name), known) => Some(format!("did you mean `{name}`? There are {known}")),
        };
        match self {
            LedgerFault::NotAWord { meant: Some(word), .. } => Some(format!("did you mean `{word}`?")),
            LedgerFault::UnknownArea { meant, known, .. }
            | LedgerFault::UnknownItem { meant, known, .. }
            | LedgerFault::UnknownScale { meant, known, .. }
            | LedgerFault::NoSuchItem { meant, known, .. } => one_of(meant, known),
            LedgerFault::NoMass { .. } => Some("mass_before_kg is what comes off, mass_after_kg what goes on".into()),
            LedgerFault::NoPosition { .. } => Some("measure it, or name an area and place that in areas.csv".into()),
            LedgerFault::Ambiguous { given, .. } => {
                let bare: String = given.chars().filter(|c| *c != ',' && *c != '.').collect();
                Some(format!("write {bare} for thousands, or add a digit to make it a fraction: {given}0"))
            }
            LedgerFault::SeveralRows { .. } => Some("give the line as well: --line N".into()),
            LedgerFault::Excluded { .. } => {
                Some("`unladen ledger undo` it first, or mark the other row an idea".into())
            }
            LedgerFault::Unmet { .. } => Some("mark that one done first".into()),
            LedgerFault::ItemTwice { .. } => Some("give it a name of its own".into()),
            LedgerFault::NoColumn { name } => Some(format!("add `{name}` to the header and save")),
            LedgerFault::Letter { .. } => Some("save the file as UTF-8 (a spreadsheet: \"CSV UTF-8\") first".into()),
            LedgerFault::ChangedSince { .. } => {
                Some("put the row back by hand, or name the item: unladen ledger undo CAR ITEM".into())
            }
            LedgerFault::UndoUnread { .. } => {
                Some("remove the .undo file beside the ledger to go on without it".into())
            }
            _ => None,
        }
    }
}
