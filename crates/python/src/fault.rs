//! What went wrong, as Python's exceptions: the same words as the command's, files' faults underlined.

use pyo3::exceptions::PyUserWarning;
use pyo3::prelude::*;
use pyo3::types::{PyList, PyType};
use unladen_garage::{Explain, Fault, FileErrors, FileProblem, Finding, Located, Style, Warning};
use unladen_questions::{AskError, Failure, Kind, LoggedError};

/// A class of the package's `_fault` module.
pub fn class<'py>(py: Python<'py>, name: &str) -> PyResult<Bound<'py, PyType>> {
    Ok(py.import("unladen._fault")?.getattr(name)?.cast_into::<PyType>()?)
}

/// An exception of one of those classes.
fn of(py: Python<'_>, name: &str, text: &str, faults: &[&Finding]) -> PyErr {
    let made = || -> PyResult<PyErr> {
        let error = class(py, name)?.call1((text,))?;
        let finding = class(py, "Finding")?;
        let all = faults.iter().map(|fault| {
            let place = fault.place.as_ref();
            let at = place.map(|p| (p.source.name.clone(), p.line(), p.column()));
            let (path, line, column) = at.map_or((None, None, None), |(p, l, c)| (Some(p), Some(l), Some(c)));
            finding.call1((path, line, column, fault.what.to_string(), fault.what.hint()))
        });
        let all = all.collect::<PyResult<Vec<_>>>()?;
        error.setattr("faults", PyList::new(py, all)?.to_tuple())?;
        Ok(PyErr::from_value(error))
    };
    made().unwrap_or_else(|error| error)
}

/// What was asked for can't be.
pub fn refused(py: Python<'_>, text: &str) -> PyErr {
    of(py, "Fault", text, &[])
}

/// A fault of unladen itself.
pub fn bug(py: Python<'_>, text: &str) -> PyErr {
    of(py, "Bug", &format!("{text}; this is a fault in unladen"), &[])
}

/// Faults of files.
pub fn files(py: Python<'_>, all: &[FileErrors]) -> PyErr {
    let faults: Vec<&Finding> = all.iter().flat_map(|errors| &errors.faults).collect();
    let gone = |f: &&Finding| matches!(f.what, Fault::File { problem: FileProblem::NotFound, .. });
    let text: String = all.iter().map(|errors| errors.render(Style::PLAIN)).collect();
    of(py, if faults.iter().any(gone) { "Missing" } else { "Fault" }, text.trim_end(), &faults)
}

/// Why there is no answer.
pub fn ask(py: Python<'_>, error: &AskError) -> PyErr {
    match error {
        AskError::Files(all) => files(py, all),
        AskError::Logged(LoggedError::Cell(fault)) if fault.place.is_some() => {
            of(py, "Fault", fault.render(Style::PLAIN).trim_end(), &[])
        }
        error => {
            let name = if error.kind() == Kind::Computation { "NoLap" } else { "Fault" };
            of(py, name, &error.to_string(), &[])
        }
    }
}

/// Why there is no answer, with what was unlikely until then.
pub fn none(why: AskError, warnings: Vec<Warning>) -> Failure {
    Failure { warnings, why: Box::new(why) }
}

/// Why there is no answer, after what was unlikely until then.
pub fn failure(py: Python<'_>, failure: &Failure) -> PyErr {
    match unlikely(py, &failure.warnings) {
        Ok(()) => ask(py, &failure.why),
        Err(error) => error,
    }
}

/// What is unlikely in a file, as warnings of Python.
///
/// # Errors
/// Where the filter of warnings makes errors of them.
pub fn unlikely(py: Python<'_>, warnings: &[Warning]) -> PyResult<()> {
    let class = class(py, "Unlikely").unwrap_or_else(|_| py.get_type::<PyUserWarning>());
    for warning in warnings {
        let text = std::ffi::CString::new(warning.to_string().replace('\0', "")).unwrap_or_default();
        PyErr::warn(py, class.as_any(), &text, 1)?;
    }
    Ok(())
}

/// In a line each.
pub fn lines<T: Explain>(all: &[Located<T>]) -> Vec<String> {
    all.iter().map(ToString::to_string).collect()
}
