//! What a row of the table of a car's numbers says, [`crate::car::table`]: plain data, of which nothing is read here
//! but [`Domain`]. The units and ranges of the car's file are there for its readers and writers.

use crate::car::Group;

/// One number of a car.
#[derive(Clone, Copy, Debug)]
pub struct Row {
    /// Dotted key in the car's file, or the model's word for what the file gives in another form; "1/" in front of it
    /// where the file gives the reciprocal.
    pub key: &'static str,
    /// Its SI unit ("1" for a pure number).
    pub unit: &'static str,
    /// For which values the model is defined.
    pub domain: Domain,
    /// The numbers that it belongs to; `None` for the day's, which a track brings.
    pub group: Option<Group>,
    /// How it is written in the car's file; `None` for what is not.
    pub written: Option<Written>,
}

/// For which values of a number the model is defined, SI.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Domain {
    /// All.
    Any,
    /// x > 0.
    Positive,
    /// x ≥ 0.
    NotNegative,
    /// x ≤ 0.
    NotPositive,
    /// 0 ≤ x ≤ 1.
    Share,
    /// 0 < x < 1.
    Between,
    /// 0 < x ≤ 1.
    PositiveShare,
    /// x ≥ 1.
    FromOne,
}

/// How a number is written in the car's file.
#[derive(Clone, Copy, Debug)]
pub struct Written {
    /// Symbol of the unit in which it is usually written; empty for a pure number.
    pub unit: &'static str,
    /// Least and most possible, in that unit; infinite where "inf" may be written. The ends of [`Domain::Between`] are
    /// not possible themselves.
    pub range: (f64, f64),
    /// What is usual, in that unit: outside it, a warning.
    pub usual: (f64, f64),
    /// Whether it must be there.
    pub need: Need,
    /// What it is, in a few words.
    pub help: &'static str,
    /// The file gives it as the car is weighed, not as it laps.
    pub as_weighed: bool,
}

/// Whether a key must be there.
#[derive(Clone, Copy, Debug)]
pub enum Need {
    /// Always.
    Always,
    /// It may be left out, and then is not known.
    Optional,
    /// It may be left out, and then has this value (SI).
    Else(f64),
    /// When one of these is there.
    With(&'static [&'static str]),
    /// When that choice is one of these words; else it may be left out and then has the value.
    When(&'static str, &'static [&'static str], f64),
}

impl Domain {
    /// Whether the model is defined for this value.
    pub fn holds(self, x: f64) -> bool {
        match self {
            Domain::Any => true,
            Domain::Positive => x > 0.0,
            Domain::NotNegative => x >= 0.0,
            Domain::NotPositive => x <= 0.0,
            Domain::Share => (0.0..=1.0).contains(&x),
            Domain::Between => x > 0.0 && x < 1.0,
            Domain::PositiveShare => x > 0.0 && x <= 1.0,
            Domain::FromOne => x >= 1.0,
        }
    }
}

impl Row {
    /// Its dotted key in the file, and whether the number is the reciprocal of what stands there.
    pub const fn in_file(&self) -> (&'static str, bool) {
        match self.key.as_bytes() {
            [b'1', b'/', ..] => (self.key.split_at(2).1, true),
            _ => (self.key, false),
        }
    }
}

impl Written {
    /// With a warning outside these.
    pub(super) const fn usually(self, least: f64, most: f64) -> Self {
        Self { usual: (least, most), ..self }
    }

    /// Which may be left out, or must be there with others.
    pub(super) const fn need(self, need: Need) -> Self {
        Self { need, ..self }
    }

    /// As the car is weighed.
    pub(super) const fn as_weighed(self) -> Self {
        Self { as_weighed: true, ..self }
    }
}

/// Written in this unit, within a range in it; always there.
pub(super) const fn within(unit: &'static str, least: f64, most: f64, help: &'static str) -> Written {
    let usual = (f64::NEG_INFINITY, f64::INFINITY);
    Written { unit, range: (least, most), usual, need: Need::Always, help, as_weighed: false }
}
