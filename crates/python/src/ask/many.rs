//! Many laps of one car on one track, its numbers taken from columns.

use std::ops::Range;
use std::time::{Duration, Instant};

use pyo3::exceptions::{PyTypeError, PyValueError};
use pyo3::prelude::*;
use pyo3::types::PyDict;
use rayon::prelude::*;
use unladen_lap::Status;
use unladen_study::sound_lap;
use unladen_vehicle::Number;

use crate::car::Car;
use crate::table::{Column, Table};
use crate::track::Track;
use crate::work::{pool, short};

/// How long laps are solved before Python is asked whether it was interrupted.
const LISTEN: Duration = Duration::from_millis(100);

/// Works through cells a piece at a time, and listens to Ctrl-C in between.
///
/// # Errors
/// `KeyboardInterrupt`, and those of `piece`.
pub fn in_pieces(
    py: Python<'_>,
    range: Range<u64>,
    threads: usize,
    mut piece: impl FnMut(Range<u64>) -> PyResult<()>,
) -> PyResult<()> {
    let threads = threads as u64;
    let (mut at, mut count) = (range.start, threads);
    while at < range.end {
        let (begun, to) = (Instant::now(), (at + count).min(range.end));
        piece(at..to)?;
        py.check_signals()?;
        at = to;
        if begun.elapsed() < LISTEN {
            count *= 2;
        } else if begun.elapsed() > 4 * LISTEN {
            count = (count / 2).max(threads);
        }
    }
    Ok(())
}

/// One lap: its time and error, s, and whether it is settled; or why there is none.
type Found = Result<(f64, f64, bool), String>;

#[pymethods]
impl Car {
    /// Laps it once for each row of columns of its numbers (SI, by the keys of `Car.numbers`), on all cores.
    ///
    /// Columns are of one length; a single number stands in every row. The table has them and `lap_time_s`,
    /// `lap_time_error_s`, `status` (ok, unsettled, no lap) and `reason`.
    ///
    /// >>> import unladen
    /// >>> car = unladen.read_car("vehicles/saloon-awd")
    /// >>> track = unladen.read_track("tracks/airfield.toml")
    /// >>> table = car.laps(track, {"mass.total": [1200.0, 1300.0], "mass.cg_height": 0.48})
    /// >>> times = table["lap_time_s"]
    /// >>> bool(times[0] < times[1])
    /// True
    fn laps(&self, py: Python<'_>, track: &Track, numbers: &Bound<'_, PyDict>) -> PyResult<Table> {
        laps(py, self, track, numbers)
    }
}

/// A lap for each row of the columns.
pub fn laps(py: Python<'_>, car: &Car, track: &Track, columns: &Bound<'_, PyDict>) -> PyResult<Table> {
    let (keys, numbers, values) = read(py, car, columns)?;
    let rows = values.first().map_or(0, Vec::len);
    let (own, course) = (car.model(), &track.0.course);
    let one = |row: usize| -> Found {
        let mut car = own.clone();
        for (number, values) in numbers.iter().zip(&values) {
            if let Some(place) = car.number_mut(*number) {
                *place = values[row];
            }
        }
        if !car.is_possible() {
            return Err("the model knows no such car".to_owned());
        }
        let lap = sound_lap(course, &car).map_err(|why| why.to_string())?;
        Ok((lap.time, lap.error, lap.status == Status::Settled))
    };
    let pool = pool(py)?;
    let mut found: Vec<Found> = Vec::with_capacity(rows);
    in_pieces(py, 0..rows as u64, pool.current_num_threads(), |piece| {
        let piece = piece.start as usize..piece.end as usize;
        found.extend(short(py, || pool.install(|| piece.into_par_iter().map(one).collect::<Vec<_>>()))?);
        Ok(())
    })?;
    let of = |f: fn(&(f64, f64, bool)) -> f64| Column::Numbers(found.iter().map(|l| l.as_ref().ok().map(f)).collect());
    let status = |l: &Found| match l {
        Ok((_, _, true)) => "ok".to_owned(),
        Ok(_) => "unsettled".to_owned(),
        Err(_) => "no lap".to_owned(),
    };
    let results = [
        ("lap_time_s", of(|l| l.0)),
        ("lap_time_error_s", of(|l| l.1)),
        ("status", Column::Words(found.iter().map(status).collect())),
        ("reason", Column::Words(found.iter().map(|l| l.as_ref().err().cloned().unwrap_or_default()).collect())),
    ];
    let given = keys.iter().map(String::as_str).zip(values.into_iter().map(Column::All));
    Table::of(given.chain(results))
}

/// Each key's number and its values, all of one length; a single number stands in every row.
#[allow(clippy::type_complexity)]
fn read(py: Python<'_>, car: &Car, columns: &Bound<'_, PyDict>) -> PyResult<(Vec<String>, Vec<Number>, Vec<Vec<f64>>)> {
    let (mut keys, mut numbers, mut values) = (Vec::new(), Vec::new(), Vec::new());
    for (key, column) in columns {
        let key: String = key.extract()?;
        numbers.push(car.number(py, &key)?);
        let column = match column.extract::<f64>() {
            Ok(one) => (vec![one], true),
            Err(_) => {
                let wrong = |_| PyTypeError::new_err(format!("{key}: a number, or a list or array of numbers, is due"));
                (column.extract::<Vec<f64>>().map_err(wrong)?, false)
            }
        };
        if let Some(row) = column.0.iter().position(|x| !x.is_finite()) {
            return Err(crate::fault::refused(py, &format!("{key}[{row}]: {} is no finite number", column.0[row])));
        }
        keys.push(key);
        values.push(column);
    }
    let lengths: Vec<usize> = values.iter().filter(|v| !v.1).map(|v| v.0.len()).collect();
    let rows = lengths.first().copied().unwrap_or(1);
    if lengths.iter().any(|n| *n != rows) {
        let all: Vec<String> =
            keys.iter().zip(&values).filter(|(_, v)| !v.1).map(|(k, v)| format!("{k} has {}", v.0.len())).collect();
        return Err(PyValueError::new_err(format!("columns of one length are due: {}", all.join(", "))));
    }
    let filled = values.into_iter().map(|(v, alone)| if alone { vec![v[0]; rows] } else { v });
    Ok((keys, numbers, filled.collect()))
}
