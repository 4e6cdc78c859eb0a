//! A text and places in it: what a message underlines. Lines are found by an index, so that a file of a million rows
//! costs no more to point into than a short one.

use std::ops::Range;
use std::sync::{Arc, OnceLock};

use miette::{MietteError, MietteSpanContents, SourceCode, SourceSpan, SpanContents};

use crate::plain::plain;

/// A named text: a file, or an argument of the command line.
#[derive(Debug)]
pub struct Source {
    /// Its path as the user gave it, or the argument's.
    pub name: String,
    /// What it says.
    pub text: String,
    lines: OnceLock<Vec<usize>>,
    /// The same without what steers a terminal.
    shown: OnceLock<String>,
    /// It lies outside the folder that was asked about: messages name it, and quote nothing of it.
    pub(crate) unquoted: bool,
}

/// A part of a source.
#[derive(Clone, Debug)]
pub struct Place {
    /// Where.
    pub source: Arc<Source>,
    /// Bytes of its text.
    pub span: Range<usize>,
}

/// Bytes of a long line that are shown on each side of the fault.
const SIDE: usize = 160;

impl Source {
    /// A text under a name.
    pub fn new(name: impl Into<String>, text: impl Into<String>) -> Arc<Self> {
        let (lines, shown) = (OnceLock::new(), OnceLock::new());
        Arc::new(Self { name: name.into(), text: text.into(), lines, shown, unquoted: false })
    }

    /// The same, of which messages quote nothing.
    pub(crate) fn unquoted(&self) -> Arc<Self> {
        let (lines, shown) = (OnceLock::new(), OnceLock::new());
        Arc::new(Self { name: self.name.clone(), text: self.text.clone(), lines, shown, unquoted: true })
    }

    /// Where each line starts.
    fn lines(&self) -> &[usize] {
        self.lines.get_or_init(|| {
            std::iter::once(0).chain(self.text.bytes().enumerate().filter(|b| b.1 == b'\n').map(|b| b.0 + 1)).collect()
        })
    }

    /// The line (from 0) that holds this byte.
    fn line_of(&self, byte: usize) -> usize {
        self.lines().partition_point(|&start| start <= byte).saturating_sub(1)
    }

    /// Bytes of a line without its end.
    fn line(&self, line: usize) -> Range<usize> {
        let start = self.lines()[line];
        let end = self.lines().get(line + 1).map_or(self.text.len(), |next| next - 1);
        start..end.max(start)
    }

    /// The nearest byte at or before that starts a character.
    fn floor(&self, mut byte: usize) -> usize {
        byte = byte.min(self.text.len());
        while !self.text.is_char_boundary(byte) {
            byte -= 1;
        }
        byte
    }
}

impl Place {
    /// A place; a span outside the text is drawn in.
    pub fn new(source: &Arc<Source>, span: Range<usize>) -> Self {
        let start = source.floor(span.start);
        let end = source.floor(span.end.max(start));
        Self { source: source.clone(), span: start..end }
    }

    /// Line, from 1.
    pub fn line(&self) -> usize {
        self.source.line_of(self.span.start) + 1
    }

    /// Column in characters, from 1.
    pub fn column(&self) -> usize {
        let start = self.source.line(self.line() - 1).start;
        self.source.text[start..self.span.start].chars().count() + 1
    }

    /// The text itself.
    pub fn text(&self) -> &str {
        &self.source.text[self.span.clone()]
    }

    /// The part of this place, bytes counted from its start.
    pub(crate) fn part(&self, part: Range<usize>) -> Self {
        Self::new(&self.source, self.span.start + part.start..self.span.start + part.end)
    }

    /// What is shown: the first line, cut to what fits a screen.
    pub(crate) fn shown(&self) -> Range<usize> {
        let line = self.source.line(self.source.line_of(self.span.start));
        let end = self.span.end.min(line.end).max(self.span.start);
        self.span.start..self.source.floor(end.min(self.span.start + SIDE))
    }
}

impl SourceCode for Source {
    /// Without context the span alone (from which the drawing takes its line and column), with any the lines it is on.
    fn read_span<'a>(
        &'a self,
        span: &SourceSpan,
        before: usize,
        after: usize,
    ) -> Result<Box<dyn SpanContents<'a> + 'a>, MietteError> {
        let (start, end) = (span.offset(), span.offset() + span.len());
        if end > self.text.len() {
            return Err(MietteError::OutOfBounds);
        }
        let line = self.line_of(start);
        let (mut from, mut to) = (start, end);
        if before + after > 0 {
            (from, to) = (self.line(line).start, self.line(self.line_of(end)).end.max(end));
            // In a very long line only the neighbourhood of the fault is shown.
            if start - from > 4 * SIDE {
                from = self.floor(start - SIDE).max(from);
            }
            if to - end > 4 * SIDE {
                to = self.floor(end + SIDE).max(end);
            }
        }
        let column = self.text[self.line(line).start..from].chars().count();
        let data = &self.shown.get_or_init(|| plain(&self.text).into_owned()).as_bytes()[from..to];
        let lines = self.line_of(end) + 1 - line;
        let shown = SourceSpan::from((from, to - from));
        Ok(Box::new(MietteSpanContents::new_named(self.name.clone(), data, shown, line, column, lines)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn closed_form_lines_and_columns() {
        let source = Source::new("a.toml", "x = 1\r\nyé = 2\n\nz");
        let at = |needle: &str| {
            let start = source.text.find(needle).unwrap();
            let place = Place::new(&source, start..start + needle.len());
            (place.line(), place.column(), place.text().to_owned())
        };
        assert_eq!(at("1"), (1, 5, "1".into()));
        assert_eq!(at("2"), (2, 6, "2".into()));
        assert_eq!(at("z"), (4, 1, "z".into()));
    }

    #[test]
    fn bad_input_spans_outside_or_inside_a_character() {
        let source = Source::new("a", "é");
        assert_eq!(Place::new(&source, 1..9).text(), "é");
        assert_eq!(Place::new(&source, 9..12).text(), "");
        let empty = Source::new("a", "");
        assert_eq!((Place::new(&empty, 0..0).line(), Place::new(&empty, 0..0).column()), (1, 1));
    }

    #[test]
    fn bad_input_a_line_of_a_megabyte_is_cut() {
        let source = Source::new("a", "é".repeat(500_000));
        let contents = source.read_span(&(500_000, 4).into(), 1, 1).unwrap();
        assert!(contents.data().len() < 1000, "{}", contents.data().len());
        assert!(std::str::from_utf8(contents.data()).is_ok());
    }
}
