//! What the user said about a log's columns, kept in a small file beside it so that it need be said once.

use std::collections::BTreeMap;
use std::fmt::Write;

use super::error::LogError;
use super::quantity::Quantity;

/// Columns, units and signs by quantity.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Mapping {
    columns: BTreeMap<Quantity, String>,
    units: BTreeMap<Quantity, String>,
    flipped: Vec<Quantity>,
}

impl Mapping {
    /// Takes `key=NAME` as given with `--column`.
    ///
    /// # Errors
    /// [`LogError::NoQuantity`].
    pub fn set_column(&mut self, given: &str) -> Result<(), LogError> {
        let (quantity, name) = split(given)?;
        self.columns.insert(quantity, name);
        Ok(())
    }

    /// Takes `key=UNIT` as given with `--unit`.
    ///
    /// # Errors
    /// [`LogError::NoQuantity`].
    pub fn set_unit(&mut self, given: &str) -> Result<(), LogError> {
        let (quantity, unit) = split(given)?;
        self.units.insert(quantity, unit);
        Ok(())
    }

    pub(crate) fn column(&self, quantity: Quantity) -> Option<&str> {
        self.columns.get(&quantity).map(String::as_str)
    }

    pub(crate) fn unit(&self, quantity: Quantity) -> Option<&str> {
        self.units.get(&quantity).map(String::as_str)
    }

    pub(crate) fn note(&mut self, quantity: Quantity, column: &str, unit: Option<&str>) {
        self.columns.insert(quantity, column.into());
        if let Some(unit) = unit {
            self.units.insert(quantity, unit.into());
        }
    }

    /// With what the other says in its place.
    pub fn overridden_by(mut self, other: &Mapping) -> Mapping {
        self.columns.extend(other.columns.clone());
        // A new column brings its own unit.
        other.columns.keys().for_each(|q| {
            self.units.remove(q);
        });
        self.units.extend(other.units.clone());
        self
    }

    /// As a text: one `quantity = column [unit]` a line.
    pub fn text(&self) -> String {
        let mut out = String::from(
            "# What the columns of this log are. Edit it, or delete it to have them guessed anew.\nschema = 1\n\n[column]\n",
        );
        let quoted = |text: &str| toml::Value::String(text.into()).to_string();
        for (quantity, name) in &self.columns {
            let _ = writeln!(out, "{} = {}", quantity.key(), quoted(name));
        }
        out.push_str("\n[unit]\n");
        for (quantity, unit) in &self.units {
            let _ = writeln!(out, "{} = {}", quantity.key(), quoted(unit));
        }
        out
    }

    /// From such a text.
    ///
    /// # Errors
    /// [`LogError::NoQuantity`] for what is no quantity or no TOML.
    pub fn parse(text: &str) -> Result<Mapping, LogError> {
        let bad = |given: String| LogError::NoQuantity { given };
        let root: toml::Table = text.parse().map_err(|e: toml::de::Error| bad(e.message().to_string()))?;
        let mut mapping = Mapping::default();
        for (table, into) in [("column", &mut mapping.columns), ("unit", &mut mapping.units)] {
            let Some(toml::Value::Table(entries)) = root.get(table) else { continue };
            for (key, value) in entries {
                let quantity = Quantity::of(key).ok_or_else(|| bad(key.clone()))?;
                into.insert(quantity, value.as_str().ok_or_else(|| bad(key.clone()))?.to_string());
            }
        }
        Ok(mapping)
    }
}

fn split(given: &str) -> Result<(Quantity, String), LogError> {
    let none = || LogError::NoQuantity { given: given.into() };
    let (key, value) = given.split_once('=').ok_or_else(none)?;
    Ok((Quantity::of(key.trim()).ok_or_else(none)?, value.trim().trim_matches('"').to_string()))
}
