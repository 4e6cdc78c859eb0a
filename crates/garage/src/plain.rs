//! Text from files without what steers a terminal.

use std::borrow::Cow;

/// Whether a character steers what it is shown on: control characters, and those that turn the direction of writing.
pub(crate) fn steers(c: char) -> bool {
    c.is_control()
        || matches!(c, '\u{2028}' | '\u{2029}' | '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
}

/// A text that is shown, line ends and tabs kept: what steers is replaced, each by a character of as many bytes, so that
/// places in it stay.
pub fn plain(text: &str) -> Cow<'_, str> {
    let bad = |c: char| steers(c) && !matches!(c, '\n' | '\t' | '\r');
    if !text.contains(bad) {
        return text.into();
    }
    let shown = |c: char| match c.len_utf8() {
        _ if !bad(c) => c,
        1 => '?',
        2 => '¿',
        _ => '\u{fffd}',
    };
    text.chars().map(shown).collect::<String>().into()
}

/// A name as it is typed or taken from a file of another format: in one line, of characters that can be seen.
///
/// # Errors
/// What is wrong, in words.
pub fn name(text: &str) -> Result<String, String> {
    match text.chars().find(|c| steers(*c)) {
        _ if text.trim().is_empty() => Err("a name is due".into()),
        Some(c) => Err(format!("a name has no {}", c.escape_unicode())),
        None => Ok(text.trim().to_owned()),
    }
}

/// What a spreadsheet would take for a formula, as a cell that it shows: with an apostrophe before it, as spreadsheets
/// themselves write a text. [`from_cell`] reads it back.
pub fn to_cell(text: &str) -> Cow<'_, str> {
    if formula(text.trim_start_matches('\'')) { format!("'{text}").into() } else { text.into() }
}

/// The text of such a cell.
pub fn from_cell(cell: &str) -> &str {
    match cell.strip_prefix('\'') {
        Some(text) if formula(text.trim_start_matches('\'')) => text,
        _ => cell,
    }
}

fn formula(text: &str) -> bool {
    text.starts_with(['=', '@', '+', '-', '\t', '\r'])
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn closed_form_what_is_shown() {
        assert_eq!(plain("a\u{1b}[31mb\u{9b}c\u{202e}d\n"), "a?[31mb¿c\u{fffd}d\n");
        assert_eq!(to_cell("=SUM(A1)"), "'=SUM(A1)");
        // However many apostrophes there are: one is added, and one taken off again.
        assert_eq!((to_cell("''=1"), from_cell("'''=1"), from_cell("''=1")), ("'''=1".into(), "''=1", "'=1"));
        assert_eq!((to_cell("'tis"), to_cell("seat - left")), ("'tis".into(), "seat - left".into()));
    }

    proptest! {
        #[test]
        fn property_shown_keeps_places_and_cells_read_back(text in "[\\PC'=@+\\-\u{1b}\u{9b}]{0,12}") {
            prop_assert_eq!(plain(&text).len(), text.len());
            let clean = !plain(&text).contains(['\u{1b}', '\u{9b}']);
            prop_assert!(clean);
            let cell = to_cell(&text);
            prop_assert_eq!(from_cell(&cell), text.as_str());
            prop_assert!(!formula(&cell));
        }
    }
}
