//! What a key of a file is. The tables built of these rows ([`crate::keys::car`], [`crate::keys::track`]) are read by
//! the reader, `--set`, the missing- and unknown-key messages and the JSON Schema alike: a new key is one new row. The
//! keys that are numbers of the car follow from the model's own table of them ([`numbers`]).

pub mod argument;
pub(crate) mod car;
pub(crate) mod drive;
pub(crate) mod ledger;
pub(crate) mod readings;
pub(crate) mod shop;
pub(crate) mod track;
pub(crate) mod trial;

use unladen_vehicle::car::{Domain, Number, Row};

pub use unladen_vehicle::car::Need;

use crate::measured::{Measured, digits};
use crate::unit::{self, Unit};

/// One key of a file.
#[derive(Clone, Copy, Debug)]
pub struct Key {
    /// Dotted: `tyres.front.reference_load`.
    pub path: &'static str,
    /// What is written there.
    pub kind: Kind,
    /// Whether it must be there.
    pub need: Need,
    /// The number of the car that it is, one to one, or the reciprocal of.
    pub number: Option<Number>,
    /// What it is, in a few words: for messages, and for editors by way of the schema.
    pub help: &'static str,
}

/// What is written at a key.
#[derive(Clone, Copy, Debug)]
pub enum Kind {
    /// The number of the file's format.
    Schema,
    /// Words.
    Text,
    /// A day, "2026-03-14".
    Date,
    /// `true` or `false`.
    Flag,
    /// One of a few words.
    Choice(&'static [&'static str]),
    /// A value.
    Quantity(Span),
    /// A list of values, at least one.
    List(Span),
    /// A list of pairs, at least one.
    Pairs(Span, Span),
}

/// The unit in which a value is usually written, and what is possible, in that unit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Span {
    /// Symbol in [`unit::UNITS`]; empty for a pure number.
    pub unit: &'static str,
    /// Least possible.
    pub min: f64,
    /// Most possible; infinite where "inf" may be written.
    pub max: f64,
    /// The ends themselves are not possible.
    pub open: bool,
    /// What is usual: outside it, a warning.
    pub usual: (f64, f64),
}

/// Nothing is unusual.
const ANY: (f64, f64) = (f64::NEG_INFINITY, f64::INFINITY);

/// All keys of a kind of file, in the order of the file.
#[derive(Clone, Copy, Debug)]
pub struct Table(pub &'static [&'static [Key]]);

impl Table {
    /// Its rows.
    pub fn keys(self) -> impl Iterator<Item = &'static Key> {
        self.0.iter().flat_map(|group| group.iter())
    }

    /// The row of a dotted path.
    pub fn find(self, path: &str) -> Option<&'static Key> {
        self.keys().find(|k| k.path == path)
    }

    /// The names that may stand in the table at this dotted path ("" for the top), in the order of the file.
    pub fn names(self, table: &str) -> Vec<&'static str> {
        let mut names = Vec::new();
        for key in self.keys() {
            let below = match table {
                "" => Some(key.path),
                table => key.path.strip_prefix(table).and_then(|rest| rest.strip_prefix('.')),
            };
            if let Some(name) = below.and_then(|b| b.split('.').next())
                && !names.contains(&name)
            {
                names.push(name);
            }
        }
        names
    }

    /// Whether a table stands at this dotted path.
    pub fn is_table(self, path: &str) -> bool {
        self.keys().any(|k| k.path.strip_prefix(path).is_some_and(|rest| rest.starts_with('.')))
    }
}

impl Span {
    /// The same, with a warning outside these.
    pub const fn usually(self, least: f64, most: f64) -> Span {
        Span { usual: (least, most), ..self }
    }

    /// Whether an SI value is usual.
    pub fn expects(&self, si: f64) -> bool {
        let x = self.unit().from_si(si);
        let slack = 1e-9 * x.abs();
        x >= self.usual.0 - slack && x <= self.usual.1 + slack || x.is_infinite()
    }

    /// The unit, from the table of units.
    pub fn unit(&self) -> &'static Unit {
        match self.unit {
            "" => &unit::UNITS[0],
            symbol => unit::find(symbol).unwrap_or(&unit::UNITS[0]),
        }
    }

    /// Whether an SI value is possible.
    pub fn allows(&self, si: f64) -> bool {
        let x = self.unit().from_si(si);
        let slack = 1e-12 * x.abs().min(1e12);
        if self.open { x > self.min && x < self.max } else { x >= self.min - slack && x <= self.max + slack }
    }

    /// What is possible, for a message: "500 … 10000 mm".
    pub fn range(&self) -> String {
        let text = if self.open {
            format!("{} … {}, both excluded", digits(self.min), digits(self.max))
        } else {
            format!("{} … {}", digits(self.min), digits(self.max))
        };
        if self.unit.is_empty() { text } else { format!("{text} {}", self.unit) }
    }

    /// What is usual, for a message.
    pub(crate) fn usual_range(&self) -> String {
        let text = match self.usual {
            (least, f64::INFINITY) => format!("at least {}", digits(least)),
            (f64::NEG_INFINITY, most) => format!("at most {}", digits(most)),
            (least, most) => format!("{} … {}", digits(least), digits(most)),
        };
        if self.unit.is_empty() { text } else { format!("{text} {}", self.unit) }
    }

    /// An SI value as it is written in a file: a bare number, or a quoted text with its unit.
    pub fn write(&self, value: Measured) -> String {
        if self.unit.is_empty() && value.sd == 0.0 {
            return value.show(self.unit());
        }
        format!("\"{}\"", value.show(self.unit()))
    }
}

