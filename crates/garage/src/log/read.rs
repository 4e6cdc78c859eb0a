//! From a log's bytes to its channels in SI, with everything that was guessed.

use std::collections::BTreeMap;

use super::check;
use super::columns::{self, Chosen};
use super::error::LogError;
use super::hemisphere;
use super::mapping::Mapping;
use super::nmea;
use super::number;
use super::quantity::Quantity;
use super::sheet::{Sheet, decode, fields};
use super::time;

/// A log: as many values a channel as there are rows; NaN where a row has none.
#[derive(Clone, Debug, Default)]
pub struct Log {
    /// Time from the first row, s, rising.
    pub t: Vec<f64>,
    /// Channels in SI (positions in degrees or m), left and forward positive.
    pub channels: BTreeMap<Quantity, Vec<f64>>,
}

/// Something that was made of the log, and how to say otherwise.
#[derive(Clone, Debug, PartialEq)]
pub struct Note {
    /// What.
    pub text: String,
    /// What to write on the command line where it is wrong.
    pub instead: Option<String>,
}

impl Note {
    pub(crate) fn new(text: impl Into<String>) -> Self {
        Self { text: text.into(), instead: None }
    }

    pub(crate) fn or(text: impl Into<String>, instead: impl Into<String>) -> Self {
        Self { text: text.into(), instead: Some(instead.into()) }
    }
}

impl std::fmt::Display for Note {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.text)?;
        self.instead.as_ref().map_or(Ok(()), |i| write!(f, "  (otherwise: {i})"))
    }
}

/// A log that was read.
#[derive(Clone, Debug)]
pub struct Imported {
    /// The log.
    pub log: Log,
    /// The import report.
    pub notes: Vec<Note>,
    /// What was made of its columns, to be kept beside it.
    pub mapping: Mapping,
}

impl Log {
    /// A channel.
    pub fn channel(&self, quantity: Quantity) -> Option<&[f64]> {
        self.channels.get(&quantity).map(Vec::as_slice)
    }

    /// Rows.
    pub fn rows(&self) -> usize {
        self.t.len()
    }

    fn retain(&mut self, keep: &[bool]) {
        let filter = |column: &mut Vec<f64>| {
            let mut i = 0;
            column.retain(|_| (keep[i], i += 1).0);
        };
        filter(&mut self.t);
        self.channels.values_mut().for_each(filter);
    }
}

/// Reads a log. What `mapping` says goes before what is guessed.
///
/// # Errors
/// [`LogError`].
pub fn read_log(bytes: &[u8], mapping: &Mapping) -> Result<Imported, LogError> {
    read_log_telling(bytes, mapping, &mut Vec::new())
}

/// [`read_log`], what it made of the file told also where it fails.
///
/// # Errors
/// [`LogError`].
pub fn read_log_telling(bytes: &[u8], mapping: &Mapping, told: &mut Vec<Note>) -> Result<Imported, LogError> {
    let mut notes = Vec::new();
    let read = read(bytes, mapping, &mut notes);
    told.extend(notes.iter().cloned());
    read.map(|(log, mapping)| Imported { log, notes, mapping })
}

