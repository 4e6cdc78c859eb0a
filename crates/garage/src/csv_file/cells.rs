//! A sheet read by a list of columns: which field is which, and the numbers and words in them, with every fault.

use std::ops::Range;

use crate::csv_file::dialect::Sheet;
use crate::fault::finding::Faults;
use crate::fault::ledger_fault::LedgerFault;
use crate::fault::{Fault, Wrong};
use crate::keys::Span;
use crate::keys::ledger::Column;
use crate::measured::{self, digits};
use crate::unit::near;

/// The columns of a sheet by their place in a list of known ones.
#[derive(Clone, Debug)]
pub(crate) struct Header {
    /// The record that it stands in.
    pub(crate) record: usize,
    /// Field of each known column.
    pub(crate) at: Vec<Option<usize>>,
    /// How many fields it has.
    pub(crate) fields: usize,
    /// Columns of the owner's own, left alone.
    pub(crate) own: Vec<String>,
}

/// Finds the header. An unknown column is the owner's own, unless it is nearly a known one.
pub(crate) fn header(sheet: &Sheet, columns: &'static [Column], faults: &mut Faults) -> Option<Header> {
    if let Some(record) = sheet.open_quote {
        faults.push(Fault::OpenQuote, &sheet.row(record));
        return None;
    }
    let due = || columns.iter().filter(|c| c.due);
    let Some(record) = sheet.filled().next() else {
        for column in due() {
            faults.push(Fault::ColumnMissing { name: column.name, because: None }, &sheet.row(0));
        }
        return None;
    };
    let fields = &sheet.records[record].fields;
    let mut header = Header { record, at: vec![None; columns.len()], fields: fields.len(), own: Vec::new() };
    let mut sound = true;
    for (i, field) in fields.iter().enumerate() {
        let name = sheet.value(field);
        if name.is_empty() {
            continue;
        }
        match columns.iter().position(|c| c.name == name) {
            Some(c) if header.at[c].is_some() => {
                sound = false;
                faults.push(Fault::ColumnTwice { name }, &sheet.place(field));
            }
            Some(c) => header.at[c] = Some(i),
            None => header.own.push(name),
        }
    }
    // Columns that a mistyped one was meant to be are not missing as well.
    let mut guessed = Vec::new();
    for own in &header.own {
        let spaced = own.to_lowercase().replace([' ', '-'], "_");
        let missing = columns.iter().enumerate().filter(|(c, _)| header.at[*c].is_none()).map(|(_, c)| c.name);
        if let Some(meant) = near::nearest(&spaced, missing) {
            // Short words of the owner's own are near to much.
            let close = strsim::damerau_levenshtein(&spaced, meant) <= 2 && own.chars().count() > 3;
            if close && let Some(field) = fields.iter().find(|f| sheet.value(f) == *own) {
                sound = false;
                guessed.push(meant);
                let known = columns.iter().map(|c| c.name.to_owned()).collect();
                let fault = Fault::UnknownColumn { name: own.clone(), meant: Some(meant.into()), known };
                faults.push(fault, &sheet.place(field));
            }
        }
    }
    for (c, column) in columns.iter().enumerate() {
        if column.due && header.at[c].is_none() && !guessed.contains(&column.name) {
            sound = false;
            faults.push(Fault::ColumnMissing { name: column.name, because: None }, &sheet.row(record));
        }
    }
    sound.then_some(header)
}

/// One row of a sheet.
pub(crate) struct Cells<'a> {
    pub(crate) sheet: &'a Sheet,
    pub(crate) header: &'a Header,
    pub(crate) columns: &'static [Column],
    pub(crate) record: usize,
}

