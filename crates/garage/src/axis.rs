//! An axis of a sweep as it is typed: `1000kg..1300kg:21`, from, to and how many values; or one value alone.

use std::ops::Range;
use std::sync::Arc;

use thiserror::Error;

use crate::fault::{Fault, Wrong};
use crate::finding::{Faults, FileErrors};
use crate::keys::Span;
use crate::measured;
use crate::source::{Place, Source};

/// Why a text is no axis.
#[derive(Clone, Debug, PartialEq, Error)]
#[allow(missing_docs)]
pub enum AxisProblem {
    #[error("FROM..TO:COUNT is due")]
    Form,
    #[error("`{given}` is no count")]
    Count { given: String },
    #[error("one value, but two ends")]
    OneForTwo,
    #[error("a value of an axis has no ±")]
    Uncertain,
}

impl AxisProblem {
    pub(crate) fn hint(&self) -> Option<String> {
        match self {
            AxisProblem::Form => Some("for example 1000kg..1300kg:21, both ends among the 21".into()),
            AxisProblem::Count { .. } => Some("a whole number, 1 or more: 1000kg..1300kg:21".into()),
            AxisProblem::OneForTwo => Some("give 2 values or more, or one end alone".into()),
            AxisProblem::Uncertain => None,
        }
    }
}

/// An axis as typed: from, to (SI), and how many values.
pub type AxisTyped = (f64, f64, u64);

/// Reads an axis of an option.
///
/// # Errors
/// What is wrong with it, at its place.
pub fn axis(option: &str, text: &str, span: Span) -> Result<AxisTyped, FileErrors> {
    let source = Source::new(option, text);
    let mut faults = Faults::default();
    let read = read(&source, span).map_err(|(fault, at)| faults.push(fault(option), &Place::new(&source, at)));
    faults.result()?;
    read.map_err(|()| FileErrors::one(Fault::Unreadable, &Place::new(&source, 0..text.len())))
}

type Misread = (Box<dyn Fn(&str) -> Fault>, Range<usize>);

fn problem(problem: AxisProblem, at: Range<usize>) -> Misread {
    (Box::new(move |option| Fault::Axis { option: option.into(), problem: problem.clone() }), at)
}

fn read(source: &Arc<Source>, span: Span) -> Result<AxisTyped, Misread> {
    let text = &source.text;
    let Some(dots) = text.find("..") else {
        if text.contains(':') {
            return Err(problem(AxisProblem::Form, 0..text.len()));
        }
        return value(text, 0..text.len(), span).map(|x| (x, x, 1));
    };
    let Some(colon) = text.rfind(':').filter(|colon| *colon > dots) else {
        return Err(problem(AxisProblem::Form, 0..text.len()));
    };
    let (from, to) = (value(text, 0..dots, span)?, value(text, dots + 2..colon, span)?);
    let given = text[colon + 1..].trim();
    match given.parse::<u64>() {
        Ok(1) if from != to => Err(problem(AxisProblem::OneForTwo, colon + 1..text.len())),
        Ok(count) if count > 0 => Ok((from, to, count)),
        _ => Err(problem(AxisProblem::Count { given: given.into() }, colon + 1..text.len())),
    }
}

fn value(text: &str, at: Range<usize>, span: Span) -> Result<f64, Misread> {
    let wrong = |wrong: Wrong, part: Range<usize>| -> Misread {
        let at = at.start + part.start..at.start + part.end;
        (Box::new(move |option| Fault::Value { key: option.into(), wrong: wrong.clone() }), at)
    };
    let own = &text[at.clone()];
    let unit = span.unit();
    let (measured, _) = measured::parse(own, unit.dimension, unit.symbol).map_err(|(part, what)| wrong(what, part))?;
    if measured.sd > 0.0 {
        return Err(problem(AxisProblem::Uncertain, at.clone()));
    }
    if !measured.value.is_finite() {
        return Err(wrong(Wrong::NotFinite, 0..own.len()));
    }
    if !span.allows(measured.value) {
        return Err(wrong(Wrong::OutOfRange { given: own.trim().into(), range: span.range() }, 0..own.len()));
    }
    Ok(measured.value)
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
