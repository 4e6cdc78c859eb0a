//! Edits of a ledger: the fewest characters that say it, in the file's own dialect. Pure: what comes out is the new
//! file and the one stretch of text that changed, from which the edit can be taken back.

use std::ops::Range;

use unladen_vehicle::entry::{Entry, State};

use crate::csv_file::dialect::Sheet;
use crate::fault::finding::{Explain, FileErrors, Located};
use crate::fault::ledger_fault::LedgerFault;
use crate::fault::{Fault, Wrong};
use crate::keys::ledger::{LEDGER, index};
use crate::ledger::{Ledger, STATES, parse_ledger};
use crate::measured::{self, digits};
use crate::plain::to_cell;
use crate::unit::Dimension;
use crate::unit::date;
use crate::unit::near;

/// A file after an edit.
#[derive(Clone, Debug, PartialEq)]
pub struct Edit {
    /// What was done, in words.
    pub what: String,
    /// The whole file.
    pub bytes: Vec<u8>,
    /// The stretch that changed.
    pub patch: Patch,
    /// What could not be written, and is no reason not to do the rest.
    pub remark: Option<String>,
}

/// A stretch of a file's text and what stands there instead; bytes of the text without a byte-order mark.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Patch {
    /// Where it starts, before and after.
    pub at: usize,
    /// What stood there.
    pub old: String,
    /// What stands there now.
    pub new: String,
}

/// Marks a row done, on a day.
///
/// # Errors
/// Where there is no such row or more than one, it is done already, excludes one that is done or needs one that is not.
pub fn done(ledger: &Ledger, item: &str, line: Option<usize>, day: Option<i64>) -> Result<Edit, FileErrors> {
    let i = find(ledger, item, line)?;
    let entries = &ledger.entries;
    let fail = |fault| Err(refused(ledger, Some(i), fault));
    let name = |i: usize| entries[i].item.clone();
    let is_done = |e: &Entry| e.state == State::Done;
    if is_done(&entries[i]) {
        return fail(LedgerFault::AlreadyThere { item: name(i), state: "done" });
    }
    let clash = (0..entries.len())
        .find(|&j| is_done(&entries[j]) && (entries[i].excludes.contains(&j) || entries[j].excludes.contains(&i)));
    if let Some(j) = clash {
        return fail(LedgerFault::Excluded { item: name(i), other: name(j) });
    }
    // Of two that can't be without each other one is done first.
    let met = |&j: &usize| is_done(&entries[j]) || entries[j].needs.iter().any(|need| need.contains(&i));
    if let Some(need) = entries[i].needs.iter().find(|need| !need.iter().any(met)) {
        let names: Vec<String> = need.iter().map(|&j| name(j)).collect();
        return fail(LedgerFault::Unmet { item: name(i), other: names.join(" or ") });
    }
    let mut cells = vec![("state", word(ledger, i, "done"))];
    let mut remark = None;
    if let Some(day) = day {
        if ledger.header.at[index(LEDGER, "date")].is_some() {
            cells.push(("date", date::written(day)));
        } else {
            remark = Some("the ledger has no `date` column, so the day is not noted".into());
        }
    }
    let edit = write(ledger, i, &cells, format!("done {}", name(i)))?;
    Ok(Edit { remark, ..edit })
}

/// Marks a row that is done planned again.
///
/// # Errors
/// Where there is no such row or more than one, or it is not done.
pub fn not_done(ledger: &Ledger, item: &str, line: Option<usize>) -> Result<Edit, FileErrors> {
    let i = find(ledger, item, line)?;
    let entry = &ledger.entries[i];
    if entry.state != State::Done {
        let fault = LedgerFault::AlreadyThere { item: entry.item.clone(), state: entry.state.word() };
        return Err(refused(ledger, Some(i), fault));
    }
    let mut cells = vec![("state", word(ledger, i, "planned"))];
    if entry.day.is_some() {
        cells.push(("date", String::new()));
    }
    write(ledger, i, &cells, format!("undo {}", entry.item))
}

