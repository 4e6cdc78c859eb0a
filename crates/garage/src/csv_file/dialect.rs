//! A spreadsheet's CSV exactly as it stands: its encoding, separator, quotes, line ends, comments and blank rows. What
//! is not edited is written back byte for byte.

use std::ops::Range;
use std::sync::Arc;

use crate::csv_file::encoding::Encoding;
use crate::fault::finding::{Finding, Located};
use crate::fault::source::{Place, Source};
use crate::fault::{Fault, FileProblem};

/// A CSV file with every field's place in it.
#[derive(Clone, Debug)]
pub struct Sheet {
    /// Its text, without a byte-order mark.
    pub source: Arc<Source>,
    pub(crate) encoding: Encoding,
    /// `,`, `;` or a tab.
    pub(crate) delimiter: char,
    /// Numbers are written 1,5.
    pub(crate) decimal_comma: bool,
    pub(crate) records: Vec<Record>,
    /// A quote that is never closed, at this record.
    pub(crate) open_quote: Option<usize>,
}

/// A line of fields; more than one line of text where a quoted field has a line end in it.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Record {
    /// Without its line end.
    pub(crate) span: Range<usize>,
    /// With quotes and spaces round them. None for a comment.
    pub(crate) fields: Vec<Range<usize>>,
}

impl Sheet {
    /// Takes a file's bytes apart.
    ///
    /// # Errors
    /// Where they are no text: 16-bit characters, NUL.
    pub fn parse(name: &str, bytes: &[u8]) -> Result<Self, Box<Finding>> {
        let (encoding, text) = Encoding::decode(bytes).map_err(|problem| fault(name, problem))?;
        if text.trim().is_empty() {
            return Err(fault(name, FileProblem::Empty));
        }
        let source = Source::new(name, text);
        let delimiter = delimiter(&source.text);
        let (records, open_quote) = records(&source.text, delimiter);
        let mut sheet = Self { source, encoding, delimiter, decimal_comma: false, records, open_quote };
        sheet.decimal_comma = sheet.writes_commas();
        Ok(sheet)
    }

    /// The file again, byte for byte.
    pub fn bytes(&self) -> Vec<u8> {
        // Every character came out of this encoding.
        self.encoding.encode(&self.source.text).unwrap_or_default()
    }

    /// A field's value: without quotes and the spaces round it.
    pub(crate) fn value(&self, field: &Range<usize>) -> String {
        let raw = self.source.text[field.clone()].trim();
        match raw.strip_prefix('"') {
            Some(rest) => rest.strip_suffix('"').unwrap_or(rest).replace("\"\"", "\"").trim().to_owned(),
            None => raw.to_owned(),
        }
    }

    /// Where a field's own characters are: what a message underlines.
    pub(crate) fn place(&self, field: &Range<usize>) -> Place {
        let raw = &self.source.text[field.clone()];
        let bare = raw.trim().trim_matches('"');
        if bare.is_empty() {
            return Place::new(&self.source, field.clone());
        }
        let at = field.start + raw.find(bare).unwrap_or(0);
        Place::new(&self.source, at..at + bare.len())
    }

    /// Where a record is.
    pub(crate) fn row(&self, record: usize) -> Place {
        Place::new(&self.source, self.records.get(record).map_or(0..0, |r| r.span.clone()))
    }

    /// Records that say something, the header first.
    pub(crate) fn filled(&self) -> impl Iterator<Item = usize> + '_ {
        (0..self.records.len()).filter(|&i| self.records[i].fields.iter().any(|f| !self.value(f).is_empty()))
    }

    /// More numbers are written 1,5 than 1.5; where there is neither, what goes with the separator.
    fn writes_commas(&self) -> bool {
        let (mut commas, mut points) = (0, 0);
        for field in self.records.iter().flat_map(|r| &r.fields) {
            let value = self.value(field);
            let count = |mark: char| {
                let mut parts = value.trim_start_matches(['-', '−', '+']).split(mark);
                let digits =
                    |p: Option<&str>| p.is_some_and(|p| !p.is_empty() && p.bytes().all(|b| b.is_ascii_digit()));
                usize::from(digits(parts.next()) && digits(parts.next()) && parts.next().is_none())
            };
            commas += count(',');
            points += count('.');
        }
        commas > points || commas == points && self.delimiter == ';'
    }

    /// The line end that new rows take: that of the first line that has one.
    pub(crate) fn line_end(&self) -> &'static str {
        match self.source.text.find(['\r', '\n']) {
            Some(at) if self.source.text[at..].starts_with("\r\n") => "\r\n",
            Some(at) if self.source.text[at..].starts_with('\r') => "\r",
            _ => "\n",
        }
    }
}

fn fault(name: &str, problem: FileProblem) -> Box<Finding> {
    Box::new(Located { what: Fault::File { path: name.into(), problem }, place: None })
}

/// A comma; or what a spreadsheet wrote instead: a semicolon or a tab, whichever the header has most of.
fn delimiter(text: &str) -> char {
    let header = text.split(['\n', '\r']).find(|l| !l.trim().is_empty() && !l.trim_start().starts_with('#'));
    let count = |d: char| header.unwrap_or("").matches(d).count();
    let [comma, semicolon, tab] = [',', ';', '\t'].map(count);
    if semicolon > comma && semicolon >= tab {
        ';'
    } else if tab > comma {
        '\t'
    } else {
        ','
    }
}

