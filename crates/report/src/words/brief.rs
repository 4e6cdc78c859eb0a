//! The answer first: what every command prints unless `--detail` is asked for. A verdict in a sentence with its one number and
//! interval, the table that decides, what it hangs on, a line for what isn't modelled, and cautions.

use crate::words::change::Change;
use crate::words::table::{COLUMNS, Table, facts, paragraph, printable};

/// Which of the two texts of an answer.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Length {
    /// The answer first, and what it takes to act on it.
    #[default]
    Brief,
    /// All that is known about it.
    Whole,
}

/// The one number of a verdict.
#[derive(Clone, Debug, PartialEq)]
pub enum Headline {
    /// How much quicker or slower.
    Change(Change),
    /// Any other, with its unit, and its 90 % interval where something is uncertain.
    Number(String, Option<[String; 2]>),
    /// There is none.
    Nothing,
}

/// The verdict of an answer: a sentence that a friend would say, and its number.
#[derive(Clone, Debug, PartialEq)]
pub struct Verdict {
    /// The sentence, without its stop.
    pub says: String,
    /// Its number.
    pub number: Headline,
}

impl Verdict {
    /// With how much quicker or slower.
    pub fn change(says: impl Into<String>, change: Change) -> Self {
        Self { says: says.into(), number: Headline::Change(change) }
    }

    /// With a number as text.
    pub fn number(says: impl Into<String>, value: impl Into<String>, interval: Option<[String; 2]>) -> Self {
        Self { says: says.into(), number: Headline::Number(value.into(), interval) }
    }

    /// In words alone.
    pub fn words(says: impl Into<String>) -> Self {
        Self { says: says.into(), number: Headline::Nothing }
    }

    /// The whole sentence: `Leave the tank where it is: 0.042 s slower (90 %: 0.023 to 0.062).`
    pub fn sentence(&self) -> String {
        let says = printable(&self.says);
        match &self.number {
            Headline::Change(change) => format!("{says}: {}.", change.words()),
            Headline::Number(value, Some([low, high])) => format!("{says} {value} (90 %: {low} to {high})."),
            Headline::Number(value, None) => format!("{says} {value}."),
            Headline::Nothing => format!("{says}."),
        }
    }
}

/// A text with the answer first.
#[derive(Clone, Debug)]
pub struct Brief {
    top: String,
    facts: Vec<(&'static str, String)>,
    cautions: Vec<String>,
}

/// What isn't modelled, in a line; `docs/model.md` §9 and `--detail` have it whole.
pub const NOT_MODELLED: &str = "transients, tyre heat and wear, another line, the driver's skill";
/// Laps are driven.
pub const AT_THE_LIMIT: &str = "laps at the limit: on a closed track only, in a sound car";
/// How to see more.
const MORE: &str = "All of it: the same command with --detail.";

impl Brief {
    /// Opens with the verdict; `about` says of what car, where.
    pub fn new(verdict: &Verdict, about: &str) -> Self {
        let top = paragraph(&verdict.sentence());
        Self { top, facts: Vec::new(), cautions: Vec::new() }.note(&printable(about))
    }

    /// More of the verdict, in the same paragraph's place: a second day, a second track.
    pub fn also(mut self, verdict: &Verdict) -> Self {
        self.top += &paragraph(&verdict.sentence());
        self
    }

    /// A table that decides.
    pub fn table(mut self, table: &Table) -> Self {
        self.top += &format!("\n{}", table.within(COLUMNS));
        self
    }

    /// Beneath a table.
    pub fn note(mut self, words: &str) -> Self {
        if !words.is_empty() {
            self.top += &paragraph(words);
        }
        self
    }

    /// One fact in a line: what it hangs on, what a stopwatch sees.
    pub fn fact(mut self, what: &'static str, words: impl Into<String>) -> Self {
        self.facts.push((what, words.into()));
        self
    }

    /// The same where there is something to say.
    pub fn perhaps(self, what: &'static str, words: Option<String>) -> Self {
        match words {
            Some(words) => self.fact(what, words),
            None => self,
        }
    }

    /// Laps stand behind it: what isn't modelled, and what laps are.
    pub fn of_laps(self) -> Self {
        self.fact("not modelled", NOT_MODELLED).fact("caution", AT_THE_LIMIT)
    }

    /// A warning that is never cut.
    pub fn safety(mut self, words: &str) -> Self {
        self.cautions.push(paragraph(words));
        self
    }

    /// The whole of it.
    pub fn text(self) -> String {
        let mut out = self.top;
        if !self.facts.is_empty() {
            out += &format!("\n{}", facts(&self.facts));
        }
        for caution in self.cautions {
            out += &format!("\n{caution}");
        }
        out + MORE + "\n"
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::words::table::Align;

    #[test]
    fn closed_form_a_text_with_the_answer_first() {
        let change = Change { quicker_s: -0.0517, interval: Some([-0.062, -0.023]), error_s: 1e-5 };
        let verdict = Verdict::change("Leave it where it is", change);
        let mut table = Table::new(&[("what", Align::Left), ("ms", Align::Point)]);
        table.row(&["tank", "12"]);
        let text = Brief::new(&verdict, "Saloon on Airfield").table(&table).fact("hangs on", "drag").of_laps();
        let want = "\
Leave it where it is: 0.052 s slower (90 %: 0.023 to 0.062).
Saloon on Airfield

what  ms
tank  12

hangs on      drag
not modelled  transients, tyre heat and wear, another line, the driver's skill
caution       laps at the limit: on a closed track only, in a sound car

SAFETY: look.
All of it: the same command with --detail.
";
        assert_eq!(text.safety("SAFETY: look.").text(), want);
        let number = Verdict::number("A lap takes", "1:15.98", Some(["1:15.0".into(), "1:16.9".into()]));
        assert_eq!(number.sentence(), "A lap takes 1:15.98 (90 %: 1:15.0 to 1:16.9).");
        assert_eq!(Verdict::words("All is well").sentence(), "All is well.");
    }
}
