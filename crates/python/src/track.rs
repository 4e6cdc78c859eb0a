//! A track: read from its files, made ready for laps.

use std::path::PathBuf;
use std::sync::Arc;

use pyo3::prelude::*;
use pyo3::types::{PyDict, PyTuple};
use unladen_lap::STEP_M;

use crate::fault::{ask, lines, unlikely};
use crate::held::laid::Laid;
use crate::value::{positive, settings, within};

/// A track as its files give it, on its day, with its stations; it is never changed in place.
///
/// >>> import unladen
/// >>> unladen.read_track("tracks/airfield.toml")
/// Track('Airfield (invented)', 2439 m, a circuit, grip 1)
#[pyclass(frozen, module = "unladen")]
#[derive(Clone)]
pub struct Track(pub Arc<Laid>);

/// Steps that are accepted, m.
const STEPS: std::ops::RangeInclusive<f64> = 0.05..=50.0;

fn checked(py: Python<'_>, grip: Option<f64>, step: f64) -> PyResult<()> {
    if let Some(grip) = grip {
        positive(py, "grip", grip)?;
    }
    within(
        py,
        "step",
        step,
        unladen_garage::Span { open: false, ..unladen_garage::between(*STEPS.start(), *STEPS.end()) },
    )?;
    Ok(())
}

/// Reads a track: its TOML file, and the segments that it names.
///
/// `grip` is the day's in place of the file's: 1 dry, about 0.6 wet. `set` replaces values of the file as the command's
/// `--set` does. `step` is the distance of the solver's stations, about, m: half of it takes twice as long and leaves a
/// quarter of the numerical error or less.
///
/// >>> import unladen
/// >>> unladen.read_track("tracks/airfield.toml", grip=0.6).grip
/// 0.6
#[pyfunction]
#[pyo3(signature = (path, *, grip=None, set=None, step=STEP_M), text_signature = "(path, *, grip=None, set=None, step=2.0)")]
pub fn read_track(
    py: Python<'_>,
    path: PathBuf,
    grip: Option<f64>,
    set: Option<&Bound<'_, PyAny>>,
    step: f64,
) -> PyResult<Track> {
    let set = settings(set)?;
    checked(py, grip, step)?;
    let found = py.detach(|| Laid::read(path, set, grip, step));
    let track = found.map_err(|why| ask(py, &why))?;
    unlikely(py, &track.file.warnings)?;
    Ok(Track(Arc::new(track)))
}

#[pymethods]
impl Track {
    /// Its name.
    #[getter]
    fn name(&self) -> &str {
        &self.0.file.track.name
    }

    /// Its file.
    #[getter]
    fn path(&self) -> PathBuf {
        self.0.path.clone()
    }

    /// Its length in plan, m.
    #[getter]
    fn length(&self) -> f64 {
        self.0.file.track.length()
    }

    /// Whether it is a circuit.
    #[getter]
    fn closed(&self) -> bool {
        self.0.file.track.closed
    }

    /// The day's grip: 1 dry, about 0.6 wet.
    #[getter]
    fn grip(&self) -> f64 {
        self.0.file.track.grip
    }

    /// Distance of the solver's stations, about, m.
    #[getter]
    fn step(&self) -> f64 {
        self.0.step_m
    }

    /// What is possible in its files, but unlikely, a line each.
    #[getter]
    fn warnings(&self) -> Vec<String> {
        lines(&self.0.file.warnings)
    }

    /// This track on a day of another grip, with another step (m), or with values of its file replaced.
    ///
    /// >>> import unladen
    /// >>> unladen.read_track("tracks/airfield.toml").with_(grip=0.8).grip
    /// 0.8
    #[pyo3(signature = (*, grip=None, step=None, set=None))]
    fn with_(
        &self,
        py: Python<'_>,
        grip: Option<f64>,
        step: Option<f64>,
        set: Option<&Bound<'_, PyAny>>,
    ) -> PyResult<Track> {
        let old = &*self.0;
        let all = old.set.iter().cloned().chain(settings(set)?).collect();
        let (grip, step) = (grip.or(old.grip), step.unwrap_or(old.step_m));
        Track::_again(py, old.path.clone(), old.texts.clone(), all, grip, step)
    }

    fn __repr__(&self) -> String {
        let track = &self.0.file.track;
        let kind = if track.closed { "a circuit" } else { "open" };
        format!("Track('{}', {:.0} m, {kind}, grip {})", track.name, track.length(), track.grip)
    }

    fn __reduce__<'py>(slf: &Bound<'py, Self>) -> PyResult<(Bound<'py, PyAny>, Bound<'py, PyTuple>)> {
        let track = &*slf.get().0;
        let args = (track.path.clone(), track.texts.clone(), track.set.clone(), track.grip, track.step_m);
        Ok((slf.get_type().getattr("_again")?.into_any(), args.into_pyobject(slf.py())?))
    }

    #[staticmethod]
    fn _again(
        py: Python<'_>,
        path: PathBuf,
        texts: Vec<(PathBuf, Vec<u8>)>,
        set: Vec<String>,
        grip: Option<f64>,
        step: f64,
    ) -> PyResult<Track> {
        checked(py, grip, step)?;
        let found = py.detach(|| Laid::new(path, texts, set, grip, step));
        found.map(|track| Track(Arc::new(track))).map_err(|why| ask(py, &why))
    }

    fn __eq__(&self, other: &Bound<'_, PyAny>) -> bool {
        other.cast::<Track>().is_ok_and(|other| {
            let (a, b) = (&*self.0, &*other.get().0);
            a.file.track == b.file.track && a.step_m == b.step_m
        })
    }

    fn __hash__(&self) -> u64 {
        self.0.file.track.length().to_bits() ^ self.0.step_m.to_bits()
    }

    fn __copy__(&self) -> Track {
        self.clone()
    }

    fn __deepcopy__(&self, _memo: &Bound<'_, PyDict>) -> Track {
        self.clone()
    }
}
