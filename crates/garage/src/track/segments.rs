//! The segments of a track: from the text of their CSV file to [`Segment`]s.

use std::ops::Range;
use std::sync::Arc;

use csv::{ByteRecord, ReaderBuilder, Trim};
use unladen_track::Segment;

use crate::csv_file::cells::MOST_COLUMNS;
use crate::fault::finding::Faults;
use crate::fault::source::{Place, Source};
use crate::fault::{Fault, FileProblem, Wrong};
use crate::keys::track::COLUMNS;
use crate::plain::{from_cell, steers};
use crate::unit::near;

/// The segments, and where each row stands in the text.
#[derive(Debug, Default)]
pub(crate) struct Rows {
    /// One a row; of NaN where the row has a fault, so that its neighbours can still be looked at.
    pub(crate) segments: Vec<Segment>,
    /// Some row, or the header, has a fault.
    pub(crate) unread: bool,
    /// First byte of each row.
    starts: Vec<usize>,
}

const UNREAD: Segment = Segment {
    length: f64::NAN,
    kappa: [f64::NAN; 2],
    q: [f64::NAN; 2],
    phi: [f64::NAN; 2],
    gamma: f64::NAN,
    place: None,
};

impl Rows {
    /// The place of a row of the text.
    pub(crate) fn place(&self, source: &Arc<Source>, row: usize) -> Place {
        line(source, self.starts.get(row).copied().unwrap_or(0))
    }
}

/// More than are solved, and drawn within a gigabyte.
const MOST: usize = 1_000_000;
const PLACE: &str = "place";

/// Which field of a row is which column.
struct Header {
    numbers: [Option<usize>; COLUMNS.len()],
    place: Option<usize>,
    fields: usize,
}

/// Reads every row; pushes every fault (up to what is shown).
pub(crate) fn read(source: &Arc<Source>, faults: &mut Faults) -> Rows {
    let text = &source.text;
    let bom = if text.starts_with('\u{feff}') { '\u{feff}'.len_utf8() } else { 0 };
    let delimiter = delimiter(&text[bom..]);
    let mut reader = ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .delimiter(delimiter)
        .comment(Some(b'#'))
        .trim(Trim::All)
        .from_reader(&text.as_bytes()[bom..]);
    let mut record = ByteRecord::new();
    let mut header: Option<Header> = None;
    let mut rows = Rows::default();
    let mut last = 0;
    // From bytes in memory a flexible reader has no errors left.
    while reader.read_byte_record(&mut record).unwrap_or(false) {
        let start = bom + record.position().map_or(0, |p| p.byte() as usize);
        last = start;
        if record.iter().all(<[u8]>::is_empty) {
            continue;
        }
        match &header {
            None => match self::header(source, &record, start, faults) {
                Some(found) => header = Some(found),
                None => {
                    rows.unread = true;
                    return rows;
                }
            },
            Some(_) if rows.segments.len() == MOST => {
                let problem = FileProblem::TooMany { what: "segments", most: MOST };
                faults.push(Fault::File { path: source.name.clone(), problem }, &line(source, start));
                rows.unread = true;
                return rows;
            }
            Some(header) => {
                let row = Row { source, start, delimiter };
                let segment = row.read(&record, header, faults);
                rows.unread |= segment.is_none();
                rows.segments.push(segment.unwrap_or(UNREAD));
                rows.starts.push(start);
            }
        }
    }
    // A quote that is never closed makes the last record of all that follows it.
    if text.bytes().filter(|b| *b == b'"').count() % 2 == 1 {
        rows.unread = true;
        faults.push(Fault::OpenQuote, &line(source, last));
    } else if header.is_none() {
        rows.unread = true;
        faults.push(Fault::ColumnMissing { name: COLUMNS[0].name, because: None }, &Place::new(source, 0..0));
    }
    rows
}

/// A comma; or what a spreadsheet wrote instead of one: a semicolon or a tab, whichever the header has.
fn delimiter(text: &str) -> u8 {
    let header = text.lines().find(|l| !l.trim().is_empty() && !l.trim_start().starts_with('#')).unwrap_or("");
    let count = |d: u8| header.bytes().filter(|b| *b == d).count();
    [b',', b';', b'\t'].into_iter().rev().max_by_key(|d| count(*d)).unwrap_or(b',')
}

/// The place of the first row at or after this byte: blank lines and comments skipped.
fn line(source: &Arc<Source>, start: usize) -> Place {
    let mut from = start;
    for line in source.text.get(start..).unwrap_or_default().split_inclusive('\n') {
        let bare = line.trim_start_matches('\u{feff}').trim_start();
        if !bare.is_empty() && !bare.starts_with('#') {
            let from = from + (line.len() - bare.len());
            return Place::new(source, from..from + bare.trim_end().len());
        }
        from += line.len();
    }
    Place::new(source, start..start)
}

