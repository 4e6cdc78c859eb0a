//! Values as Python gives them: numbers in SI, or texts with a unit.

use pyo3::exceptions::PyTypeError;
use pyo3::prelude::*;
use unladen_garage::{Measured, Span, between};

use crate::fault::refused;

/// A number in SI, or a text with its unit and perhaps its ±.
#[derive(Clone, Debug, FromPyObject)]
pub enum Value {
    /// SI.
    #[pyo3(transparent, annotation = "float")]
    Number(f64),
    /// "480 mm".
    #[pyo3(transparent, annotation = "str")]
    Text(String),
}

impl Value {
    /// With its ±, within what is possible.
    ///
    /// # Errors
    /// `unladen.Fault` that names it.
    pub fn measured(&self, py: Python<'_>, name: &str, span: Span) -> PyResult<Measured> {
        let wrong = |why: String| refused(py, &format!("{name}: {why}"));
        let unit = span.unit;
        let (given, read) = match self {
            Value::Number(value) => {
                let si = if unit.is_empty() { String::new() } else { " in SI".to_owned() };
                (format!("{value}{si}"), Measured { value: *value, sd: 0.0 })
            }
            Value::Text(text) => (text.clone(), Measured::read(text, unit).map_err(|e| wrong(e.to_string()))?),
        };
        if !read.value.is_finite() {
            return Err(wrong(format!("{given} is no finite number")));
        }
        if !span.allows(read.value) {
            let hint = match self {
                Value::Number(value) if !unit.is_empty() => {
                    format!("; a text has a unit of its own, \"{value} {unit}\"")
                }
                _ => String::new(),
            };
            return Err(wrong(format!("{given} is outside {}{hint}", span.range())));
        }
        Ok(read)
    }

    /// Without a ±.
    ///
    /// # Errors
    /// `unladen.Fault` that names it.
    pub fn exact(&self, py: Python<'_>, name: &str, span: Span) -> PyResult<f64> {
        let read = self.measured(py, name, span)?;
        if read.sd > 0.0 { Err(refused(py, &format!("{name}: no ± belongs here"))) } else { Ok(read.value) }
    }
}

/// A number without a unit that is possible.
///
/// # Errors
/// `unladen.Fault` that names it.
pub fn within(py: Python<'_>, name: &str, value: f64, span: Span) -> PyResult<f64> {
    Value::Number(value).exact(py, name, Span { unit: "", ..span })
}

/// Above 0.
///
/// # Errors
/// `unladen.Fault` that names it.
pub fn positive(py: Python<'_>, name: &str, value: f64) -> PyResult<f64> {
    within(py, name, value, between(0.0, f64::INFINITY))
}

/// A place in or about a car, or a way from one to another: behind the front axle, right of the centre plane, above ground, m.
///
/// # Errors
/// `unladen.Fault` that names what of it is wrong.
pub fn place(py: Python<'_>, name: &str, at: &[Value; 3]) -> PyResult<[f64; 3]> {
    let span = Span { unit: "mm", open: false, ..between(-20_000.0, 20_000.0) };
    let one = |i: usize| at[i].exact(py, &format!("{name}[{i}]"), span);
    Ok([one(0)?, one(1)?, one(2)?])
}

/// `KEY=VALUE` words, or a mapping of them.
///
/// # Errors
/// `TypeError` where it is neither.
pub fn settings(set: Option<&Bound<'_, PyAny>>) -> PyResult<Vec<String>> {
    let Some(set) = set else { return Ok(Vec::new()) };
    let wrong = || PyTypeError::new_err("set: a mapping is due, {\"mass.total\": \"1200 kg\"}");
    let items = set.call_method0("items").map_err(|_| wrong())?;
    let pairs = items.try_iter()?.map(|pair| {
        let (key, value): (String, Bound<'_, PyAny>) = pair?.extract().map_err(|_| wrong())?;
        Ok(format!("{key}={}", value.str()?))
    });
    pairs.collect()
}
