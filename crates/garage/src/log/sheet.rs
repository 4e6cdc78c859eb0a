//! The shape of a log's text: encoding, lines before the table, separator, decimal comma, names, units.

use super::error::LogError;

/// A text with a table in it.
#[derive(Debug)]
pub(crate) struct Sheet {
    pub(crate) text: String,
    pub(crate) delimiter: char,
    pub(crate) decimal_comma: bool,
    /// Column names as written, without their units.
    pub(crate) names: Vec<String>,
    /// Column names as they stand, units and all.
    pub(crate) heads: Vec<String>,
    /// Unit of each column where one is written.
    pub(crate) units: Vec<Option<String>>,
    /// Byte and line (from 1) where numbers begin.
    pub(crate) start: (usize, usize),
    /// Lines before the names.
    pub(crate) skipped: usize,
    pub(crate) encoding: &'static str,
}

/// Lines looked at for the shape.
const LOOK: usize = 400;
/// Columns of a table.
const WIDE: usize = 2000;
/// Rows of numbers that make a table.
pub(crate) const ROWS: usize = 3;

/// The text of a file's bytes: as its mark says, UTF-8, or the old one-byte set.
pub(crate) fn decode(bytes: &[u8]) -> Result<(String, &'static str), LogError> {
    if let Some((encoding, mark)) = encoding_rs::Encoding::for_bom(bytes) {
        let (text, broken) = encoding.decode_without_bom_handling(&bytes[mark..]);
        if broken {
            return Err(LogError::NotText { reason: "it breaks the encoding that it begins with" });
        }
        return Ok((text.into_owned(), encoding.name()));
    }
    if bytes[..bytes.len().min(4096)].contains(&0) {
        return Err(LogError::NotText { reason: "it is binary" });
    }
    match std::str::from_utf8(bytes) {
        Ok(text) => Ok((text.to_owned(), "UTF-8")),
        Err(_) => Ok((encoding_rs::WINDOWS_1252.decode_without_bom_handling(bytes).0.into_owned(), "windows-1252")),
    }
}

/// The fields of a line; quotes hold a separator, and two of them stand for one.
pub(crate) fn fields(line: &str, delimiter: char) -> impl Iterator<Item = &str> {
    let mut rest = Some(line);
    std::iter::from_fn(move || {
        let line = rest?;
        let from = line.trim_start_matches(' ');
        let end = if let Some(quoted) = from.strip_prefix('"') {
            let skipped = line.len() - from.len();
            let close = quoted.find('"').map_or(from.len(), |c| c + 2);
            from[close..].find(delimiter).map(|i| skipped + close + i)
        } else {
            line.find(delimiter)
        };
        let field = end.map_or(line, |e| &line[..e]);
        rest = end.map(|e| &line[e + delimiter.len_utf8()..]);
        Some(field.trim().trim_matches('"').trim())
    })
}

/// Whether a field is a number, a time or a position: it begins with a digit, or with the letter of a half of the
/// earth, and has few letters.
fn numeric(field: &str) -> bool {
    let letters = field.chars().filter(|c| c.is_alphabetic()).count();
    let digits = field.chars().filter(char::is_ascii_digit).count();
    let bare = field.strip_prefix(['N', 'S', 'E', 'W']).map_or(field, str::trim_start);
    // Another separator within: this is not the one.
    let whole = !field.contains([';', '\t', '|']);
    whole
        && digits > 0
        && letters <= 3
        && digits > letters
        && bare.chars().next().is_some_and(|c| c.is_ascii_digit() || "+-.,−".contains(c))
        || matches!(field.to_ascii_lowercase().as_str(), "nan" | "inf" | "-nan" | "null" | "n/a")
}

impl Sheet {
    /// A fault of a line with the text of its cell.
    pub(crate) fn with_cell(&self, fault: LogError, column: usize) -> LogError {
        match fault {
            LogError::TimeBack { line, back_s, .. } => {
                let row = self.text[self.start.0..].lines().nth(line - self.start.1).unwrap_or("");
                let cell = fields(row, self.delimiter).nth(column).unwrap_or("");
                LogError::TimeBack { line, back_s, text: cell.chars().take(40).collect() }
            }
            other => other,
        }
    }

