//! The gradient of a lap time: by every number of the car at once.

use pyo3::exceptions::PyKeyError;
use pyo3::prelude::*;
use unladen_lap::Slope;
use unladen_vehicle::Number;
use unladen_vehicle::car::Mass;

use crate::table::{Column, Table};
use crate::value::{Value, place};

/// ∂(lap time)/∂(number), s per SI unit, by key, for all numbers of a car and its day; the sequence of gears is held.
///
/// >>> import unladen
/// >>> car = unladen.read_car("vehicles/saloon-awd")
/// >>> track = unladen.read_track("tracks/airfield.toml")
/// >>> gradient = car.lap(track).gradient()
/// >>> gradient["mass.cg_height"] > 0   # higher is slower
/// True
#[pyclass(frozen, module = "unladen", mapping)]
pub struct Gradient {
    slopes: Vec<Slope>,
    mass: Mass,
}

impl Gradient {
    /// Of a car of this mass.
    pub fn new(slopes: Vec<Slope>, mass: Mass) -> Self {
        Self { slopes, mass }
    }

    fn by(&self, number: Number) -> f64 {
        self.slopes.iter().find(|s| s.number == number).map_or(f64::NAN, |s| s.value)
    }
}

#[pymethods]
impl Gradient {
    fn __getitem__(&self, key: &str) -> PyResult<f64> {
        let found = self.slopes.iter().find(|s| s.number.key() == key);
        found.map(|s| s.value).ok_or_else(|| {
            let keys = self.keys();
            let near = unladen_garage::nearest(key, keys.iter().map(String::as_str));
            let hint = near.map_or_else(String::new, |near| format!("; did you mean {near}?"));
            PyKeyError::new_err(format!("{key}: no number of this lap{hint}"))
        })
    }

    /// The keys of its numbers.
    fn keys(&self) -> Vec<String> {
        self.slopes.iter().map(|s| s.number.key()).collect()
    }

    fn __len__(&self) -> usize {
        self.slopes.len()
    }

    fn __iter__(&self, py: Python<'_>) -> PyResult<Py<PyAny>> {
        Ok(self.keys().into_pyobject(py)?.try_iter()?.into_any().unbind())
    }

    /// Each number with its SI unit, its slope and the slope's numerical error.
    fn table(&self) -> PyResult<Table> {
        let of = |f: fn(&Slope) -> f64| Column::All(self.slopes.iter().map(f).collect());
        let words = |f: fn(&Slope) -> String| Column::Words(self.slopes.iter().map(f).collect());
        Table::of([
            ("number", words(|s| s.number.key())),
            ("si_unit", words(|s| s.number.unit().to_owned())),
            ("s_per_si", of(|s| s.value)),
            ("error_s_per_si", of(|s| s.error)),
        ])
    }

    /// What a kilogram more costs at a place, s/kg; m behind the front axle line, right of the centre plane, above ground.
    ///
    /// >>> import unladen
    /// >>> car = unladen.read_car("vehicles/saloon-awd")
    /// >>> track = unladen.read_track("tracks/airfield.toml")
    /// >>> gradient = car.lap(track).gradient()
    /// >>> gradient.kilogram_at((1.4, 0.0, 1.3)) > gradient.kilogram_at((1.4, 0.0, 0.3))
    /// True
    fn kilogram_at(&self, py: Python<'_>, at: [Value; 3]) -> PyResult<f64> {
        let point = place(py, "at", &at)?;
        let Mass { m, a, y_cg, h } = self.mass;
        let moved = [(Number::A, point[0] - a), (Number::Y_CG, point[1] - y_cg), (Number::H, point[2] - h)];
        Ok(self.by(Number::M) + moved.into_iter().map(|(number, arm)| self.by(number) * arm / m).sum::<f64>())
    }

    fn __repr__(&self) -> String {
        let some = self.slopes.iter().take(4).map(|s| format!("{}: {:.4e}", s.number.key(), s.value));
        format!("Gradient({}, … {} numbers)", some.collect::<Vec<_>>().join(", "), self.slopes.len())
    }

    fn _repr_html_(&self) -> PyResult<String> {
        Ok(self.table()?.html(self.slopes.len()))
    }
}
