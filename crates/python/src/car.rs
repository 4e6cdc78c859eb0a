//! A car: read from its file, changed. Questions about it are in `ask`.

use std::collections::BTreeMap;
use std::path::PathBuf;
use std::sync::Arc;

use pyo3::prelude::*;
use pyo3::types::{PyDict, PyTuple};
use unladen_garage::{CAR, Kind, Span, between};
use unladen_questions::stands::state::{As, State};
use unladen_vehicle::mass::{MassError, Part};
use unladen_vehicle::{Car as Model, Number};

use crate::fault::{failure, files as faults, lines, refused, unlikely};
use crate::held::garaged::{Changed, Garaged, Texts};
use crate::table::escaped;
use crate::value::{Value, place, settings, within};

/// A car as its file gives it, with what was changed since; it is never changed in place.
///
/// Numbers are SI and of the car as it laps: with the driver and the fuel that its file puts aboard.
///
/// >>> import unladen
/// >>> car = unladen.read_car("vehicles/saloon-awd")
/// >>> car
/// Car('Club saloon, all-wheel drive (invented)', 1217.8 kg, 483.6 mm high, 55.0 % in front)
#[pyclass(frozen, module = "unladen")]
#[derive(Clone)]
pub struct Car(pub Arc<Garaged>);

/// Reads a car: its car.toml, or the folder that holds one. A ledger beside it is taken along.
///
/// `set` replaces values of the file, each with its unit, as the command's `--set` does. Every fault of the file is in the
/// `unladen.Fault` that is raised, underlined; what is possible but unlikely is warned of (`unladen.Unlikely`).
///
/// >>> import unladen
/// >>> unladen.read_car("vehicles/saloon-awd", set={"mass.total": "1200 kg"}).name
/// 'Club saloon, all-wheel drive (invented)'
///
/// `state` is the car as it was "weighed", as it stands "now" (with its ledger's rows done since), as "planned", or
/// "planned+ideas"; `including` and `excluding` name rows or groups of the ledger, or who is aboard, that are in it or not.
#[pyfunction]
#[pyo3(signature = (path, *, state="now", including=Vec::new(), excluding=Vec::new(), set=None),
    text_signature = "(path, *, state='now', including=(), excluding=(), set=None)")]
pub fn read_car(
    py: Python<'_>,
    path: PathBuf,
    state: &str,
    including: Vec<String>,
    excluding: Vec<String>,
    set: Option<&Bound<'_, PyAny>>,
) -> PyResult<Car> {
    let set = settings(set)?;
    let state = state_of(py, state, including, excluding)?;
    let found = py.detach(|| Garaged::read(&path, set, &state));
    let car = found.map_err(|why| failure(py, &why))?;
    unlikely(py, &car.standing.file.warnings)?;
    Ok(Car(Arc::new(car)))
}

fn state_of(py: Python<'_>, of: &str, with: Vec<String>, without: Vec<String>) -> PyResult<State> {
    let of = As::parse(of).map_err(|why| refused(py, &why.to_string()))?;
    Ok(State { of, with, without, ..State::default() })
}

/// What may be written of a number of the car.
fn span(number: Number) -> Span {
    match CAR.find(&number.key()).map(|key| &key.kind) {
        Some(Kind::Quantity(span)) => *span,
        _ => between(f64::NEG_INFINITY, f64::INFINITY),
    }
}

impl Car {
    /// As it laps.
    pub fn model(&self) -> &Model {
        &self.0.standing.car
    }

    fn changed(&self, py: Python<'_>, more: Vec<Changed>) -> PyResult<Car> {
        let mut texts = self.0.texts.clone();
        texts.changes.extend(more);
        let found = py.detach(|| texts.standing(&self.0.standing.state));
        let car = found.map_err(|why| failure(py, &why))?;
        if car.standing.file.loads.weighed.m <= 0.0 {
            return Err(refused(py, "taking that off leaves no mass"));
        }
        if !car.standing.car.is_possible() {
            return Err(refused(
                py,
                "with these numbers the model knows no such car: gears fall, the launch is below the limiter",
            ));
        }
        Ok(Car(Arc::new(car)))
    }

    /// With these numbers; those of the mass together, as the car laps with them.
    fn with_numbers(&self, py: Python<'_>, numbers: Vec<(Number, f64)>) -> PyResult<Car> {
        let now = Part::from(self.model().mass);
        let (mut then, mut changes) = (now, Vec::new());
        for (number, value) in numbers {
            match number {
                Number::M => then.m = value,
                Number::A => then.x = value,
                Number::Y_CG => then.y = value,
                Number::H => then.z = value,
                other => changes.push(Changed::Number(other, value)),
            }
        }
        let moment = |of: fn(&Part) -> f64| then.m * of(&then) - now.m * of(&now);
        let more = [then.m - now.m, moment(|p| p.x), moment(|p| p.y), moment(|p| p.z)];
        if more != [0.0; 4] {
            changes.push(Changed::Moments(more));
        }
        if changes.is_empty() { Ok(self.clone()) } else { self.changed(py, changes) }
    }