/// Splits a text; also tells where a quote was left open.
fn records(text: &str, delimiter: char) -> (Vec<Record>, Option<usize>) {
    let bytes = text.as_bytes();
    let delimiter = delimiter as u8;
    let line_end = |b: u8| b == b'\n' || b == b'\r';
    let (mut all, mut open, mut at) = (Vec::new(), None, 0);
    while at < bytes.len() {
        let start = at;
        let mut fields = Vec::new();
        let indent = bytes[at..].iter().take_while(|b| **b == b' ' || **b == b'\t' && delimiter != b'\t').count();
        if bytes.get(at + indent) == Some(&b'#') {
            at += bytes[at..].iter().take_while(|b| !line_end(**b)).count();
        } else {
            loop {
                let (end, closed) = field(bytes, at, delimiter);
                if !closed {
                    open = open.or(Some(all.len()));
                }
                fields.push(at..end);
                at = end;
                if bytes.get(at) != Some(&delimiter) {
                    break;
                }
                at += 1;
            }
        }
        all.push(Record { span: start..at, fields });
        at += match bytes.get(at..) {
            Some([b'\r', b'\n', ..]) => 2,
            Some([_, ..]) => 1,
            _ => 0,
        };
    }
    (all, open)
}

/// The end of the field that starts here, and whether its quote is closed.
fn field(bytes: &[u8], start: usize, delimiter: u8) -> (usize, bool) {
    let ends = |b: u8| b == delimiter || b == b'\n' || b == b'\r';
    let plain = |from: usize| from + bytes[from..].iter().take_while(|b| !ends(**b)).count();
    let space = bytes[start..].iter().take_while(|b| **b == b' ').count();
    if bytes.get(start + space) != Some(&b'"') {
        return (plain(start), true);
    }
    let mut at = start + space + 1;
    loop {
        match (bytes.get(at), bytes.get(at + 1)) {
            (Some(b'"'), Some(b'"')) => at += 2,
            (Some(b'"'), _) => return (plain(at + 1), true),
            (Some(_), _) => at += 1,
            (None, _) => return (bytes.len(), false),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn sheet(text: &str) -> Sheet {
        Sheet::parse("l.csv", text.as_bytes()).unwrap()
    }

    fn values(sheet: &Sheet) -> Vec<Vec<String>> {
        sheet.filled().map(|i| sheet.records[i].fields.iter().map(|f| sheet.value(f)).collect()).collect()
    }

    #[test]
    fn closed_form_fields_of_every_dialect() {
        let plain = [["item", "mass"], ["seat, left", "14.5"]];
        for (text, decimal) in [
            ("item,mass\n\"seat, left\",14.5\n", "14.5"),
            ("# mine\n\nitem;mass;\r\nseat, left;14,5;\r\n;;\r\n", "14,5"),
            ("item\tmass\r\"seat, left\" \t 14.5", "14.5"),
            (" \"item\" , \"mass\"\n \"seat, left\",\"14.5\"", "14.5"),
        ] {
            let sheet = sheet(text);
            let read: Vec<Vec<String>> = values(&sheet).into_iter().map(|r| r.into_iter().take(2).collect()).collect();
            assert_eq!(read[0], plain[0], "{text:?}");
            assert_eq!(read[1], ["seat, left", decimal], "{text:?}");
            assert_eq!(sheet.decimal_comma, decimal.contains(','), "{text:?}");
            assert_eq!(sheet.bytes(), text.as_bytes());
        }
    }

    #[test]
    fn closed_form_quotes_and_lines_within_them() {
        let sheet = sheet("a,b\n\"say \"\"go\"\"\nnow\",2\nc\"d,3\n");
        assert_eq!(values(&sheet)[1..], [["say \"go\"\nnow", "2"], ["c\"d", "3"]]);
        assert_eq!(sheet.place(&sheet.records[2].fields[0]).text(), "c\"d");
        assert_eq!(sheet.open_quote, None);
    }

    #[test]
    fn bad_input_a_quote_that_is_never_closed() {
        let sheet = sheet("a,b\n1,2\n\"3,4\n5,6\n");
        assert_eq!(sheet.open_quote, Some(2));
    }

    proptest! {
        /// Whatever bytes: the file comes back byte for byte, fields lie inside their rows, and rows cover the text.
        #[test]
        fn property_any_bytes_come_back(bytes in proptest::collection::vec(
            prop_oneof![Just(b','), Just(b';'), Just(b'"'), Just(b'\n'), Just(b'\r'), Just(b' '), Just(b'#'), any::<u8>()], 0..80)) {
            if let Ok(sheet) = Sheet::parse("l.csv", &bytes) {
                prop_assert_eq!(sheet.bytes(), bytes);
                let mut at = 0;
                for record in &sheet.records {
                    prop_assert!(record.span.start >= at && record.span.start - at <= 2);
                    at = record.span.end;
                    for field in &record.fields {
                        prop_assert!(field.start >= record.span.start && field.end <= record.span.end);
                        prop_assert!(sheet.source.text.get(field.clone()).is_some());
                        let _ = (sheet.value(field), sheet.place(field).text().len());
                    }
                }
                prop_assert!(sheet.source.text.len() - at <= 2);
            }
        }
    }
}
