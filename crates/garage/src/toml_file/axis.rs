//! An axis of a sweep as it is typed: `1000kg..1300kg:21`, from, to and how many values; or one value alone.

use std::ops::Range;

use crate::fault::axis::AxisProblem;
use crate::fault::finding::FileErrors;
use crate::fault::source::{Place, Source};
use crate::fault::{Fault, Wrong};
use crate::keys::Span;
use crate::measured;

/// An axis as typed: from, to (SI), and how many values.
pub type AxisTyped = (f64, f64, u64);

/// Reads an axis of an option.
///
/// # Errors
/// What is wrong with it, at its place.
pub fn axis(option: &str, text: &str, span: Span) -> Result<AxisTyped, FileErrors> {
    let source = Source::new(option, text);
    let typed = Typed { option, text, span };
    typed.read().map_err(|(fault, at)| FileErrors::one(fault, &Place::new(&source, at)))
}

struct Typed<'a> {
    option: &'a str,
    text: &'a str,
    span: Span,
}

impl Typed<'_> {
    fn read(&self) -> Result<AxisTyped, (Fault, Range<usize>)> {
        let (text, whole) = (self.text, 0..self.text.len());
        let Some(dots) = text.find("..") else {
            return match text.contains(':') {
                true => Err(self.problem(AxisProblem::Form, whole)),
                false => self.value(whole).map(|x| (x, x, 1)),
            };
        };
        let Some(colon) = text.rfind(':').filter(|colon| *colon > dots) else {
            return Err(self.problem(AxisProblem::Form, whole));
        };
        let (from, to) = (self.value(0..dots)?, self.value(dots + 2..colon)?);
        let given = text[colon + 1..].trim();
        match given.parse::<u64>() {
            Ok(1) if from != to => Err(self.problem(AxisProblem::OneForTwo, colon + 1..text.len())),
            Ok(count) if count > 0 => Ok((from, to, count)),
            _ => Err(self.problem(AxisProblem::Count { given: given.into() }, colon + 1..text.len())),
        }
    }

    fn value(&self, at: Range<usize>) -> Result<f64, (Fault, Range<usize>)> {
        let own = &self.text[at.clone()];
        let wrong = |wrong: Wrong, part: Range<usize>| {
            (Fault::Value { key: self.option.into(), wrong }, at.start + part.start..at.start + part.end)
        };
        let unit = self.span.unit();
        let read = measured::parse(own, unit.dimension, unit.symbol);
        let (measured, _) = read.map_err(|(part, what)| wrong(what, part))?;
        if measured.sd > 0.0 {
            return Err(self.problem(AxisProblem::Uncertain, at));
        }
        if !measured.value.is_finite() {
            return Err(wrong(Wrong::NotFinite, 0..own.len()));
        }
        if !self.span.allows(measured.value) {
            return Err(wrong(Wrong::OutOfRange { given: own.trim().into(), range: self.span.range() }, 0..own.len()));
        }
        Ok(measured.value)
    }

    fn problem(&self, problem: AxisProblem, at: Range<usize>) -> (Fault, Range<usize>) {
        (Fault::Axis { option: self.option.into(), problem }, at)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::keys::{between, within};

    const MASS: Span = within("kg", 100.0, 50_000.0);

    #[test]
    fn closed_form_what_people_type() {
        let share = between(0.0, 1.0);
        assert_eq!(axis("--mass", "1000kg..1300kg:21", MASS).unwrap(), (1000.0, 1300.0, 21));
        assert_eq!(axis("--mass", " 1 t .. 2000 lb : 3 ", MASS).unwrap(), (1000.0, 907.184_74, 3));
        assert_eq!(axis("--mass", "1200 kg", MASS).unwrap(), (1200.0, 1200.0, 1));
        assert_eq!(axis("--front-share", "0.45..0.6:16", share).unwrap(), (0.45, 0.6, 16));
        assert_eq!(axis("--front-share", "0.5..0.5:3", share).unwrap(), (0.5, 0.5, 3));
    }

    #[test]
    fn bad_input_axes() {
        for (text, message) in [
            ("", "--mass:1:1: --mass: not a number"),
            ("1000..1300kg:21", "--mass:1:1: --mass: a unit is due"),
            ("1000kg..1300:21", "--mass:1:9: --mass: a unit is due"),
            ("1000kg..1300kg", "--mass:1:1: --mass: FROM..TO:COUNT is due"),
            ("1000kg:21", "--mass:1:1: --mass: FROM..TO:COUNT is due"),
            ("1000kg..1300kg:", "--mass:1:16: --mass: `` is no count"),
            ("1000kg..1300kg:0", "--mass:1:16: --mass: `0` is no count"),
            ("1000kg..1300kg:2.5", "--mass:1:16: --mass: `2.5` is no count"),
            ("1000kg..1300kg:-3", "--mass:1:16: --mass: `-3` is no count"),
            ("1000kg..1300kg:1", "--mass:1:16: --mass: one value, but two ends"),
            ("1000kg..1300mm:3", "--mass:1:13: --mass: a length where a mass is due"),
            ("10kg..1300kg:3", "--mass:1:1: --mass: 10kg is outside 100 … 50000 kg"),
            ("1000kg..nankg:3", "--mass:1:9: --mass: not a finite number"),
            ("1000 ± 2 kg..1300kg:3", "--mass:1:1: --mass: a value of an axis has no ±"),
            ("1e400kg", "--mass:1:1: --mass: not a finite number"),
        ] {
            assert_eq!(axis("--mass", text, MASS).map_err(|e| e.to_string()), Err(message.into()), "{text}");
        }
    }
}