    /// The number of this key.
    pub fn number(&self, py: Python<'_>, key: &str) -> PyResult<Number> {
        let all = Number::all(self.model());
        all.iter().copied().find(|n| n.key() == key).ok_or_else(|| {
            let keys: Vec<String> = all.iter().map(|n| n.key()).collect();
            let near = unladen_garage::nearest(key, keys.iter().map(String::as_str));
            let hint = near.map_or_else(String::new, |near| format!("; did you mean `{near}`?"));
            refused(py, &format!("{key}: no number of this car has that key{hint}"))
        })
    }

    fn set_to(&self, py: Python<'_>, name: &str, number: Number, value: &Value) -> PyResult<(Number, f64)> {
        let value = value.exact(py, name, span(number))?;
        if !number.row().domain.holds(value) {
            return Err(refused(py, &format!("{name}: {value} {} is not possible", number.unit())));
        }
        Ok((number, value))
    }
}

#[pymethods]
impl Car {
    /// Its name.
    #[getter]
    fn name(&self) -> &str {
        &self.0.standing.file.name
    }

    /// Its file.
    #[getter]
    fn path(&self) -> PathBuf {
        self.0.texts.path.clone()
    }

    /// Mass as it laps, kg.
    #[getter]
    fn mass(&self) -> f64 {
        self.model().mass.m
    }

    /// Centre of gravity behind the front axle line, as it laps, m.
    #[getter]
    fn cg_x(&self) -> f64 {
        self.model().mass.a
    }

    /// Centre of gravity right of the centre plane, as it laps, m.
    #[getter]
    fn cg_y(&self) -> f64 {
        self.model().mass.y_cg
    }

    /// Centre of gravity above ground, as it laps, m.
    #[getter]
    fn cg_height(&self) -> f64 {
        self.model().mass.h
    }

    /// Share of the weight on the front axle, as it laps, 0 to 1.
    #[getter]
    fn front_share(&self) -> f64 {
        1.0 - self.model().mass.a / self.model().chassis.l
    }

    /// What is possible in its file, but unlikely, a line each.
    #[getter]
    fn warnings(&self) -> Vec<String> {
        lines(&self.0.standing.file.warnings)
    }

    /// Every number of the model, by its key, SI: what `with_`, `laps`, `Lap.gradient` and `Objective` know it by.
    ///
    /// >>> import unladen
    /// >>> car = unladen.read_car("vehicles/saloon-awd")
    /// >>> car.numbers["chassis.wheelbase"]
    /// 2.57
    #[getter]
    fn numbers(&self) -> BTreeMap<String, f64> {
        let car = self.model();
        Number::all(car).into_iter().filter_map(|n| Some((n.key(), car.number(n)?))).collect()
    }

    /// This car with some numbers replaced; each is a number in SI or a text with its unit.
    ///
    /// `mass`, `cg_x`, `cg_y`, `cg_height` and `front_share` are of the car as it laps: what is on the scales changes by the
    /// same mass and the same moments. `numbers` are others of `Car.numbers`; `set` replaces values of the file, as the
    /// command's `--set` does, and is done first.
    ///
    /// >>> import unladen
    /// >>> car = unladen.read_car("vehicles/saloon-awd")
    /// >>> car.with_(mass=1250.0, cg_height="480 mm").cg_height
    /// 0.48
    #[pyo3(signature = (*, mass=None, cg_x=None, cg_y=None, cg_height=None, front_share=None, numbers=None, set=None))]
    #[allow(clippy::too_many_arguments)]
    fn with_(
        &self,
        py: Python<'_>,
        mass: Option<Value>,
        cg_x: Option<Value>,
        cg_y: Option<Value>,
        cg_height: Option<Value>,
        front_share: Option<f64>,
        numbers: Option<BTreeMap<String, Value>>,
        set: Option<&Bound<'_, PyAny>>,
    ) -> PyResult<Car> {
        let more = settings(set)?;
        let base = if more.is_empty() {
            self.clone()
        } else {
            let old = &self.0.texts;
            let all = old.set.iter().cloned().chain(more).collect();
            let new = Texts::new(old.path.clone(), old.texts.clone(), all, old.changes.clone());
            let new = new.map_err(|errors| faults(py, &[errors]))?;
            let new = new.standing(&self.0.standing.state).map_err(|why| failure(py, &why))?;
            unlikely(py, &new.standing.file.warnings)?;
            Car(Arc::new(new))
        };
        let mut changes = Vec::new();
        let named = [
            ("mass", Number::M, mass),
            ("cg_x", Number::A, cg_x),
            ("cg_y", Number::Y_CG, cg_y),
            ("cg_height", Number::H, cg_height),
        ];
        let both = front_share.is_some() && named[1].2.is_some();
        if both {
            return Err(refused(py, "cg_x and front_share say the same thing: give one of them"));
        }
        for (name, number, value) in &named {
            changes.extend(value.as_ref().map(|value| base.set_to(py, name, *number, value)).transpose()?);
        }
        if let Some(share) = front_share {
            let share = within(py, "front_share", share, between(0.0, 1.0))?;
            changes.push((Number::A, base.model().chassis.l * (1.0 - share)));
        }
        for (key, value) in numbers.unwrap_or_default() {
            changes.push(base.set_to(py, &key, base.number(py, &key)?, &value)?);
        }
        base.with_numbers(py, changes)
    }