/// Adds a row at the end: columns and what was typed for them, with units or in the column's own.
///
/// # Errors
/// Where the name is taken, a column is missing from the file, or the row would have a fault.
pub fn add(ledger: &Ledger, cells: &[(&'static str, String)]) -> Result<Edit, FileErrors> {
    let sheet = &ledger.sheet;
    let item = cells.iter().find(|(c, _)| *c == "item").map(|(_, v)| v.trim().to_owned()).unwrap_or_default();
    if item.is_empty() {
        return Err(refused(ledger, None, LedgerFault::EmptyCell { column: "item" }));
    }
    if let Some(i) = ledger.entries.iter().position(|e| e.item.eq_ignore_ascii_case(&item)) {
        return Err(refused(ledger, Some(i), LedgerFault::ItemTwice { line: ledger.line(i), item }));
    }
    let mut row = vec![String::new(); ledger.header.fields];
    for (column, given) in cells {
        let Some(field) = ledger.header.at[index(LEDGER, column)] else {
            return Err(refused(ledger, None, LedgerFault::NoColumn { name: column }));
        };
        let text = typed(sheet, column, given).map_err(|wrong| {
            let fault = Fault::Cell { column, wrong };
            FileErrors { faults: vec![Located { what: fault, place: None }], more: 0 }
        })?;
        row[field] = quoted(sheet, ledger.header.record, &text);
    }
    let line: String = row.join(&sheet.delimiter.to_string());
    let last = sheet.filled().last().unwrap_or(ledger.header.record);
    let end = sheet.records[last].span.end;
    let new = format!("{}{line}", sheet.line_end());
    let patch = Patch { at: end, old: String::new(), new };
    finish(ledger, patch, format!("add {item}"), 1)
}

/// A value as the file writes it: numbers in the column's unit with the file's decimal sign.
fn typed(sheet: &Sheet, column: &'static str, given: &str) -> Result<String, Wrong> {
    let Some(span) = LEDGER[index(LEDGER, column)].span else {
        // What a spreadsheet would take for a formula is a text.
        return Ok(to_cell(given.trim()).into_owned());
    };
    let unit = span.unit();
    let number = match measured::parse(given, unit.dimension, span.unit) {
        Ok((m, _)) => unit.from_si(m.value),
        // A bare number is in the unit that the column's name says.
        Err((_, Wrong::UnitMissing { .. })) => match measured::parse(given, Dimension::Pure, "") {
            Ok((m, _)) => m.value,
            Err((_, wrong)) => return Err(wrong),
        },
        Err((_, wrong)) => return Err(wrong),
    };
    let text = digits(number);
    Ok(if sheet.decimal_comma { text.replace('.', ",") } else { text })
}

/// In quotes where it must be, or where the file's own header is.
fn quoted(sheet: &Sheet, header: usize, text: &str) -> String {
    let all = sheet.records[header].fields.iter().all(|f| sheet.source.text[f.clone()].trim().starts_with('"'));
    let must = text.contains([sheet.delimiter, '"', '\n', '\r']) || text.starts_with('#');
    if must || all && !text.is_empty() { format!("\"{}\"", text.replace('"', "\"\"")) } else { text.to_owned() }
}

/// `done` as this file writes it: Done where it says Planned.
fn word(ledger: &Ledger, i: usize, word: &str) -> String {
    let written = ledger.cells(i).text(index(LEDGER, "state")).unwrap_or_default();
    match written.chars().next() {
        Some(c) if c.is_uppercase() && STATES.contains(&written.to_lowercase().as_str()) => {
            word[..1].to_uppercase() + &word[1..]
        }
        _ => word.to_owned(),
    }
}

/// The one row of this name, in this line where it is given.
///
/// # Errors
/// Where there is no such row, or more than one.
pub fn find(ledger: &Ledger, item: &str, line: Option<usize>) -> Result<usize, FileErrors> {
    let wanted = item.trim().to_lowercase();
    let found: Vec<usize> = (0..ledger.entries.len())
        .filter(|&i| ledger.entries[i].item.to_lowercase() == wanted && line.is_none_or(|l| ledger.line(i) == l))
        .collect();
    match found[..] {
        [one] => Ok(one),
        [] => {
            let names = || ledger.entries.iter().map(|e| e.item.as_str());
            let (meant, known) = (near::nearest(item, names()).map(Into::into), near::listed(names()));
            Err(refused(ledger, None, LedgerFault::NoSuchItem { given: item.into(), meant, known }))
        }
        _ => {
            let lines: Vec<String> = found.iter().map(|&i| ledger.line(i).to_string()).collect();
            let fault = LedgerFault::SeveralRows { given: item.into(), count: found.len(), lines: lines.join(", ") };
            Err(refused(ledger, Some(found[0]), fault))
        }
    }
}

fn refused(ledger: &Ledger, entry: Option<usize>, fault: LedgerFault) -> FileErrors {
    let place = entry.map(|i| ledger.place(i));
    FileErrors { faults: vec![Located { what: Fault::Ledger(fault), place }], more: 0 }
}

/// Puts values into cells of one row, spaces and quotes round them as they are.
fn write(ledger: &Ledger, i: usize, cells: &[(&'static str, String)], what: String) -> Result<Edit, FileErrors> {
    let sheet = &ledger.sheet;
    let record = &sheet.records[ledger.records[i]];
    let mut edits: Vec<(Range<usize>, String)> = Vec::new();
    for (column, value) in cells {
        let Some(at) = ledger.header.at[index(LEDGER, column)] else {
            return Err(refused(ledger, None, LedgerFault::NoColumn { name: column }));
        };
        match record.fields.get(at) {
            Some(field) => {
                let raw = &sheet.source.text[field.clone()];
                let (bare, quotes) = (raw.trim(), raw.trim().starts_with('"'));
                let start = field.start + if bare.is_empty() { 0 } else { raw.find(bare).unwrap_or(0) };
                let text = if quotes {
                    format!("\"{}\"", value.replace('"', "\"\""))
                } else {
                    quoted(sheet, ledger.header.record, value)
                };
                edits.push((start..start + bare.len(), text));
            }
            // A row that ends before this column is filled up with empty fields.
            None => {
                let missing = sheet.delimiter.to_string().repeat(at + 1 - record.fields.len());
                edits.push((record.span.end..record.span.end, missing + &quoted(sheet, ledger.header.record, value)));
            }
        }
    }
    edits.sort_by_key(|e| e.0.start);
    let (start, end) = match (edits.first(), edits.last()) {
        (Some(first), Some(last)) => (first.0.start, last.0.end),
        _ => (record.span.start, record.span.start),
    };
    let mut new = String::new();
    let mut at = start;
    for (range, text) in edits {
        new += &sheet.source.text[at..range.start];
        new += &text;
        at = range.end;
    }
    let patch = Patch { at: start, old: sheet.source.text[start..end].to_owned(), new };
    finish(ledger, patch, what, 0)
}

/// The new file, read again: an edit that breaks the ledger is none.
fn finish(ledger: &Ledger, patch: Patch, what: String, more: usize) -> Result<Edit, FileErrors> {
    let sheet = &ledger.sheet;
    let text = &sheet.source.text;
    let new = format!("{}{}{}", &text[..patch.at], patch.new, &text[patch.at + patch.old.len()..]);
    let bytes = sheet.encoding.encode(&new).map_err(|letter| refused(ledger, None, LedgerFault::Letter { letter }))?;
    let broken = |why: String| refused(ledger, None, LedgerFault::WouldBreak { why });
    let again = Sheet::parse(&sheet.source.name, &bytes).map_err(|f| broken(f.to_string()))?;
    let why = |errors: FileErrors| {
        // A name that is none: which there are.
        let names = errors.faults.first().and_then(|fault| fault.what.hint());
        let names = names.filter(|hint| hint.starts_with("did you mean") || hint.starts_with("there are"));
        let hint = names.map_or_else(String::new, |hint| format!("; {hint}"));
        broken(format!("{errors}{hint}"))
    };
    let read = parse_ledger(again, ledger.areas.as_ref(), ledger.scales.as_deref()).map_err(why)?;
    if read.entries.len() != ledger.entries.len() + more {
        return Err(broken("its rows would not be the same".into()));
    }
    Ok(Edit { what, bytes, patch, remark: None })
}
