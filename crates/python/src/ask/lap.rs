//! A lap.

use std::sync::{Arc, OnceLock};

use pyo3::prelude::*;
use pyo3::types::{PyDict, PyTuple};
use unladen_lap::{Lap as Solved, Row, Status};
use unladen_questions::lap::Answer;
use unladen_questions::{NoResult, advised};
use unladen_report::lap::answer::{answer_text, sheet, summary};
use unladen_report::lap::brief::{Order, lap_brief};
use unladen_report::lap::json::COLUMNS;
use unladen_study::{Caveat, sound_lap};

use crate::ask::answer::{parsed, picture};
use crate::ask::slopes::Gradient;
use crate::car::Car;
use crate::fault::{ask, bug};
use crate::held::garaged::Garaged;
use crate::held::laid::Laid;
use crate::table::{Column, Table, escaped};
use crate::track::Track;
use crate::work::short;

/// A car's lap on a track.
///
/// >>> import unladen
/// >>> car = unladen.read_car("vehicles/saloon-awd")
/// >>> track = unladen.read_track("tracks/airfield.toml")
/// >>> lap = car.lap(track)
/// >>> lap.time > 60 and lap.error < 0.01
/// True
#[pyclass(frozen, module = "unladen")]
pub struct Lap {
    lap: Solved,
    car: Arc<Garaged>,
    track: Arc<Laid>,
    /// Made when it is asked for.
    answer: OnceLock<Answer>,
}

impl Lap {
    /// Solves it.
    pub fn of(py: Python<'_>, car: &Car, track: &Track) -> PyResult<Lap> {
        let (car, track) = (&car.0, &track.0);
        let lap = short(py, || sound_lap(&track.course, &car.standing.car))?;
        let lap = lap.map_err(|why| ask(py, &NoResult::from(why).into()))?;
        Ok(Lap { lap, car: car.clone(), track: track.clone(), answer: OnceLock::new() })
    }

    fn answer(&self, py: Python<'_>) -> PyResult<&Answer> {
        let (course, of) = (&self.track.course, &self.car.standing);
        short(py, || self.answer.get_or_init(|| Answer::of(course, of, &self.lap).known(course, of, &self.track.file)))
    }
}

#[pymethods]
impl Car {
    /// Laps it: the fastest lap that the model allows.
    ///
    /// Raises `unladen.NoLap` where there is none. Other threads go on meanwhile.
    ///
    /// >>> import unladen
    /// >>> car = unladen.read_car("vehicles/saloon-awd")
    /// >>> track = unladen.read_track("tracks/airfield.toml")
    /// >>> car.lap(track)
    /// Lap(74.9304 s, 'Club saloon, all-wheel drive (invented)' on 'Airfield (invented)')
    fn lap(&self, py: Python<'_>, track: &Track) -> PyResult<Lap> {
        Lap::of(py, self, track)
    }
}

#[pymethods]
impl Lap {
    /// Lap time, s.
    #[getter]
    fn time(&self) -> f64 {
        self.lap.time
    }

    /// Estimate of the numerical error of its time, s.
    #[getter]
    fn error(&self) -> f64 {
        self.lap.error
    }

    /// Whether its gears repeat from lap to lap and it asks for no more than the car can do; `caveats` say what is the matter.
    #[getter]
    fn settled(&self) -> bool {
        self.lap.status == Status::Settled
    }

    /// What to know before its time is believed, a line each.
    #[getter]
    fn caveats(&self) -> Vec<String> {
        Caveat::of(&self.track.course, &self.lap).iter().map(advised).collect()
    }

    /// The car.
    #[getter]
    fn car(&self) -> Car {
        Car(self.car.clone())
    }

    /// The track.
    #[getter]
    fn track(&self) -> Track {
        Track(self.track.clone())
    }