    pub(crate) fn parse(bytes: &[u8]) -> Result<Sheet, LogError> {
        let (text, encoding) = decode(bytes)?;
        let mut at = 0;
        let lines: Vec<(usize, &str)> = text
            .split_inclusive('\n')
            .take(LOOK)
            .map(|line| {
                let from = at;
                at += line.len();
                (from, line.trim_end_matches(['\r', '\n']))
            })
            .collect();
        let best = [',', ';', '\t', '|']
            .into_iter()
            .filter_map(|d| table(&lines, d).map(|(line, width, rows)| (rows * width.min(40), d, line, width)))
            .max_by_key(|b| b.0);
        let Some((_, delimiter, first, width)) = best else { return Err(LogError::NoTable { least: ROWS }) };
        if width > WIDE {
            return Err(LogError::Wide { most: WIDE });
        }
        let body = &lines[first..];
        let decimal_comma = delimiter != ',' && {
            let has = |p: char| body.iter().flat_map(|l| fields(l.1, delimiter)).filter(|f| f.contains(p)).count();
            has(',') > has('.')
        };
        // Names are the nearest line above with as many fields and a letter; units may stand between.
        let above: Vec<usize> = (0..first)
            .rev()
            .filter(|i| {
                let all: Vec<&str> = fields(lines[*i].1, delimiter).collect();
                all.len().abs_diff(width) <= 1
                    && all.len() > 1
                    && all.iter().any(|f| f.chars().any(char::is_alphabetic))
            })
            .take(3)
            .collect();
        // Some put a mark of a comment before the names.
        let row = |i: usize| -> Vec<String> {
            let bare = lines[i].1.trim_start_matches([' ', '#', '%', '/']);
            fields(bare, delimiter).map(String::from).collect()
        };
        let (names, units, named) = match above[..] {
            [] => ((1..=width).map(|i| i.to_string()).collect(), Vec::new(), first),
            [units, names, ..] if names + 1 == units && is_units(&row(units)) => (row(names), row(units), names),
            [names, ..] => (row(names), Vec::new(), names),
        };
        let heads = names.clone();
        let (names, units) = split_units(names, &units, width);
        Ok(Sheet {
            heads,
            delimiter,
            decimal_comma,
            names,
            units,
            start: (lines[first].0, first + 1),
            skipped: named,
            encoding,
            text,
        })
    }
}

/// First line, width and number of rows of the table that this separator makes.
fn table(lines: &[(usize, &str)], delimiter: char) -> Option<(usize, usize, usize)> {
    let shape = |line: &str| {
        let all: Vec<&str> = fields(line, delimiter).collect();
        let (filled, numbers) =
            (all.iter().filter(|f| !f.is_empty()).count(), all.iter().filter(|f| numeric(f)).count());
        (all.len() > 1 && numbers > 0 && 2 * numbers >= filled).then_some(all.len())
    };
    let mut best: Option<(usize, usize, usize)> = None;
    let mut i = 0;
    while i < lines.len() {
        let Some(width) = shape(lines[i].1) else {
            i += 1;
            continue;
        };
        let rows = lines[i..].iter().take_while(|l| l.1.trim().is_empty() || shape(l.1) == Some(width)).count();
        if rows >= ROWS && best.is_none_or(|b| rows * width > b.1 * b.2) {
            best = Some((i, width, rows));
        }
        i += rows.max(1);
    }
    best
}

fn known_unit(word: &str) -> bool {
    let bare = word.trim_matches(['[', ']', '(', ')']);
    super::Quantity::ALL.iter().any(|q| q.unit(bare).is_some())
}

fn is_units(row: &[String]) -> bool {
    let filled: Vec<&String> = row.iter().filter(|f| !f.is_empty()).collect();
    let units = filled.iter().filter(|f| known_unit(f) || f.starts_with(['[', '('])).count();
    !filled.is_empty() && 2 * units >= filled.len()
}

/// `Speed (km/h)`, `Speed [km/h]`, `speed_kmh`: name and unit apart.
fn split_units(names: Vec<String>, units: &[String], width: usize) -> (Vec<String>, Vec<Option<String>>) {
    let mut out = (Vec::new(), Vec::new());
    for i in 0..width {
        let name = names.get(i).cloned().unwrap_or_default();
        let own = units.get(i).map(|u| u.trim_matches(['[', ']', '(', ')']).to_string()).filter(|u| !u.is_empty());
        let inside = [('(', ')'), ('[', ']')].iter().find_map(|(open, close)| {
            let (from, to) = (name.rfind(*open)?, name.rfind(*close)?);
            (from < to).then(|| (name[..from].trim().to_string(), name[from + 1..to].trim().to_string()))
        });
        let suffix = name.rsplit_once(['_', ' ', '/']).and_then(|(head, tail)| {
            let unit = tail.replace("mps2", "m/s2");
            // `x_m`, `t_s`; other single letters are names more often than units.
            let short = name.ends_with("_m") || name.ends_with("_s");
            let long = known_unit(&unit) && unit.len() > 1 && head.len() > 1 && unit != "min" && unit != "1e7";
            (short || long).then(|| (head.to_string(), unit))
        });
        match inside.or(suffix) {
            Some((bare, unit)) => {
                out.0.push(bare);
                out.1.push(own.or(Some(unit).filter(|u| !u.is_empty())));
            }
            None => {
                out.0.push(name);
                out.1.push(own);
            }
        }
    }
    out
}
