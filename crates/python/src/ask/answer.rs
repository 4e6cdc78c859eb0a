//! An answer: the command's text, its numbers and its picture.

use pyo3::exceptions::PyKeyError;
use pyo3::prelude::*;
use pyo3::types::PyTuple;
use unladen_questions::{Failure, Warning};
use unladen_report::draw::picture::{Picture, PlotError};
use unladen_report::lap::json::OutError;

use crate::fault::{bug, failure, unlikely};
use crate::table::escaped;
use crate::work::{long, short};

/// What a question came to, as its command says it: `text` as printed, `detail` as by `--detail`, `data` as by `--json` (SI), `svg`
/// as by `--plot`, empty where the command draws none. In a notebook it shows the text and the picture.
#[pyclass(frozen, module = "unladen")]
#[derive(Clone)]
pub struct Answer {
    /// Which question.
    #[pyo3(get)]
    question: String,
    /// As the command prints it.
    #[pyo3(get)]
    text: String,
    /// All of it, as the command prints it with `--detail`.
    #[pyo3(get)]
    detail: String,
    json: String,
    /// The picture of it.
    #[pyo3(get)]
    svg: String,
    /// What is unlikely in the files.
    #[pyo3(get)]
    warnings: Vec<String>,
}

/// JSON as Python has it.
pub fn parsed<'py>(py: Python<'py>, json: &str) -> PyResult<Bound<'py, PyAny>> {
    py.import("json")?.call_method1("loads", (json,))
}

/// A picture is drawn.
pub fn picture(py: Python<'_>, draw: impl FnOnce() -> Result<Picture, PlotError> + Send) -> PyResult<String> {
    match short(py, draw)? {
        Ok(picture) => Ok(picture.file()),
        Err(error) => Err(bug(py, &error.to_string())),
    }
}

/// An answer in words, in JSON and drawn.
pub struct Said {
    /// As the command prints it.
    pub brief: String,
    /// As it prints it with `--detail`.
    pub whole: String,
    /// As `--json` prints it.
    pub json: Result<String, OutError>,
    /// As `--plot` draws it, where there is something to draw.
    pub picture: Option<Result<Picture, PlotError>>,
    /// What is unlikely in the files.
    pub warnings: Vec<Warning>,
}

impl Answer {
    /// Asks, without the interpreter's lock.
    pub fn asked(
        py: Python<'_>,
        question: &str,
        ask: impl FnOnce() -> Result<Said, Failure> + Send + 'static,
    ) -> PyResult<Answer> {
        let said = long(py, ask)?.map_err(|why| failure(py, &why))?;
        unlikely(py, &said.warnings)?;
        Self::said(py, question, said)
    }

    /// What was said to a question.
    pub fn said(py: Python<'_>, question: &str, said: Said) -> PyResult<Answer> {
        let json = said.json.map_err(|e| bug(py, &e.to_string()))?;
        let svg = said.picture.transpose().map_err(|e| bug(py, &e.to_string()))?.map_or_else(String::new, |p| p.file());
        let warnings = crate::fault::lines(&said.warnings);
        Ok(Answer { question: question.into(), text: said.brief, detail: said.whole, json, svg, warnings })
    }
}

#[pymethods]
impl Answer {
    /// Its numbers, SI: what `--json` prints.
    #[getter]
    fn data<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        parsed(py, &self.json)
    }

    fn __getitem__<'py>(&self, py: Python<'py>, key: &str) -> PyResult<Bound<'py, PyAny>> {
        let data = self.data(py)?;
        data.get_item(key).map_err(|_| {
            let keys = data.call_method0("keys").and_then(|keys| keys.try_iter()?.collect::<PyResult<Vec<_>>>());
            let keys: Vec<String> = keys.unwrap_or_default().iter().map(ToString::to_string).collect();
            PyKeyError::new_err(format!("{key}: not in this answer; there are {}", keys.join(", ")))
        })
    }

    fn __repr__(&self) -> &str {
        self.text.trim_end()
    }

    fn _repr_html_(&self) -> String {
        format!("<pre>{}</pre>{}", escaped(&self.text), self.svg)
    }

    fn __eq__(&self, other: &Bound<'_, PyAny>) -> bool {
        other.cast::<Answer>().is_ok_and(|other| self.json == other.get().json && self.text == other.get().text)
    }

    fn __reduce__<'py>(slf: &Bound<'py, Self>) -> PyResult<(Bound<'py, PyAny>, Bound<'py, PyTuple>)> {
        let (py, own) = (slf.py(), slf.get().clone());
        let args = (own.question, own.text, own.detail, own.json, own.svg, own.warnings).into_pyobject(py)?;
        Ok((slf.get_type().getattr("_again")?, args))
    }

    #[staticmethod]
    fn _again(
        question: String,
        text: String,
        detail: String,
        json: String,
        svg: String,
        warnings: Vec<String>,
    ) -> Answer {
        Answer { question, text, detail, json, svg, warnings }
    }
}