impl<'a> Cells<'a> {
    /// Every row below the header that says something; a fault for one with more in it than the header has.
    pub(crate) fn rows(
        sheet: &'a Sheet,
        header: &'a Header,
        columns: &'static [Column],
        faults: &mut Faults,
    ) -> Vec<Cells<'a>> {
        let records: Vec<usize> = sheet.filled().filter(|r| *r > header.record).collect();
        let mut rows = Vec::new();
        for record in records {
            let fields = &sheet.records[record].fields;
            if fields.iter().skip(header.fields).any(|f| !sheet.value(f).is_empty()) {
                let comma = sheet.delimiter == ',';
                let fault = Fault::Ragged { found: fields.len(), due: header.fields, comma };
                faults.push(fault, &sheet.row(record));
            } else {
                rows.push(Cells { sheet, header, columns, record });
            }
        }
        rows
    }

    /// The field of a column, where the sheet has that column and the row reaches to it.
    pub(crate) fn field(&self, column: usize) -> Option<&'a Range<usize>> {
        self.header.at.get(column).copied().flatten().and_then(|i| self.sheet.records[self.record].fields.get(i))
    }

    /// The words in a column; `None` where it is empty.
    pub(crate) fn text(&self, column: usize) -> Option<String> {
        self.field(column).map(|f| self.sheet.value(f)).filter(|t| !t.is_empty())
    }

    /// The words in a column that must hold some.
    pub(crate) fn due(&self, column: usize, faults: &mut Faults) -> Option<String> {
        let text = self.text(column);
        if text.is_none() {
            self.fail(LedgerFault::EmptyCell { column: self.columns[column].name }, column, faults);
        }
        text
    }

    /// One of a few words; `None` where it is empty or, with a fault, another.
    pub(crate) fn word(&self, column: usize, words: &'static [&'static str], faults: &mut Faults) -> Option<usize> {
        let given = self.text(column)?;
        let found = words.iter().position(|w| w.eq_ignore_ascii_case(&given));
        if found.is_none() {
            let meant = near::nearest(&given, words.iter().copied());
            self.fail(LedgerFault::NotAWord { column: self.columns[column].name, given, words, meant }, column, faults);
        }
        found
    }

    /// The number in a column, SI; `Ok(None)` where it is empty, `Err` with a fault where it is none.
    pub(crate) fn number(&self, column: usize, faults: &mut Faults) -> Result<Option<f64>, ()> {
        let (Some(text), Some(span)) = (self.text(column), self.columns[column].span) else { return Ok(None) };
        match self.read(&text) {
            Ok(x) if span.allows(span.unit().to_si(x)) => Ok(Some(span.unit().to_si(x))),
            Ok(x) if !x.is_finite() => self.wrong(Wrong::NotFinite, column, faults),
            Ok(_) => self.wrong(Wrong::OutOfRange { given: text, range: span.range() }, column, faults),
            Err(Read::Wrong(wrong)) => self.wrong(self.with_unit(&text, span).unwrap_or(wrong), column, faults),
            Err(Read::Ambiguous) => {
                let comma_file = self.sheet.decimal_comma;
                self.fail(LedgerFault::Ambiguous { given: text, comma_file }, column, faults);
                Err(())
            }
        }
    }

    /// "27 lb" in a column of kilograms.
    fn with_unit(&self, text: &str, span: Span) -> Option<Wrong> {
        let text = if self.sheet.decimal_comma { text.replacen(',', ".", 1) } else { text.to_owned() };
        let unit = span.unit();
        let (measured, _) = measured::parse(&text, unit.dimension, unit.symbol).ok()?;
        let plain = digits(unit.from_si(measured.value));
        let plain = if self.sheet.decimal_comma { plain.replacen('.', ",", 1) } else { plain };
        Some(Wrong::UnitInACell { unit: unit.symbol, plain })
    }

    fn wrong(&self, wrong: Wrong, column: usize, faults: &mut Faults) -> Result<Option<f64>, ()> {
        let fault = Fault::Cell { column: self.columns[column].name, wrong };
        if let Some(field) = self.field(column) {
            faults.push(fault, &self.sheet.place(field));
        }
        Err(())
    }

    /// A number with the file's own decimal sign; the other one too, where it can't be a thousands separator.
    fn read(&self, text: &str) -> Result<f64, Read> {
        let text = text.replace('−', "-");
        let (own, other) = if self.sheet.decimal_comma { (',', '.') } else { ('.', ',') };
        let none = || Read::Wrong(Wrong::NotANumber { text: text.clone() });
        let plain = match (text.matches(own).count(), text.matches(other).count()) {
            (_, 0) => text.replacen(own, ".", 1),
            (0, 1) => {
                let behind = text.rsplit(other).next().unwrap_or_default().len();
                let before = text.split(other).next().unwrap_or_default().trim_start_matches('-');
                if behind == 3 && (1..=3).contains(&before.len()) && before != "0" {
                    return Err(Read::Ambiguous);
                }
                text.replacen(other, ".", 1)
            }
            _ => {
                let point = text.replace(other, "").replace(own, ".");
                return Err(Read::Wrong(match point.parse::<f64>() {
                    Ok(_) => Wrong::DecimalComma { text, point },
                    Err(_) => Wrong::NotANumber { text },
                }));
            }
        };
        // Rust reads "inf", "nan" and "infinity" too; a ledger holds none.
        let x: f64 = plain.parse().map_err(|_| none())?;
        if plain.bytes().any(|b| b.is_ascii_alphabetic() && !matches!(b, b'e' | b'E')) {
            return Err(if x.is_finite() { none() } else { Read::Wrong(Wrong::NotFinite) });
        }
        Ok(x)
    }

    pub(crate) fn fail(&self, fault: LedgerFault, column: usize, faults: &mut Faults) {
        let place = match self.field(column) {
            Some(field) if !self.sheet.value(field).is_empty() => self.sheet.place(field),
            _ => self.sheet.row(self.record),
        };
        faults.push(Fault::Ledger(fault), &place);
    }
}

enum Read {
    Wrong(Wrong),
    Ambiguous,
}
