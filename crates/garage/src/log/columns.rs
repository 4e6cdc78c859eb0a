//! Which column is what: by name, unless the user says so.

use super::error::LogError;
use super::mapping::Mapping;
use super::quantity::Quantity;
use super::sheet::Sheet;

/// A column that is used.
#[derive(Clone, Debug)]
pub(crate) struct Chosen {
    pub(crate) quantity: Quantity,
    pub(crate) column: usize,
    /// The unit and its factor to SI, where it is written or given.
    pub(crate) unit: Option<(&'static str, f64)>,
    /// The user said so, or the mapping file.
    pub(crate) told: bool,
    /// Others that the name would fit.
    pub(crate) others: Vec<usize>,
}

/// In place of a column: none.
pub(crate) const NONE: &str = "none";

/// A unit as it is said: a minus before it turns the column round.
pub(crate) fn spelled(unit: (&'static str, f64)) -> String {
    format!("{}{}", if unit.1 < 0.0 { "-" } else { "" }, unit.0)
}

/// Lower-case words of a name: letters and digits between blanks, `accLat` cut in two.
fn words(name: &str) -> String {
    let mut out = String::new();
    let mut before = ' ';
    for c in name.chars() {
        if c.is_uppercase() && before.is_lowercase() {
            out.push(' ');
        }
        out.extend(if c.is_alphanumeric() { c.to_lowercase().collect::<Vec<_>>() } else { vec![' '] });
        before = c;
    }
    out.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// The columns of every quantity that there is one for.
pub(crate) fn by_quantity(sheet: &Sheet, mapping: &Mapping) -> Result<Vec<Chosen>, LogError> {
    let names: Vec<String> = sheet.names.iter().map(|n| words(n)).collect();
    let mut all = Vec::new();
    let mut taken: Vec<usize> = Vec::new();
    for quantity in Quantity::ALL {
        if let Some(given) = mapping.column(quantity).filter(|given| *given != NONE) {
            let by_number = || given.parse::<usize>().ok().filter(|i| (1..=names.len()).contains(i)).map(|i| i - 1);
            let named = |names: &[String]| names.iter().position(|n| n.eq_ignore_ascii_case(given.trim()));
            let found = named(&sheet.heads).or_else(|| named(&sheet.names)).or_else(by_number);
            let Some(column) = found else {
                let (key, given) = (quantity.key(), given.to_string());
                return Err(LogError::NoColumn { key, given, names: sheet.heads.clone() });
            };
            taken.push(column);
            all.push(Chosen { quantity, column, unit: None, told: true, others: Vec::new() });
        }
    }
    // The surest names first, so that "lat acc" is not taken for a latitude.
    let mut fits: Vec<(u32, Quantity, usize)> = Vec::new();
    for quantity in Quantity::ALL.into_iter().filter(|q| mapping.column(*q) != Some(NONE)) {
        for (i, name) in names.iter().enumerate() {
            // A unit of another kind speaks against it.
            let clash = sheet.units[i]
                .as_ref()
                .is_some_and(|u| quantity.unit(u).is_none() && Quantity::ALL.iter().any(|q| q.unit(u).is_some()));
            let score = if clash { 0 } else { quantity.fits(name) };
            if score > 0 {
                let unit = sheet.units[i].as_ref().is_some_and(|u| quantity.unit(u).is_some());
                fits.push((2 * score + u32::from(unit), quantity, i));
            }
        }
    }
    fits.sort_by(|a, b| b.0.cmp(&a.0).then(a.2.cmp(&b.2)));
    for &(_, quantity, column) in &fits {
        if let Some(mine) = all.iter_mut().find(|c: &&mut Chosen| c.quantity == quantity) {
            if !mine.told && !taken.contains(&column) {
                mine.others.push(column);
            }
        } else if !taken.contains(&column) {
            taken.push(column);
            all.push(Chosen { quantity, column, unit: None, told: false, others: Vec::new() });
        }
    }
    for chosen in &mut all {
        let quantity = chosen.quantity;
        if let Some(given) = mapping.unit(quantity) {
            let none = || LogError::NoUnit { key: quantity.key(), given: given.into(), units: quantity.unit_names() };
            let (sign, bare) = given.strip_prefix('-').map_or((1.0, given), |bare| (-1.0, bare));
            let (name, factor) = quantity.unit(bare).ok_or_else(none)?;
            chosen.unit = Some((name, sign * factor));
        } else {
            chosen.unit = sheet.units[chosen.column].as_ref().and_then(|u| quantity.unit(u));
        }
    }
    all.sort_by_key(|c| c.quantity);
    Ok(all)
}
