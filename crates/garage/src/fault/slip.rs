//! The usual mistakes in a mass budget, in words: each is possible, and each deserves a second look before it is
//! believed.

use thiserror::Error;

use crate::unit::LB;

/// A likely mistake, and the rows that it is about.
#[derive(Clone, Debug, PartialEq, Error)]
#[allow(missing_docs)]
pub enum Slip {
    #[error("{item} comes off twice, here and in line {other}")]
    RemovedTwice { item: String, other: usize },
    #[error("{part} may be counted in {whole} of line {other} already")]
    PartOfAssembly { part: String, whole: String, other: usize },
    #[error("{item} gets heavier, {before_kg} to {after_kg} kg, without a note why")]
    Heavier { item: String, before_kg: f64, after_kg: f64 },
    #[error("{item} and {with} exclude each other, and both are done (line {other})")]
    BothDone { item: String, with: String, other: usize },
    #[error("{item} {which}, at {axis} {mm:.0} mm, is outside the car")]
    Outside { item: String, which: &'static str, axis: char, mm: f64 },
    #[error("{item} counts as weighed, but {why}")]
    QuotedAsWeighed { item: String, why: String },
    #[error("{item}: {kg} kg; typed in grams?")]
    Grams { item: String, kg: f64 },
    #[error("{item}: {kg} kg; typed in pounds? ({why})")]
    Pounds { item: String, kg: f64, why: String },
    #[error("{item} is done, but needs {with} of line {other}, which is not")]
    NeedsUndone { item: String, with: String, other: usize },
    #[error("group `{group}` is done in part: {item} is not")]
    HalfAGroup { group: String, item: String },
}

impl Slip {
    pub(crate) fn hint(&self) -> Option<String> {
        Some(match self {
            Slip::RemovedTwice { .. } => "remove one of the rows, or tell them apart by name (left, right)".into(),
            Slip::PartOfAssembly { .. } => {
                "remove one of the rows, or say in a note that the assembly came off without it".into()
            }
            Slip::Heavier { .. } => "before and after swapped? else say why in `note`".into(),
            Slip::BothDone { .. } => "one of them is in the car: mark the other planned or idea".into(),
            Slip::Outside { .. } => {
                "x behind the front axle, y right of the centre plane, z above ground, all in mm".into()
            }
            Slip::QuotedAsWeighed { .. } => "put it on a scale and name that, or say `quoted`".into(),
            Slip::Grams { kg, .. } => format!("{} kg would be {kg} g", kg / 1000.0),
            Slip::Pounds { kg, .. } => format!("{kg} lb would be {:.2} kg", kg * LB),
            Slip::NeedsUndone { .. } => "mark that one done, or this one not".into(),
            Slip::HalfAGroup { .. } => "rows of a group happen together".into(),
        })
    }
}
