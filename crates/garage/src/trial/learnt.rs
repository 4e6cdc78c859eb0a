//! What a trial taught, written into car.toml: an uncertain number moved and known better, nothing else touched.

use std::sync::Arc;

use crate::car::mass_block::set_values;
use crate::fault::finding::{Faults, FileErrors};
use crate::fault::source::Source;
use crate::keys::Kind;
use crate::keys::car::CAR;
use crate::measured::{self, Measured};
use crate::toml_file::tree::{self, Item};
use crate::unit::Unit;
use crate::unit::digits::with_sd;

/// A number before and after, as it is written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Moved {
    /// Its key.
    pub key: String,
    /// As it stands.
    pub before: String,
    /// As it would stand.
    pub after: String,
}

fn written(m: Measured, unit: &Unit) -> String {
    let number = with_sd(unit.from_si(m.value), unit.difference_from_si(m.sd));
    if unit.symbol.is_empty() { number } else { format!("{number} {}", unit.symbol) }
}

/// Numbers by key, each moved by so many of its standard deviations and with this share of it left. What is no uncertain
/// number of this file, or would not be possible, is left out.
///
/// # Errors
/// Faults of the file as it stands.
pub fn moved(source: &Arc<Source>, learnt: &[(&str, f64, f64)]) -> Result<Vec<Moved>, FileErrors> {
    let mut faults = Faults::default();
    let root = tree::document(source, &mut faults);
    faults.result()?;
    let one = |&(key, by_sds, left): &(&str, f64, f64)| {
        let Some(Kind::Quantity(span)) = CAR.find(key).map(|k| k.kind) else { return None };
        let Item::Text(text) = &root.at(key)?.item else { return None };
        let (m, unit) = measured::parse(text, span.unit().dimension, span.unit).ok()?;
        let new = Measured { value: m.value + by_sds * m.sd, sd: left * m.sd };
        let sound = m.sd > 0.0 && span.allows(new.value);
        sound.then(|| Moved { key: key.to_owned(), before: text.trim().to_owned(), after: written(new, unit) })
    };
    Ok(learnt.iter().filter_map(one).collect())
}

/// The file with these numbers in it, byte for byte the same elsewhere.
///
/// # Errors
/// Faults of the file as it stands, or where the new numbers contradict the rest.
pub fn with_moved(source: &Arc<Source>, all: &[Moved]) -> Result<String, FileErrors> {
    let values: Vec<(&str, String)> = all.iter().map(|m| (m.key.as_str(), format!("\"{}\"", m.after))).collect();
    Ok(set_values(source, &values)?.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn closed_form_only_what_was_learnt_changes() {
        let text = include_str!("../../../../vehicles/saloon-awd/car.toml");
        let source = Source::new("car.toml", text);
        let learnt = [
            ("aero.drag_area", -0.5, 0.5),
            ("mass.cg_height", 1.0, 0.8),
            ("name", 1.0, 0.5),
            ("mass.nothing", 1.0, 0.5),
        ];
        let all = moved(&source, &learnt).unwrap();
        let said: Vec<_> = all.iter().map(|m| (m.before.as_str(), m.after.as_str())).collect();
        assert_eq!(said, [("0.70 ± 0.04 m2", "0.680 ± 0.020 m2"), ("492 ± 15 mm", "507 ± 12 mm")]);
        let new = with_moved(&source, &all).unwrap();
        let changed: Vec<_> = text.lines().zip(new.lines()).filter(|(a, b)| a != b).collect();
        assert_eq!(changed.len(), 2, "{changed:?}");
        assert_eq!(
            new.len() as i64 - text.len() as i64,
            "0.680 ± 0.020 m2".len() as i64 - "0.70 ± 0.04 m2".len() as i64
        );
        // Nothing learnt: byte for byte the same.
        assert_eq!(with_moved(&source, &[]).unwrap(), text);
    }
}
