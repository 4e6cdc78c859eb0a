//! What several questions are given alike.

use std::sync::Arc;

use pyo3::exceptions::PyTypeError;
use pyo3::prelude::*;
use unladen_garage::argument::{SCATTER, WEIGHT};
use unladen_study::uncertainty::paired::Sampling;
use unladen_study::uncertainty::stopwatch::Stopwatch;

use crate::fault::refused;
use crate::held::laid::Laid;
use crate::track::Track;
use crate::value::within;

/// Tracks with their weights: a track, or several, each alone or with its weight.
///
/// # Errors
/// `TypeError` where it is something else, `unladen.Fault` where there are none or their steps differ.
pub fn tracks(py: Python<'_>, given: &Bound<'_, PyAny>) -> PyResult<Vec<(Arc<Laid>, f64)>> {
    if let Ok(track) = given.cast::<Track>() {
        return Ok(vec![(track.get().0.clone(), 1.0)]);
    }
    let wrong = |what: &Bound<'_, PyAny>| {
        let found = what.get_type();
        PyTypeError::new_err(format!(
            "tracks: a Track is due, or several, each alone or as (Track, weight); this is a {found}"
        ))
    };
    let mut all: Vec<(Arc<Laid>, f64)> = Vec::new();
    for one in given.try_iter().map_err(|_| wrong(given))? {
        let one = one?;
        if let Ok(track) = one.cast::<Track>() {
            all.push((track.get().0.clone(), 1.0));
        } else if let Ok((track, weight)) = one.extract::<(Bound<'_, Track>, f64)>() {
            all.push((track.get().0.clone(), within(py, "weight", weight, WEIGHT)?));
        } else {
            return Err(wrong(&one));
        }
    }
    match &all[..] {
        [] => Err(refused(py, "tracks: at least one is due")),
        [first, rest @ ..] if rest.iter().any(|t| t.0.step_m != first.0.step_m) => {
            Err(refused(py, "tracks: all of them must have stations of one step"))
        }
        _ => Ok(all),
    }
}

/// Draws: their seed, and how many at most.
///
/// # Errors
/// `unladen.Fault` where they are too few or too many.
pub fn sampling(py: Python<'_>, seed: u64, samples: u32) -> PyResult<Sampling> {
    if !(32..=100_000).contains(&samples) {
        return Err(refused(py, &format!("samples: {samples} is outside 32 … 100000")));
    }
    Ok(Sampling { seed, samples: samples as usize, all: false })
}

/// How laps scatter, s.
///
/// # Errors
/// `unladen.Fault` where no laps do.
pub fn watch(py: Python<'_>, lap_spread: f64) -> PyResult<Stopwatch> {
    Ok(Stopwatch::new(within(py, "lap_spread", lap_spread, SCATTER)?))
}

/// Laps a side.
///
/// # Errors
/// `unladen.Fault` where they are too few or too many.
pub fn laps(py: Python<'_>, laps: u32) -> PyResult<u32> {
    if (2..=100_000).contains(&laps) {
        Ok(laps)
    } else {
        Err(refused(py, &format!("laps: {laps} is outside 2 … 100000")))
    }
}
