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
pub(crate) fn choose(sheet: &Sheet, mapping: &Mapping) -> Result<Vec<Chosen>, LogError> {
    let names: Vec<String> = sheet.names.iter().map(|n| words(n)).collect();
    let mut all = Vec::new();
    let mut taken: Vec<usize> = Vec::new();
    for quantity in Quantity::ALL {
        if let Some(given) = mapping.column(quantity) {
            let by_number = || given.parse::<usize>().ok().filter(|i| (1..=names.len()).contains(i)).map(|i| i - 1);
            let found = sheet.names.iter().position(|n| n.eq_ignore_ascii_case(given.trim())).or_else(by_number);
            let Some(column) = found else {
                let (key, given) = (quantity.key(), given.to_string());
                return Err(LogError::NoColumn { key, given, names: sheet.names.clone() });
            };
            taken.push(column);
            all.push(Chosen { quantity, column, unit: None, told: true, others: Vec::new() });
        }
    }
    // The surest names first, so that "lat acc" is not taken for a latitude.
    let mut fits: Vec<(u32, Quantity, usize)> = Vec::new();
    for quantity in Quantity::ALL {
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
            chosen.unit = Some(quantity.unit(given).ok_or_else(none)?);
        } else {
            chosen.unit = sheet.units[chosen.column].as_ref().and_then(|u| quantity.unit(u));
        }
    }
    all.sort_by_key(|c| c.quantity);
    Ok(all)
}