    /// This car with a mass put on at a place, or with one that is there taken off (`mass` below 0); kg, and m behind the
    /// front axle line, right of the centre plane, above ground.
    ///
    /// >>> import unladen
    /// >>> car = unladen.read_car("vehicles/saloon-awd")
    /// >>> heavier = car.adding(20.0, at=(1.2, 0.0, 0.3))
    /// >>> round(heavier.mass - car.mass, 9), heavier.cg_height < car.cg_height
    /// (20.0, True)
    #[pyo3(signature = (mass, at))]
    fn adding(&self, py: Python<'_>, mass: Value, at: [Value; 3]) -> PyResult<Car> {
        let kg = mass.exact(py, "mass", Span { min: -50_000.0, ..span(Number::M) })?;
        let [x, y, z] = place(py, "at", &at)?;
        if self.model().mass.m + kg <= 0.0 {
            let left = MassError::NothingLeft { from_kg: self.model().mass.m, removed_kg: -kg };
            return Err(refused(py, &left.to_string()));
        }
        self.changed(py, vec![Changed::Moments([kg, kg * x, kg * y, kg * z])])
    }

    fn __repr__(&self) -> String {
        let m = self.model().mass;
        let share = 100.0 * self.front_share();
        format!("Car('{}', {:.1} kg, {:.1} mm high, {share:.1} % in front)", self.name(), m.m, 1e3 * m.h)
    }

    fn _repr_html_(&self) -> String {
        let m = self.model().mass;
        let share = 100.0 * self.front_share();
        let row = |what: &str, value: String| format!("<tr><th>{what}</th><td>{value}</td></tr>");
        let rows = row("mass as it laps", format!("{:.1} kg", m.m))
            + &row("centre of gravity", format!("{:.1} mm high, {share:.2} % of the weight in front", 1e3 * m.h));
        format!("<table><caption>{}</caption>{rows}</table>", escaped(self.name()))
    }

    fn __reduce__<'py>(slf: &Bound<'py, Self>) -> PyResult<(Bound<'py, PyAny>, Bound<'py, PyTuple>)> {
        let py = slf.py();
        let (car, state) = (&slf.get().0.texts, &slf.get().0.standing.state);
        let changes: Vec<(String, Vec<f64>)> = car.changes.iter().map(Changed::packed).collect();
        let state = (state.of.word(), state.with.clone(), state.without.clone());
        let args = (car.path.clone(), car.texts.clone(), car.set.clone(), changes, state).into_pyobject(py)?;
        Ok((slf.get_type().getattr("_again")?.into_any(), args))
    }

    #[staticmethod]
    fn _again(
        py: Python<'_>,
        path: PathBuf,
        texts: Vec<(PathBuf, Vec<u8>)>,
        set: Vec<String>,
        changes: Vec<(String, Vec<f64>)>,
        state: (String, Vec<String>, Vec<String>),
    ) -> PyResult<Car> {
        let state = state_of(py, &state.0, state.1, state.2)?;
        let texts = Texts::new(path, texts, set, Vec::new()).map_err(|errors| faults(py, &[errors]))?;
        let car = Car(Arc::new(texts.standing(&state).map_err(|why| failure(py, &why))?));
        let changes = changes.iter().map(|(key, values)| match values[..] {
            [value] => Ok(Changed::Number(car.number(py, key)?, value)),
            [m, x, y, z] => Ok(Changed::Moments([m, x, y, z])),
            _ => Err(refused(py, "this is no car that was packed")),
        });
        let changes = changes.collect::<PyResult<Vec<_>>>()?;
        if changes.is_empty() { Ok(car) } else { car.changed(py, changes) }
    }

    fn __eq__(&self, other: &Bound<'_, PyAny>) -> bool {
        other.cast::<Car>().is_ok_and(|other| {
            let (a, b) = (&*self.0, &*other.get().0);
            a.texts.texts == b.texts.texts
                && a.standing.car == b.standing.car
                && a.standing.file.loads == b.standing.file.loads
        })
    }

    fn __hash__(&self) -> u64 {
        self.model().mass.m.to_bits() ^ self.model().mass.h.to_bits().rotate_left(32)
    }

    fn __copy__(&self) -> Car {
        self.clone()
    }

    fn __deepcopy__(&self, _memo: &Bound<'_, PyDict>) -> Car {
        self.clone()
    }
}
