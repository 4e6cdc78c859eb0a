//! In which state a car is asked about.

use unladen_garage::nearest;
use unladen_vehicle::entry::State as Row;

use crate::error::Asked;

/// What of its ledger is in the car.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum As {
    /// What was in it when it was weighed.
    Weighed,
    /// What has been done since as well: the car as it stands.
    #[default]
    Now,
    /// All that is planned and can be together as well.
    Planned,
    /// And the ideas.
    Ideas,
}

impl As {
    /// All, in the order of their coming.
    pub const ALL: [As; 4] = [As::Weighed, As::Now, As::Planned, As::Ideas];

    /// As it is typed, and its key in JSON.
    pub fn word(self) -> &'static str {
        match self {
            As::Weighed => "weighed",
            As::Now => "now",
            As::Planned => "planned",
            As::Ideas => "planned+ideas",
        }
    }

    /// As it is said of a car.
    pub fn said(self) -> &'static str {
        match self {
            As::Weighed => "as weighed",
            As::Now => "as it stands now",
            As::Planned => "as planned",
            As::Ideas => "as planned, with the ideas",
        }
    }

    /// From what was typed.
    ///
    /// # Errors
    /// [`Asked::State`], with the nearest word.
    pub fn parse(given: &str) -> Result<Self, Asked> {
        let text = given.trim();
        As::ALL.into_iter().find(|state| state.word().eq_ignore_ascii_case(text)).ok_or_else(|| {
            let words = As::ALL.map(As::word);
            Asked::State { given: given.into(), hint: hint(text, words.into_iter()), all: words.join(", ") }
        })
    }

    /// States of rows that are added to what is done.
    pub(crate) fn rows(self) -> &'static [Row] {
        match self {
            As::Weighed | As::Now => &[],
            As::Planned => &[Row::Planned],
            As::Ideas => &[Row::Planned, Row::Idea],
        }
    }
}

/// A state, and what is to be in the car or not besides.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct State {
    /// What of the ledger is in it.
    pub of: As,
    /// Rows or groups of the ledger, or names of `[aboard]`, that are in it too, with what they can't be without.
    pub with: Vec<String>,
    /// The same that are not, with what can't be without them.
    pub without: Vec<String>,
    /// What of it sits elsewhere.
    pub moved: Vec<Moved>,
}

/// Something of a car that sits elsewhere than its files say.
#[derive(Clone, Debug, PartialEq)]
pub struct Moved {
    /// `fuel tank`, or an item of the ledger that is in the car.
    pub item: String,
    /// By how much, m back, right, up.
    pub by: [f64; 3],
}

impl State {
    /// Of a word.
    pub fn of(of: As) -> Self {
        Self { of, ..Self::default() }
    }
}

/// `; did you mean ...?`
pub(crate) fn hint<'a>(given: &str, known: impl Iterator<Item = &'a str>) -> String {
    nearest(given, known).map_or_else(String::new, |near| format!("; did you mean `{near}`?"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bad_input_states_that_are_none() {
        assert_eq!(As::parse(" Now ").unwrap(), As::Now);
        assert_eq!(As::parse("planned+ideas").unwrap(), As::Ideas);
        let said = As::parse("planed").unwrap_err().to_string();
        assert!(said.contains("did you mean `planned`") && said.contains("weighed, now"), "{said}");
    }
}
