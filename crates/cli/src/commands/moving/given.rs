//! Places, sizes, masses and amounts of fuel as they are typed.

use unladen_garage::argument::{BOX, FUEL, MASS, SCATTER};
use unladen_garage::{Measured, argument};
use unladen_questions::relocate::Added;

use crate::error::Usage;

/// `1950,0,210`.
pub fn position(given: &str) -> Result<[f64; 3], Usage> {
    unladen_garage::position(given).map_err(|why| Usage::Position { given: given.into(), why })
}

/// `500,750,180`.
pub fn size(given: &str) -> Result<[f64; 3], Usage> {
    let all: Result<Vec<f64>, String> = given.split(',').map(|part| argument(part, BOX)).collect();
    let sound = all.ok().and_then(|all| <[f64; 3]>::try_from(all).ok());
    sound.ok_or_else(|| Usage::BoxSize { given: given.into() })
}

/// A mass, kg where no unit is written.
fn mass(given: &str) -> Result<Measured, Usage> {
    let text = given.trim();
    let bare = text.chars().all(|c| !c.is_alphabetic());
    let text = if bare { format!("{text} kg") } else { text.to_owned() };
    let wrong = |why: String| Usage::MassGiven { given: given.into(), why };
    let mass = Measured::read(&text, "kg").map_err(|e| wrong(e.to_string()))?;
    if MASS.allows(mass.value.abs()) && MASS.allows(mass.sd) {
        Ok(mass)
    } else {
        Err(wrong(format!("possible: {}", MASS.range())))
    }
}

/// `9kg,12kg`, or one for both.
pub fn masses(given: &str) -> Result<[Measured; 2], Usage> {
    let (before, after) = given.split_once(',').unwrap_or((given, given));
    let both = [mass(before)?, mass(after)?];
    match both.iter().find(|m| m.value < 0.0) {
        Some(_) => Err(Usage::MassGiven { given: given.into(), why: "a tank weighs nothing or more".into() }),
        None => Ok(both),
    }
}

/// `bulkhead=4kg@1650,0,600`, with name and place as wanted.
pub fn added(given: &str) -> Result<Added, Usage> {
    let (what, at) = match given.rsplit_once('@') {
        Some((what, at)) => (what, Some(position(at)?)),
        None => (given, None),
    };
    let (name, kg) = what.split_once('=').unwrap_or(("added mass", what));
    Ok(Added { name: name.trim().into(), mass: mass(kg)?, at })
}

/// `55L..5L`, as m³.
pub fn litres(given: &str) -> Result<[f64; 2], Usage> {
    let wrong = |why: String| Usage::StintGiven { given: given.into(), why };
    let (from, to) = given.split_once("..").ok_or_else(|| wrong("from more to less, 55L..5L".into()))?;
    let one = |text: &str| argument(text, FUEL).map_err(&wrong);
    Ok([one(from)?, one(to)?])
}

/// A scatter of laps, s.
pub fn spread(text: &str) -> Result<f64, String> {
    argument(text, SCATTER).map_err(|why| format!("seconds are due, for example 0.4: {why}"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn closed_form_what_is_typed() {
        assert_eq!(position("1950, -10,210").unwrap(), [1.95, -0.01, 0.21]);
        assert_eq!(size("500,750,180").unwrap(), [0.5, 0.75, 0.18]);
        let bulkhead = added("bulkhead=4 ± 0.5 kg@1650,0,600").unwrap();
        assert_eq!(
            (bulkhead.name.as_str(), bulkhead.mass, bulkhead.at),
            ("bulkhead", Measured { value: 4.0, sd: 0.5 }, Some([1.65, 0.0, 0.6]))
        );
        let lines = added("lines=-1.2").unwrap();
        assert_eq!((lines.mass.value, lines.at), (-1.2, None));
        assert_eq!(added("3kg").unwrap().name, "added mass");
        assert_eq!(masses("9kg,12 ± 1 kg").unwrap().map(|m| (m.value, m.sd)), [(9.0, 0.0), (12.0, 1.0)]);
        assert_eq!(masses("9").unwrap().map(|m| m.value), [9.0, 9.0]);
        assert_eq!(litres("55L..5").unwrap().map(|m3| (m3 * 1e3 * 1e6).round() / 1e6), [55.0, 5.0]);
        assert_eq!(spread("0.4 s"), Ok(0.4));
    }

    #[test]
    fn bad_input_what_is_typed() {
        for given in ["", "1,2", "1,2,3,4", "a,b,c", "1,2,nan", "inf,0,0"] {
            assert!(matches!(position(given), Err(Usage::Position { .. })), "{given}");
        }
        for given in ["0,1,1", "-1,1,1", "1,1"] {
            assert!(matches!(size(given), Err(Usage::BoxSize { .. })), "{given}");
        }
        for given in ["", "x", "brackets=", "brackets=3mm", "3 stone", "nan", "-3kg,1kg"] {
            assert!(matches!(masses(given), Err(Usage::MassGiven { .. })), "{given}");
        }
        assert!(matches!(added("a=3kg@1,2"), Err(Usage::Position { .. })));
        for given in ["", "55", "55..", "55kg..5L", "a..b"] {
            assert!(matches!(litres(given), Err(Usage::StintGiven { .. })), "{given}");
        }
        for text in ["0", "-1", "nan", "x", "", "61"] {
            assert!(spread(text).is_err(), "{text}");
        }
    }
}
