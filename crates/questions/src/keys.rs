//! Which keys and columns there are, with unit, what is possible and what each means: from the tables that the readers
//! read by.

use unladen_garage::{
    ABOARD, AREAS, CAR, Column, FLUID, Key, Kind, LEDGER, LEVEL, LIFT, Need, READINGS, SCALE, Span, TRACK, Table,
    nearest,
};

use crate::error::Asked;

/// A kind of file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum File {
    /// car.toml
    Car,
    /// A track's TOML file
    Track,
    /// ledger.csv
    Ledger,
    /// areas.csv
    Areas,
    /// Scale readings
    Readings,
}

/// A key, or a column.
#[derive(Clone, Debug, PartialEq)]
pub struct Row {
    /// Of which file.
    pub file: File,
    /// Dotted key, or head of the column.
    pub key: String,
    /// The unit in which it is usually written; empty for pure numbers and words.
    pub unit: &'static str,
    /// What may be written there, in words.
    pub possible: String,
    /// Least and most of a number, in that unit.
    pub range: Option<(f64, f64)>,
    /// Whether it must be there, in words.
    pub need: String,
    /// What it is.
    pub means: &'static str,
}

/// Which rows.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Question {
    /// Of this file; none: of all.
    pub file: Option<File>,
    /// With this word in key or meaning; none: all.
    pub word: Option<String>,
}

impl Question {
    /// The rows, in the order of the files.
    ///
    /// # Errors
    /// [`Asked::NoSuchKey`] where none has the word.
    pub fn answer(&self) -> Result<Vec<Row>, Asked> {
        let all: Vec<Row> = every().into_iter().filter(|row| self.file.is_none_or(|file| file == row.file)).collect();
        let Some(word) = &self.word else { return Ok(all) };
        let wanted = word.trim().to_lowercase();
        let has = |text: &str| text.to_lowercase().contains(&wanted);
        let in_key: Vec<Row> = all.iter().filter(|row| has(&row.key)).cloned().collect();
        let found = if in_key.is_empty() { all.iter().filter(|row| has(row.means)).cloned().collect() } else { in_key };
        if !found.is_empty() {
            return Ok(found);
        }
        // The last part of a key alone is what people remember.
        let names = all.iter().flat_map(|row| [row.key.as_str(), row.key.rsplit('.').next().unwrap_or_default()]);
        let hint = nearest(&wanted, names)
            .map_or_else(|| "; `unladen keys` lists them all".to_owned(), |near| format!("; did you mean `{near}`?"));
        Err(Asked::NoSuchKey { given: word.clone(), hint })
    }
}

fn every() -> Vec<Row> {
    let mut all = of_table(File::Car, CAR, "");
    all.extend(of_table(File::Car, ABOARD, "aboard.NAME."));
    all.extend(of_table(File::Car, SCALE, "scales.NAME."));
    all.extend(of_table(File::Track, TRACK, ""));
    all.extend(LEDGER.iter().map(|column| of_column(File::Ledger, column)));
    all.extend(AREAS.iter().map(|column| of_column(File::Areas, column)));
    all.extend(of_table(File::Readings, READINGS, ""));
    for (table, before) in [(LEVEL, "level."), (LIFT, "lift."), (FLUID, "fluid.")] {
        all.extend(of_table(File::Readings, table, before));
    }
    all
}

fn of_table(file: File, table: Table, before: &str) -> Vec<Row> {
    let row = |key: &'static Key| {
        let (unit, possible, range) = written(&key.kind);
        Row {
            file,
            key: format!("{before}{}", key.path),
            unit,
            possible,
            range,
            need: need(&key.need),
            means: key.help,
        }
    };
    table.keys().map(row).collect()
}

fn of_column(file: File, column: &'static Column) -> Row {
    let need = if column.due { "must be there" } else { "may be left out" };
    let (unit, possible, range) = match &column.span {
        Some(span) => number(span),
        None => ("", "words".to_owned(), None),
    };
    Row { file, key: column.name.to_owned(), unit, possible, range, need: need.into(), means: column.help }
}

fn written(kind: &Kind) -> (&'static str, String, Option<(f64, f64)>) {
    let plain = |text: &str| ("", text.to_owned(), None);
    match kind {
        Kind::Schema => plain("1"),
        Kind::Text => plain("a text"),
        Kind::Date => plain("a day, 2026-03-14"),
        Kind::Flag => plain("true or false"),
        Kind::Choice(words) => ("", words.join(", "), None),
        Kind::Quantity(span) => number(span),
        Kind::List(span) => {
            let (unit, possible, range) = number(span);
            (unit, format!("a list of {possible}"), range)
        }
        Kind::Pairs(x, y) => (y.unit, format!("a list of pairs of {}; {}", x.range(), y.range()), Some((y.min, y.max))),
    }
}

fn number(span: &Span) -> (&'static str, String, Option<(f64, f64)>) {
    (span.unit, span.range(), Some((span.min, span.max)))
}

fn need(need: &Need) -> String {
    match need {
        Need::Always => "must be there".into(),
        Need::Optional => "may be left out".into(),
        Need::Else(value) => format!("{value} where left out"),
        Need::With(others) => format!("due with {}", others.join(", ")),
        Need::When(key, words, value) => format!("due where {key} is {}; else {value}", words.join(" or ")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ask(file: Option<File>, word: &str) -> Result<Vec<Row>, String> {
        Question { file, word: Some(word.into()) }.answer().map_err(|e| e.to_string())
    }

    #[test]
    fn closed_form_keys_by_a_word() {
        let rows = ask(None, "wheelbase").unwrap();
        let keys: Vec<(File, &str)> = rows.iter().map(|row| (row.file, row.key.as_str())).collect();
        assert_eq!(keys, [(File::Car, "chassis.wheelbase"), (File::Readings, "car.wheelbase")]);
        assert_eq!((rows[0].unit, rows[0].possible.as_str()), ("mm", "500 … 10000 mm"));
        assert_eq!(ask(Some(File::Ledger), "turns").unwrap().len(), 1);
        assert!(ask(None, "clutch").unwrap().iter().any(|row| row.key == "engine.launch"), "by what it means");
    }

    #[test]
    fn property_every_key_and_column_once() {
        let rows = Question::default().answer().unwrap();
        assert!(rows.len() > 150, "{}", rows.len());
        for (i, row) in rows.iter().enumerate() {
            assert!(!row.key.is_empty() && !row.means.is_empty() && !row.possible.is_empty(), "{row:?}");
            assert!(rows[..i].iter().all(|other| (other.file, &other.key) != (row.file, &row.key)), "{}", row.key);
        }
    }

    #[test]
    fn bad_input_words_of_no_key() {
        assert_eq!(
            ask(None, "weelbase"),
            Err("no key or column has `weelbase` in it; did you mean `wheelbase`?".into())
        );
        assert_eq!(ask(None, "zzz"), Err("no key or column has `zzz` in it; `unladen keys` lists them all".into()));
    }
}