    /// Share of its time that each limit rules, the largest first.
    #[getter]
    fn limits<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        let mut shares = self.lap.shares();
        shares.sort_by(|a, b| b.1.total_cmp(&a.1));
        let all = PyDict::new(py);
        for (limit, share) in shares {
            all.set_item(limit.key(), share)?;
        }
        Ok(all)
    }

    /// Station by station, and where braking begins: `s_m` in plan, `t_s`, `v_mps`, accelerations along and across the road
    /// (left +), gear, limit, wheel loads. The columns of `unladen lap --csv`, for NumPy and for whatever takes Arrow.
    ///
    /// >>> import unladen
    /// >>> car = unladen.read_car("vehicles/saloon-awd")
    /// >>> track = unladen.read_track("tracks/airfield.toml")
    /// >>> trace = car.lap(track).trace
    /// >>> trace.columns[:3], bool(trace["v_mps"].min() > 5)
    /// (['s_m', 't_s', 'v_mps'], True)
    #[getter]
    fn trace(&self, py: Python<'_>) -> PyResult<Table> {
        let rows = short(py, || self.lap.trace_with_peaks())?;
        let numbers = |f: &dyn Fn(&Row) -> f64| Column::All(rows.iter().map(f).collect());
        let limits = Column::Words(rows.iter().map(|row| row.limit.key().to_owned()).collect());
        let columns = [
            numbers(&|row| row.s),
            numbers(&|row| row.t),
            numbers(&|row| row.v),
            numbers(&|row| row.a_x),
            numbers(&|row| row.a_y),
            numbers(&|row| row.gear.into()),
            limits,
            numbers(&|row| row.load[0]),
            numbers(&|row| row.load[1]),
            numbers(&|row| row.load[2]),
            numbers(&|row| row.load[3]),
        ];
        Table::of(COLUMNS.into_iter().zip(columns))
    }

    /// ∂(lap time)/∂(number) for all numbers of the car and its day at once, s per SI unit; the sequence of gears is held.
    ///
    /// >>> import unladen
    /// >>> car = unladen.read_car("vehicles/saloon-awd")
    /// >>> track = unladen.read_track("tracks/airfield.toml")
    /// >>> gradient = car.lap(track).gradient()
    /// >>> print(f"{gradient['mass.total'] * 10:.3f} s for 10 kg")
    /// 0.101 s for 10 kg
    fn gradient(&self, py: Python<'_>) -> PyResult<Gradient> {
        Ok(Gradient::new(short(py, || self.lap.gradient())?, self.lap.car().mass))
    }

    /// Where along the lap derivatives come from: `s_m`, and for each key ∂t/∂(number) up to there, s per SI unit.
    ///
    /// >>> import unladen
    /// >>> car = unladen.read_car("vehicles/saloon-awd")
    /// >>> track = unladen.read_track("tracks/airfield.toml")
    /// >>> table = car.lap(track).along("mass.total")
    /// >>> table.columns
    /// ['s_m', 'mass.total']
    #[pyo3(signature = (*keys))]
    fn along(&self, py: Python<'_>, keys: Vec<String>) -> PyResult<Table> {
        let car = Car(self.car.clone());
        let numbers = keys.iter().map(|key| car.number(py, key)).collect::<PyResult<Vec<_>>>()?;
        let found = short(py, || self.lap.derivatives(&numbers))?;
        let columns = keys.iter().zip(found).map(|(key, d)| (key.as_str(), Column::All(d.along)));
        Table::of([("s_m", Column::All(self.track.course.stations()))].into_iter().chain(columns))
    }

    /// As `unladen lap` prints it.
    #[getter]
    fn text(&self, py: Python<'_>) -> PyResult<String> {
        Ok(lap_brief(self.answer(py)?, Order::Road))
    }

    /// As `unladen lap --detail` prints it.
    #[getter]
    fn detail(&self, py: Python<'_>) -> PyResult<String> {
        Ok(answer_text(self.answer(py)?))
    }

    /// As `unladen lap --json` prints it, SI.
    #[getter]
    fn data<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        let json = summary(self.answer(py)?).json().map_err(|e| bug(py, &e.to_string()))?;
        parsed(py, &json)
    }

    /// As `unladen lap --plot` draws it.
    #[getter]
    fn svg(&self, py: Python<'_>) -> PyResult<String> {
        let answer = self.answer(py)?;
        picture(py, || sheet(answer))
    }

    fn __float__(&self) -> f64 {
        self.lap.time
    }

    fn __repr__(&self) -> String {
        let (car, track) = (&self.car.standing.file.name, &self.track.file.track.name);
        format!("Lap({:.4} s, '{car}' on '{track}')", self.lap.time)
    }

    fn _repr_html_(&self, py: Python<'_>) -> PyResult<String> {
        Ok(format!("<pre>{}</pre>{}", escaped(&self.text(py)?), self.svg(py)?))
    }

    /// The lap is solved again: the same numbers.
    fn __reduce__<'py>(slf: &Bound<'py, Self>) -> PyResult<(Bound<'py, PyAny>, Bound<'py, PyTuple>)> {
        let (py, lap) = (slf.py(), slf.get());
        let args = (lap.car(), lap.track()).into_pyobject(py)?;
        Ok((py.get_type::<Car>().getattr("lap")?, args))
    }
}
