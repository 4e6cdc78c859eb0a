//! A value with its unit and its uncertainty, as a person writes it: "2570 mm", "1284 ± 2 kg", "0.58 +- 0.03".

use std::ops::Range;

use crate::fault::Wrong;
use crate::unit::{self, Dimension, Unit};

/// A value in SI and its uncertainty, one standard deviation; 0 where none was given.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Measured {
    /// The value, SI.
    pub value: f64,
    /// One standard deviation, SI, ≥ 0.
    pub sd: f64,
}

impl Measured {
    /// From a text with a unit of the same dimension as `shown`, the one to suggest where none was written.
    ///
    /// # Errors
    /// [`Wrong`], with what is wrong.
    pub fn read(text: &str, shown: &str) -> Result<Self, Wrong> {
        let due = unit::find(shown).map_or(Dimension::Pure, |unit| unit.dimension);
        parse(text, due, shown).map(|(measured, _)| measured).map_err(|(_, wrong)| wrong)
    }
}

/// What was wrong with a text, and the part of it (bytes) to underline.
pub(crate) type Misread = (Range<usize>, Wrong);

/// Reads a value of the dimension that is due. Also tells the unit it was written in.
///
/// `shown` is the unit to suggest where none was written.
pub(crate) fn parse(text: &str, due: Dimension, shown: &str) -> Result<(Measured, &'static Unit), Misread> {
    let mut scan = Scan { text, at: 0 };
    let value = scan.number()?;
    let mut symbol = scan.unit();
    let mut sd = None;
    if scan.plus_minus() {
        sd = Some(scan.number()?);
        let after = scan.unit();
        symbol = match (symbol.is_empty(), after.is_empty()) {
            (true, _) => after,
            (false, true) => symbol,
            (false, false) if text[symbol.clone()] == text[after.clone()] => symbol,
            _ => return Err((after.clone(), Wrong::TwoUnits { second: text[after].into() })),
        };
    }
    if let Some(rest) = scan.rest() {
        return Err((rest.clone(), Wrong::Trailing { text: text[rest].into() }));
    }
    let unit = resolve(text, symbol, due, shown, &value.0)?;
    let measured = Measured {
        value: finite(unit.to_si(value.1), &value.0)?,
        sd: match &sd {
            Some((at, sd)) if *sd < 0.0 => return Err((at.clone(), Wrong::NegativeSd)),
            Some((at, sd)) => finite_sd(unit.difference_to_si(*sd), at)?,
            None => 0.0,
        },
    };
    Ok((measured, unit))
}

fn finite(value: f64, at: &Range<usize>) -> Result<f64, Misread> {
    if value.is_nan() { Err((at.clone(), Wrong::NotFinite)) } else { Ok(value) }
}

fn finite_sd(sd: f64, at: &Range<usize>) -> Result<f64, Misread> {
    if sd.is_finite() { Ok(sd) } else { Err((at.clone(), Wrong::NotFinite)) }
}

fn resolve(
    text: &str,
    symbol: Range<usize>,
    due: Dimension,
    shown: &str,
    number: &Range<usize>,
) -> Result<&'static Unit, Misread> {
    let written = &text[symbol.clone()];
    if written.is_empty() && due != Dimension::Pure {
        let example = format!("{} {shown}", text.trim());
        return Err((number.clone(), Wrong::UnitMissing { due, example }));
    }
    match unit::find(written) {
        Some(unit) if unit.dimension == due => Ok(unit),
        Some(unit) => Err((symbol, Wrong::OtherDimension { unit: unit.symbol, is: unit.dimension, due })),
        None => {
            let meant = unit::suggest(written, due);
            Err((symbol, Wrong::UnknownUnit { unit: written.into(), due, meant }))
        }
    }
}

struct Scan<'a> {
    text: &'a str,
    at: usize,
}

