//! A log's fault at its cell, to be underlined as faults of the other files are.

use super::error::LogError;
use super::sheet::{decode, fields};
use crate::fault::finding::{Explain, Located};
use crate::fault::source::{Place, Source};

impl LogError {
    /// Line and cell that it is about, as they stand in the file.
    fn cell(&self) -> Option<(usize, &str)> {
        match self {
            LogError::TimeBack { line, text, .. } | LogError::Unread { line, text, .. } => Some((*line, text)),
            LogError::NoNames { line } | LogError::Stopped { line } => Some((*line, "")),
            _ => None,
        }
    }
}

impl Explain for LogError {
    fn label(&self) -> String {
        match self {
            LogError::TimeBack { .. } => "earlier than the row before".into(),
            LogError::Unread { key, .. } => format!("no {key}"),
            LogError::Stopped { .. } => "from here on, the same time".into(),
            LogError::NoNames { .. } => "numbers, and no line of names above".into(),
            _ => "here".into(),
        }
    }

    fn hint(&self) -> Option<String> {
        Some(match self {
            LogError::TimeBack { .. } => "cut the file there, or take the rows out".into(),
            LogError::Unread { name, key, .. } => {
                format!("if {name} is not {key}, say which column is: --column {key}=NAME")
            }
            LogError::NoNames { .. } => "--column time=1 says that the first column is the time".into(),
            _ => return None,
        })
    }
}

/// A log's fault with the cell that it is about; without a place where it is about the whole file.
pub fn point_at(file: &str, bytes: &[u8], what: LogError) -> Located<LogError> {
    let place = what.cell().and_then(|(line, cell)| {
        let (text, _) = decode(bytes).ok()?;
        let row = text.split_inclusive('\n').nth(line - 1)?;
        let start = row.as_ptr() as usize - text.as_ptr() as usize;
        let row = row.trim_end();
        // The cell whole, not the same characters within another; a long one is known by its beginning.
        let same = |f: &&str| *f == cell || (cell.chars().count() >= 40 && f.starts_with(cell));
        let within = [',', ';', '\t', '|']
            .into_iter()
            .filter_map(|d| fields(row, d).find(same))
            .filter(|_| !cell.is_empty())
            .min_by_key(|f| f.len())
            .map_or(0..row.len(), |f| {
                let from = f.as_ptr() as usize - row.as_ptr() as usize;
                from..from + f.len()
            });
        Some(Place::new(&Source::new(file, text.clone()), start + within.start..start + within.end))
    });
    Located { what, place }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fault::finding::Style;
    use crate::log::{Mapping, read_log};

    fn rendered(text: &str) -> (String, usize, usize) {
        let what = read_log(text.as_bytes(), &Mapping::default()).unwrap_err();
        let found = point_at("log.csv", text.as_bytes(), what);
        let place = found.place.clone().unwrap();
        (found.render(Style::PLAIN), place.line(), place.column())
    }

    #[test]
    fn bad_input_a_cell_is_underlined() {
        let back = "time [s],speed [km/h]\n10.0,30\n11.0,31\n12.0,32\n2.0,33\n3.0,34\n";
        let (drawn, line, column) = rendered(back);
        assert_eq!((line, column), (5, 1), "{drawn}");
        assert!(drawn.contains("2.0,33") && drawn.contains("earlier than the row before"), "{drawn}");
        let unread = "time [s];speed [km/h];x [m];y [m]\n1;n/a;10;20\n2;n/a;11;21\n3;n/a;12;22\n4;n/a;12;23\n";
        let (drawn, line, column) = rendered(unread);
        assert_eq!((line, column), (2, 3), "{drawn}");
        assert!(drawn.contains("no speed"), "{drawn}");
    }
}