fn read(bytes: &[u8], mapping: &Mapping, notes: &mut Vec<Note>) -> Result<(Log, Mapping), LogError> {
    let sentences = decode(bytes).ok().and_then(|(text, _)| nmea::table(&text));
    let sheet = match sentences {
        Some((table, fixes, note)) => {
            notes.push(note);
            if fixes == 0 {
                return Err(LogError::NoFix);
            }
            Sheet::parse(table.as_bytes())?
        }
        None => Sheet::parse(bytes)?,
    };
    notes.push(shape(&sheet));
    let chosen = columns::by_quantity(&sheet, mapping)?;
    notes.extend(chosen.iter().map(|c| taken(&sheet, c)));
    let has = |q| chosen.iter().any(|c| c.quantity == q);
    let positions = (has(Quantity::Latitude) && has(Quantity::Longitude)) || (has(Quantity::X) && has(Quantity::Y));
    if !positions && !has(Quantity::Speed) {
        if sheet.names.iter().enumerate().all(|(i, n)| *n == (i + 1).to_string()) {
            return Err(LogError::NoNames { line: sheet.start.1 });
        }
        return Err(LogError::Nothing { names: sheet.heads });
    }
    let mut raw = cells(&sheet, &chosen)?;
    let mut log = Log::default();
    let lines = std::mem::take(&mut raw.lines);
    notes.extend(hemisphere::signed(&sheet, &chosen, &lines, &mut raw.columns));
    let mut restarts = Vec::new();
    if let Some(i) = chosen.iter().position(|c| c.quantity == Quantity::Time) {
        let mut t = std::mem::take(&mut raw.columns[i]);
        let head = sheet.heads[chosen[i].column].to_lowercase();
        if !raw.clock && time::run_together(&t, head.contains("hhmmss")) {
            t.iter_mut().for_each(|t| *t = time::apart(*t));
            raw.clock = true;
            notes.push(Note::or("times of day run together, hhmmss", "--unit time=s"));
        }
        let factor = if raw.clock { 1.0 } else { time_unit(&chosen[i], &t, notes).1 };
        t.iter_mut().for_each(|t| *t *= factor);
        let mended = time::mend(&mut t, raw.clock, |i| lines[i]).map_err(|e| sheet.with_cell(e, chosen[i].column))?;
        if !mended.restarts.is_empty() {
            let count = mended.restarts.len();
            notes.push(Note::new(format!("the clock begins again {count} times, lap by lap: laid end to end")));
        }
        restarts = mended.restarts;
        if mended.midnight {
            notes.push(Note::new("passes midnight: a day added from there"));
        }
        if mended.spread {
            notes.push(Note::new("several rows share each second: spread evenly over it"));
        }
        if mended.again > 0 {
            notes.push(Note::new(format!("{} rows without a time of their own left out", mended.again)));
        }
        log.t = t;
    } else {
        notes.push(Note::new("no time: an outline only, nothing about speed"));
    }
    for (i, c) in chosen.iter().enumerate().filter(|(_, c)| c.quantity != Quantity::Time) {
        let values = std::mem::take(&mut raw.columns[i]);
        log.channels.insert(c.quantity, values);
    }
    if let Some(&row) = restarts.iter().find(|r| !check::goes_on(&log, **r)) {
        let back_s = log.t.get(row - 1).copied().unwrap_or(0.0);
        let fault = LogError::TimeBack { line: lines[row], back_s, text: String::new() };
        let column = chosen.iter().find(|c| c.quantity == Quantity::Time).map_or(0, |c| c.column);
        return Err(sheet.with_cell(fault, column));
    }
    if !log.t.is_empty() {
        let keep: Vec<bool> = log.t.iter().map(|t| t.is_finite()).collect();
        log.retain(&keep);
    }
    let mut units: Vec<(Quantity, &'static str)> = Vec::new();
    check::repeated(&mut log, notes);
    check::scale(&mut log, &chosen, notes, &mut units)?;
    check::positions(&mut log, notes)?;
    check::speed(&log)?;
    let mut kept = Mapping::default();
    for c in &chosen {
        let name = &sheet.heads[c.column];
        let found = units.iter().find(|u| u.0 == c.quantity).map(|u| u.1.to_string());
        let unit = found.or(c.unit.map(columns::spelled));
        kept.note(c.quantity, name, unit.as_deref());
    }
    for q in Quantity::ALL.into_iter().filter(|q| mapping.column(*q) == Some(columns::NONE)) {
        kept.note(q, columns::NONE, None);
    }
    Ok((log, kept))
}

/// What a column was taken for.
fn taken(sheet: &Sheet, c: &Chosen) -> Note {
    let name = &sheet.heads[c.column];
    let others: Vec<&str> = c.others.iter().map(|i| sheet.heads[*i].as_str()).collect();
    let also = if others.is_empty() { String::new() } else { format!("; passed over: {}", others.join(", ")) };
    let how = if c.told { "as said" } else { "by its name" };
    let in_unit = c.unit.map(columns::spelled).filter(|u| !u.is_empty()).map(|u| format!(", {u}")).unwrap_or_default();
    let text = format!("{} is column {name:?}{in_unit}, {how}{also}", c.quantity.key());
    if c.told { Note::new(text) } else { Note::or(text, format!("--column {}=NAME", c.quantity.key())) }
}

fn shape(sheet: &Sheet) -> Note {
    let separator = match sheet.delimiter {
        '\t' => "tabs".to_string(),
        d => format!("`{d}`"),
    };
    let comma = if sheet.decimal_comma { ", decimal commas" } else { "" };
    let skipped = if sheet.skipped > 0 { format!(", {} lines before the table", sheet.skipped) } else { String::new() };
    Note::new(format!("{}, separated by {separator}{comma}{skipped}", sheet.encoding))
}

/// The unit of a time: as written, or milliseconds where it runs in steps of a whole number above 1.
fn time_unit(chosen: &Chosen, t: &[f64], notes: &mut Vec<Note>) -> (&'static str, f64) {
    if let Some(unit) = chosen.unit {
        return unit;
    }
    let mut steps: Vec<f64> = t.windows(2).map(|w| w[1] - w[0]).filter(|d| *d > 0.0).collect();
    steps.sort_by(f64::total_cmp);
    let usual = steps.get(steps.len() / 2).copied().unwrap_or(0.1);
    let guess = if usual >= 9_000.0 {
        ("us", 1e-6)
    } else if usual >= 9.0 {
        ("ms", 1e-3)
    } else {
        ("s", 1.0)
    };
    notes.push(Note::or(format!("time in {}: rows are {usual} apart", guess.0), "--unit time=UNIT"));
    guess
}

/// Rows of a log: of one of 100 Hz five hours and a half.
const MOST_ROWS: usize = 2_000_000;

struct Cells {
    columns: Vec<Vec<f64>>,
    lines: Vec<usize>,
    /// Times are times of day.
    clock: bool,
}

/// The chosen columns as numbers.
fn cells(sheet: &Sheet, chosen: &[Chosen]) -> Result<Cells, LogError> {
    let body = &sheet.text[sheet.start.0..];
    let rows = (body.len() / body.find('\n').map_or(40, |n| n + 1).max(8)).min(MOST_ROWS);
    let width = chosen.iter().map(|c| c.column + 1).max().unwrap_or(0);
    let mut slots: Vec<Option<usize>> = vec![None; width];
    chosen.iter().enumerate().for_each(|(i, c)| slots[c.column] = Some(i));
    let mut cells = Cells { columns: vec![Vec::with_capacity(rows); chosen.len()], lines: Vec::new(), clock: false };
    let mut odd: Vec<Option<(String, usize)>> = vec![None; chosen.len()];
    for (number, line) in body.lines().enumerate() {
        let mut any = false;
        let row = cells.lines.len();
        for (field, slot) in fields(line, sheet.delimiter).zip(&slots) {
            let Some(i) = *slot else { continue };
            let comma = sheet.decimal_comma;
            let value = match chosen[i].quantity {
                Quantity::Time => number::time(field, comma).map(|(t, clock)| {
                    cells.clock |= clock;
                    t
                }),
                Quantity::Latitude | Quantity::Longitude => number::degrees(field, comma),
                _ => number::number(field, comma),
            };
            if value.is_none() && !field.is_empty() && odd[i].is_none() {
                odd[i] = Some((field.chars().take(40).collect(), sheet.start.1 + number));
            }
            any |= value.is_some();
            // One value a row, also where a column is chosen twice.
            if cells.columns[i].len() == row {
                cells.columns[i].push(value.unwrap_or(f64::NAN));
            }
        }
        if any && cells.lines.len() == MOST_ROWS {
            return Err(LogError::TooLong { most: MOST_ROWS });
        }
        if any {
            cells.columns.iter_mut().for_each(|c| c.resize(row + 1, f64::NAN));
            cells.lines.push(sheet.start.1 + number);
        } else {
            cells.columns.iter_mut().for_each(|c| c.truncate(row));
        }
    }
    for (i, c) in chosen.iter().enumerate() {
        if let (true, Some((text, line))) = (cells.columns[i].iter().all(|x| x.is_nan()), odd[i].take()) {
            let name = sheet.names[c.column].clone();
            return Err(LogError::Unread { name, key: c.quantity.key(), text, line });
        }
    }
    Ok(cells)
}