impl Scan<'_> {
    fn left(&self) -> &str {
        &self.text[self.at..]
    }

    fn space(&mut self) {
        self.at = self.text.len() - self.left().trim_start().len();
    }

    /// What is left, if anything.
    fn rest(&mut self) -> Option<Range<usize>> {
        self.space();
        let end = self.at + self.left().trim_end().len();
        (end > self.at).then_some(self.at..end)
    }

    /// A number: digits with a decimal point, exponent, sign (− too); `inf`, `∞`.
    fn number(&mut self) -> Result<(Range<usize>, f64), Misread> {
        self.space();
        let start = self.at;
        let negative = self.sign();
        for (word, length) in [("inf", 3), ("∞", "∞".len())] {
            if self.left().starts_with(word) {
                self.at += length;
                let value = if negative { f64::NEG_INFINITY } else { f64::INFINITY };
                return Ok((start..self.at, value));
            }
        }
        let digits = self.at;
        self.digits();
        if self.left().starts_with('.') {
            self.at += 1;
            self.digits();
        }
        if !self.text[digits..self.at].contains(|c: char| c.is_ascii_digit()) {
            self.at = start;
            let rest = self.rest().unwrap_or(start..start);
            let word = self.text[rest.clone()].to_owned();
            let nan = word.to_lowercase().trim_start_matches(['+', '-']).starts_with("nan");
            return Err((rest, if nan { Wrong::NotFinite } else { Wrong::NotANumber { text: word } }));
        }
        if self.left().starts_with(',') {
            return Err(self.comma(start));
        }
        self.exponent();
        let value: f64 = self.text[digits..self.at].parse().unwrap_or(f64::NAN);
        if !value.is_finite() {
            return Err((start..self.at, Wrong::NotFinite));
        }
        Ok((start..self.at, if negative { -value } else { value }))
    }

    fn comma(&mut self, start: usize) -> Misread {
        self.at += 1;
        self.digits();
        let text = self.text[start..self.at].to_owned();
        (start..self.at, Wrong::DecimalComma { point: text.replace(',', "."), text })
    }

    fn sign(&mut self) -> bool {
        for (sign, negative) in [("+", false), ("-", true), ("−", true)] {
            if self.left().starts_with(sign) {
                self.at += sign.len();
                return negative;
            }
        }
        false
    }

    fn digits(&mut self) {
        self.at += self.left().bytes().take_while(u8::is_ascii_digit).count();
    }

    fn exponent(&mut self) {
        let left = self.left().as_bytes();
        if matches!(left.first(), Some(b'e' | b'E')) {
            let sign = usize::from(matches!(left.get(1), Some(b'+' | b'-')));
            if left.get(1 + sign).is_some_and(u8::is_ascii_digit) {
                self.at += 1 + sign;
                self.digits();
            }
        }
    }

    /// `±`, `+-` or `+/-`.
    fn plus_minus(&mut self) -> bool {
        self.space();
        for sign in ["±", "+-", "+/-"] {
            if self.left().starts_with(sign) {
                self.at += sign.len();
                return true;
            }
        }
        false
    }

    /// Everything up to `±` or the end.
    fn unit(&mut self) -> Range<usize> {
        self.space();
        let left = self.left();
        let end = ["±", "+-", "+/-"].iter().filter_map(|s| left.find(s)).min().unwrap_or(left.len());
        let range = self.at..self.at + left[..end].trim_end().len();
        self.at += end;
        range
    }
}

impl Measured {
    /// As a person would write it in this unit, to twelve digits: "1284 ± 2 kg".
    pub fn show(&self, unit: &Unit) -> String {
        let mut text = digits(unit.from_si(self.value));
        if self.sd > 0.0 {
            text += &format!(" ± {}", digits(unit.difference_from_si(self.sd)));
        }
        if !unit.symbol.is_empty() {
            text += &format!(" {}", unit.symbol);
        }
        text
    }
}