/// A pure number within a range.
pub const fn pure(min: f64, max: f64) -> Span {
    Span { unit: "", min, max, open: false, usual: ANY }
}

/// A pure number between two ends that are not possible themselves.
pub const fn between(min: f64, max: f64) -> Span {
    Span { unit: "", min, max, open: true, usual: ANY }
}

/// A value with a unit, within a range in that unit.
pub const fn within(unit: &'static str, min: f64, max: f64) -> Span {
    Span { unit, min, max, open: false, usual: ANY }
}

/// A row that the reader hands on by its path.
pub const fn key(path: &'static str, kind: Kind, need: Need, help: &'static str) -> Key {
    Key { path, kind, need, number: None, help }
}

/// A row that is one of the car's numbers.
pub const fn number(path: &'static str, span: Span, need: Need, number: Number, help: &'static str) -> Key {
    Key { path, kind: Kind::Quantity(span), need, number: Some(number), help }
}

/// What may be written for a number of the car.
pub(crate) const fn span(row: &Row) -> Span {
    match row.written {
        Some(w) => {
            let open = matches!(row.domain, Domain::Between);
            Span { unit: w.unit, min: w.range.0, max: w.range.1, open, usual: w.usual }
        }
        None => pure(0.0, 0.0),
    }
}

/// Whether a number's row is written in this table of the car's file: `chassis.` and the like.
const fn belongs(row: &Row, table: &str) -> bool {
    let (path, table) = (row.in_file().0.as_bytes(), table.as_bytes());
    let mut i = 0;
    while i < table.len() && i < path.len() && path[i] == table[i] {
        i += 1;
    }
    i == table.len() && row.written.is_some()
}

/// The key under which both axles' tyres have what this key of one axle says: of `tyres.front.rolling_radius`
/// `tyres.rolling_radius`.
pub(crate) fn shared(path: &str) -> Option<String> {
    let name = path.strip_prefix("tyres.front.").or(path.strip_prefix("tyres.rear."))?;
    Some(format!("tyres.{name}"))
}

/// A number of both axles' tyres, under a key of its own.
pub(crate) const fn of_both(path: &'static str, front: Number) -> Key {
    let help = match front.row().written {
        Some(written) => written.help,
        None => "",
    };
    key(path, Kind::Quantity(span(front.row())), Need::Optional, help)
}

/// How many numbers of the car are written in this table of its file.
pub(crate) const fn count(table: &str) -> usize {
    let (mut n, mut i) = (0, 0);
    while i < Number::ROWS.len() {
        n += belongs(&Number::ROWS[i], table) as usize;
        i += 1;
    }
    n
}

/// The keys of a table of the car's file: the numbers that belong there, in the order of the model's table, and keys of
/// the file's own, each with its place among all `N`.
pub(crate) const fn numbers<const N: usize>(table: &str, own: &[(usize, Key)]) -> [Key; N] {
    let mut all = [key("", Kind::Flag, Need::Optional, ""); N];
    let (mut n, mut own_n, mut i) = (0, 0, 0);
    while n < N {
        if own_n < own.len() && own[own_n].0 == n {
            all[n] = own[own_n].1;
            own_n += 1;
            n += 1;
            continue;
        }
        let row = &Number::ROWS[i];
        if let Some(written) = row.written
            && belongs(row, table)
        {
            let number = if written.as_weighed { None } else { Some(Number::Fixed(i)) };
            all[n] = Key {
                path: row.in_file().0,
                kind: Kind::Quantity(span(row)),
                need: written.need,
                number,
                help: written.help,
            };
            n += 1;
        }
        i += 1;
    }
    all
}

impl Key {
    /// The car's number for what is written here, and its slope over it.
    pub(crate) fn to_number(self, written: f64) -> (f64, f64) {
        match self.number.map(|number| number.row().in_file().1) {
            Some(true) => (1.0 / written, -1.0 / (written * written)),
            _ => (written, 1.0),
        }
    }

    /// How a line with this key looks, for a message about one that is missing.
    pub fn example(&self) -> String {
        let name = self.path.rsplit('.').next().unwrap_or(self.path);
        let value = match &self.kind {
            Kind::Schema => "1".into(),
            Kind::Text => "\"…\"".into(),
            Kind::Date => "\"2026-03-14\"".into(),
            Kind::Flag => "true".into(),
            Kind::Choice(choices) => format!("\"{}\"", choices.first().unwrap_or(&"")),
            Kind::Quantity(s) => s.example(),
            Kind::List(s) => format!("[{}, …]", s.example()),
            Kind::Pairs(x, y) => format!("[[{}, {}], …]", x.example(), y.example()),
        };
        format!("{name} = {value}")
    }
}

impl Span {
    fn example(&self) -> String {
        if self.unit.is_empty() { "…".into() } else { format!("\"… {}\"", self.unit) }
    }
}