fn header(source: &Arc<Source>, record: &ByteRecord, start: usize, faults: &mut Faults) -> Option<Header> {
    let row = line(source, start);
    let mut header = Header { numbers: [None; COLUMNS.len()], place: None, fields: record.len() };
    let mut sound = true;
    if record.len() > MOST_COLUMNS {
        let problem = FileProblem::TooMany { what: "columns", most: MOST_COLUMNS };
        faults.push(Fault::File { path: source.name.clone(), problem }, &Place::new(source, start..start));
        return None;
    }
    let names: Vec<&str> = COLUMNS.iter().map(|c| c.name).chain([PLACE]).collect();
    let mut fail = |fault: Fault, place: &Place| {
        faults.push(fault, place);
        sound = false;
    };
    for (i, field) in record.iter().enumerate() {
        let name = std::str::from_utf8(field).unwrap_or_default();
        let place = part(&row, name);
        let slot = match COLUMNS.iter().position(|c| c.name == name) {
            Some(c) => &mut header.numbers[c],
            None if name == PLACE => &mut header.place,
            // A spreadsheet's empty column at the end.
            None if name.is_empty() => continue,
            None => {
                let known: Vec<String> = names.iter().map(ToString::to_string).collect();
                let meant = near::nearest(name, names.iter().copied()).map(Into::into);
                fail(Fault::UnknownColumn { name: name.into(), meant, known }, &place);
                continue;
            }
        };
        if slot.replace(i).is_some() {
            fail(Fault::ColumnTwice { name: name.into() }, &place);
        }
    }
    for (c, column) in COLUMNS.iter().enumerate() {
        // Grade and bank come as start and end, or not at all.
        let pair = (3..7).contains(&c).then(|| header.numbers[3 + ((c - 3) ^ 1)]).flatten();
        let because = match (header.numbers[c], column.otherwise, pair) {
            (Some(_), ..) => continue,
            (None, None, _) => None,
            (None, _, Some(_)) => Some("start and end of grade and bank come in pairs"),
            (None, Some(_), None) => continue,
        };
        fail(Fault::ColumnMissing { name: column.name, because }, &row);
    }
    sound.then_some(header)
}

/// The first place of this text within a row, the row itself where it can't be found.
fn part(row: &Place, text: &str) -> Place {
    match row.text().find(text) {
        Some(at) if !text.is_empty() => row.part(at..at + text.len()),
        _ => row.clone(),
    }
}

struct Row<'a> {
    source: &'a Arc<Source>,
    start: usize,
    delimiter: u8,
}

impl Row<'_> {
    fn read(&self, record: &ByteRecord, header: &Header, faults: &mut Faults) -> Option<Segment> {
        if record.len() != header.fields {
            let spare = record.iter().skip(header.fields).any(|f| !f.is_empty());
            if record.len() < header.fields || spare {
                let comma = self.delimiter == b',' && record.len() > header.fields;
                let fault = Fault::Ragged { found: record.len(), due: header.fields, comma };
                faults.push(fault, &line(self.source, self.start));
                return None;
            }
        }
        let mut numbers = [0.0; COLUMNS.len()];
        let mut sound = true;
        for (c, column) in COLUMNS.iter().enumerate() {
            let field = header.numbers[c].and_then(|i| record.get(i).map(|f| (i, f)));
            numbers[c] = match (field, column.otherwise) {
                (None | Some((_, b"")), Some(otherwise)) => otherwise,
                (None, None) => return None,
                (Some((i, field)), _) => match self.number(field, c) {
                    Ok(x) => x,
                    Err(wrong) => {
                        faults.push(Fault::Cell { column: column.name, wrong }, &self.cell(record, i));
                        sound = false;
                        continue;
                    }
                },
            };
        }
        let [length, k0, k1, g0, g1, b0, b1, gamma] = numbers;
        let place = header.place.and_then(|i| record.get(i).map(|f| (i, String::from_utf8_lossy(f))));
        if let Some((i, name)) = &place
            && let Some(character) = name.chars().find(|c| steers(*c))
        {
            faults.push(Fault::Cell { column: PLACE, wrong: Wrong::Steers { character } }, &self.cell(record, *i));
            sound = false;
        }
        sound.then(|| Segment {
            length,
            kappa: [k0, k1],
            q: [g0 / 100.0, g1 / 100.0],
            phi: [b0.to_radians(), b1.to_radians()],
            gamma,
            place: place.map(|(_, name)| from_cell(&name).to_owned()).filter(|name| !name.is_empty()),
        })
    }

    fn number(&self, field: &[u8], c: usize) -> Result<f64, Wrong> {
        let text = std::str::from_utf8(field).unwrap_or_default();
        let comma = text.contains(',');
        let x: Option<f64> = match comma && self.delimiter != b',' && !text.contains('.') {
            true => text.replacen(',', ".", 1).parse().ok(),
            false => text.parse().ok(),
        };
        let range = &COLUMNS[c].range;
        match x {
            Some(x) if !x.is_finite() => Err(Wrong::NotFinite),
            Some(x) if range.allows(x) && (c != 0 || x > 0.0) => Ok(x),
            Some(_) => Err(Wrong::OutOfRange { given: text.into(), range: range.range() }),
            None if comma => {
                let point = text.replace(',', if text.contains('.') { "" } else { "." });
                Err(Wrong::DecimalComma { text: text.into(), point })
            }
            None => Err(Wrong::NotANumber { text: text.into() }),
        }
    }

    /// The place of a field: the row is split again, by hand, as only the fields of faults are looked for.
    fn cell(&self, record: &ByteRecord, field: usize) -> Place {
        let row = line(self.source, self.start);
        let ranges: Vec<Range<usize>> = split(row.text(), self.delimiter);
        match (ranges.get(field), record.get(field)) {
            (Some(range), Some(text)) if ranges.len() == record.len() => {
                let cell = &row.text()[range.clone()];
                let text = std::str::from_utf8(text).unwrap_or_default();
                let at = range.start + cell.find(text).unwrap_or(0);
                row.part(at..if text.is_empty() { range.end } else { at + text.len() })
            }
            _ => row,
        }
    }
}

/// The fields of one line, quotes minded.
fn split(row: &str, delimiter: u8) -> Vec<Range<usize>> {
    let mut fields = Vec::new();
    let (mut from, mut quoted) = (0, false);
    for (i, b) in row.bytes().enumerate() {
        match b {
            b'"' => quoted = !quoted,
            b if b == delimiter && !quoted => {
                fields.push(from..i);
                from = i + 1;
            }
            _ => {}
        }
    }
    fields.push(from..row.len());
    fields
}