/// Twelve significant digits, without trailing zeros: conversion noise does not show.
pub(crate) fn digits(x: f64) -> String {
    let rounded: f64 = format!("{x:.11e}").parse().unwrap_or(x);
    if rounded != 0.0 && !(1e-5..1e15).contains(&rounded.abs()) { format!("{rounded:e}") } else { format!("{rounded}") }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::unit::UNITS;
    use proptest::prelude::*;

    fn ok(text: &str, due: Dimension) -> (f64, f64) {
        let (m, _) = parse(text, due, "mm").unwrap();
        (m.value, m.sd)
    }

    fn wrong(text: &str, due: Dimension) -> (String, Wrong) {
        let (at, wrong) = parse(text, due, "mm").unwrap_err();
        (text[at].to_owned(), wrong)
    }

    #[test]
    fn closed_form_what_people_write() {
        use Dimension::*;
        assert_eq!(ok("2570 mm", Length), (2.57, 0.0));
        assert_eq!(ok("2570mm", Length), (2.57, 0.0));
        assert_eq!(ok(" 492 ± 15 mm ", Length), (0.492, 0.015));
        assert_eq!(ok("492 +- 15 mm", Length), (0.492, 0.015));
        assert_eq!(ok("492+/-15mm", Length), (0.492, 0.015));
        assert_eq!(ok("492 mm ± 15 mm", Length), (0.492, 0.015));
        assert_eq!(ok("492 mm ± 15", Length), (0.492, 0.015));
        assert_eq!(ok("-4 ± 4 mm", Length), (-0.004, 0.004));
        assert_eq!(ok("−4 mm", Length), (-0.004, 0.0));
        assert_eq!(ok("0.58 ± 0.03", Pure), (0.58, 0.03));
        assert_eq!(ok("1.2e3 kg", Mass), (1200.0, 0.0));
        assert_eq!(ok("5 ft", Length).0, 1.524);
        assert_eq!(ok("20 ± 2 °C", Temperature), (293.15, 2.0));
        assert_eq!(ok("inf", Pure), (f64::INFINITY, 0.0));
    }

    proptest! {
        /// Printing and reading again gives the same, to the printed digits.
        #[test]
        fn property_print_then_read(i in 0..UNITS.len(), x in -1e5..1e5f64, sd in prop_oneof![Just(0.0), 0.0..10.0f64]) {
            let unit = &UNITS[i];
            let m = Measured { value: unit.to_si(x), sd: unit.difference_to_si(sd) };
            let (back, found) = parse(&m.show(unit), unit.dimension, "").unwrap();
            prop_assert_eq!(found.symbol, unit.symbol);
            let scale = m.value.abs().max(unit.to_si(0.0).abs());
            prop_assert!((back.value - m.value).abs() <= 1e-11 * scale, "{} {:?}", m.show(unit), back);
            prop_assert!((back.sd - m.sd).abs() <= 1e-11 * m.sd);
        }

        #[test]
        fn property_any_text_is_read_or_refused(text in "\\PC{0,20}|[0-9.,+±e −-]{0,10}[a-z°/2 ]{0,6}") {
            match parse(&text, Dimension::Length, "mm") {
                Ok((m, _)) => prop_assert!(!m.value.is_nan() && m.sd >= 0.0),
                Err((at, _)) => prop_assert!(text.get(at).is_some()),
            }
        }
    }

    #[test]
    fn bad_input_says_which_part_and_why() {
        use Dimension::*;
        assert!(matches!(wrong("1284", Mass), (at, Wrong::UnitMissing { due: Mass, .. }) if at == "1284"));
        assert!(matches!(wrong("1284 mm", Mass), (at, Wrong::OtherDimension { is: Length, .. }) if at == "mm"));
        assert!(matches!(wrong("1284 mn", Length), (at, Wrong::UnknownUnit { meant: Some("mm"), .. }) if at == "mn"));
        assert!(matches!(wrong("0.5 kg", Pure), (at, Wrong::OtherDimension { due: Pure, .. }) if at == "kg"));
        let (at, comma) = wrong("1,284 kg", Mass);
        assert_eq!(
            (at.as_str(), comma),
            ("1,284", Wrong::DecimalComma { text: "1,284".into(), point: "1.284".into() })
        );
        assert_eq!(wrong("nan mm", Length), ("nan mm".into(), Wrong::NotFinite));
        assert_eq!(wrong("1e999 mm", Length), ("1e999".into(), Wrong::NotFinite));
        assert_eq!(wrong("5 ± -1 mm", Length), ("-1".into(), Wrong::NegativeSd));
        assert_eq!(wrong("about 5 mm", Length).1, Wrong::NotANumber { text: "about 5 mm".into() });
        assert_eq!(wrong("", Length), (String::new(), Wrong::NotANumber { text: String::new() }));
        assert!(matches!(wrong("5 mm ± 1 cm", Length), (at, Wrong::TwoUnits { .. }) if at == "cm"));
        assert!(matches!(wrong("5 ± 1 ± 2 mm", Length).1, Wrong::Trailing { .. }));
    }
}
