//! Cars × tracks × a grid: a table of work that falls into parts, each of which can be computed anywhere.

use std::ops::Range;
use std::sync::Arc;

use pyo3::exceptions::PyTypeError;
use pyo3::prelude::*;
use pyo3::types::{PyDict, PyTuple};
use unladen_questions::sweep::{Axes, Question};
use unladen_questions::{AskError, NoResult};
use unladen_report::sweep::axes::axes as worded;
use unladen_report::sweep::rows::{COLUMNS, SweepRow};
use unladen_study::sweep::{Grid, Shard, Sweep as Grids};

use crate::ask::given::tracks as tracks_of;
use crate::ask::many::in_pieces;
use crate::car::Car;
use crate::fault::{ask, failure, refused};
use crate::held::Held;
use crate::held::laid::Laid;
use crate::table::{Column, Table};
use crate::track::Track;
use crate::work::{pool, short};

/// A car on a track, and its grid.
struct Pair {
    car: usize,
    track: usize,
    grid: Grid,
}

/// All that the rows follow from.
pub struct Work {
    cars: Vec<(String, Car)>,
    tracks: Vec<(String, Arc<Laid>)>,
    over: Vec<(String, String)>,
    pairs: Vec<Pair>,
    cells: u64,
}

/// Cars × tracks × a grid, as `unladen.sweep` describes it: nothing is computed before it is asked for.
///
/// Its parts need nothing of each other and travel with their files in them: any engine may compute them, anywhere, in any
/// order, twice or again after one was lost. `Table.concat` of all of them in order is what `compute` gives, to the last byte.
#[pyclass(frozen, module = "unladen")]
#[derive(Clone)]
pub struct Sweep(Arc<Work>);

/// One of the parts that a sweep falls into; `compute()` is all that an engine has to call.
#[pyclass(frozen, module = "unladen")]
#[derive(Clone)]
pub struct Part {
    sweep: Sweep,
    shard: Shard,
}

/// The most rows that one table holds.
const MOST: u64 = 10_000_000;

/// Describes a sweep: each car on each track at every point of a grid.
///
/// `cars` is a car, several, or a mapping from names to cars; `tracks` a track or several. `over` says what is swept: mass (kg),
/// cg_height (m), front_share (0 to 1), fuel (m³), grip; each as (from, to, how many) in SI or as the command takes it,
/// "1000kg..1300kg:21".
///
/// >>> import unladen
/// >>> car = unladen.read_car("vehicles/saloon-awd")
/// >>> track = unladen.read_track("tracks/airfield.toml")
/// >>> sweep = unladen.sweep(car, track, over={"mass": (1200, 1300, 3), "cg_height": "450mm..500mm:2"})
/// >>> sweep
/// Sweep(6 cells: 1 × 1 cars and tracks, mass 1200 to 1300 kg in 3, height of the centre of gravity 450 to 500 mm in 2)
/// >>> table = sweep.compute()
/// >>> bool((table["s_per_kg"] > 0).all())
/// True
#[pyfunction]
#[pyo3(signature = (cars, tracks, over))]
pub fn sweep(
    py: Python<'_>,
    cars: &Bound<'_, PyAny>,
    tracks: &Bound<'_, PyAny>,
    over: &Bound<'_, PyDict>,
) -> PyResult<Sweep> {
    let tracks = tracks_of(py, tracks)?.into_iter().map(|(track, _)| (track.file.track.name.clone(), track)).collect();
    Sweep::new(py, cars_of(py, cars)?, distinct(tracks), axes_of(over)?)
}

/// A car, several, or several with names of their own.
fn cars_of(py: Python<'_>, given: &Bound<'_, PyAny>) -> PyResult<Vec<(String, Car)>> {
    let named = |car: &Bound<'_, Car>| (car.get().0.standing.file.name.clone(), car.get().clone());
    let wrong = || {
        let found = given.get_type();
        PyTypeError::new_err(format!(
            "cars: a Car is due, or several, or a mapping from names to cars; this is a {found}"
        ))
    };
    if let Ok(car) = given.cast::<Car>() {
        return Ok(vec![named(car)]);
    }
    let all: Vec<(String, Car)> = match given.cast::<PyDict>() {
        Ok(all) => {
            let of = |(name, car): (Bound<'_, PyAny>, Bound<'_, PyAny>)| {
                let car = car.cast::<Car>().map_err(|_| wrong())?;
                Ok((name.extract::<String>().map_err(|_| wrong())?, car.get().clone()))
            };
            all.iter().map(of).collect::<PyResult<_>>()?
        }
        Err(_) => {
            let all = given.try_iter().map_err(|_| wrong())?;
            let all = all.map(|car| Ok(named(car?.cast::<Car>().map_err(|_| wrong())?)));
            all.collect::<PyResult<Vec<_>>>()?
        }
    };
    if all.is_empty() { Err(refused(py, "cars: at least one is due")) } else { Ok(distinct(all)) }
}

/// Of several of one name the second gets a number, and so on.
fn distinct<T>(all: Vec<(String, T)>) -> Vec<(String, T)> {
    let mut seen: Vec<String> = Vec::new();
    let name = |(name, of): (String, T)| {
        let mut own = name.clone();
        let mut count = 1;
        while seen.contains(&own) {
            count += 1;
            own = format!("{name} ({count})");
        }
        seen.push(own.clone());
        (own, of)
    };
    all.into_iter().map(name).collect()
}

/// What may be swept, and the SI unit of its numbers.
const AXES: [(&str, &str); 5] = [("mass", "kg"), ("cg_height", "m"), ("front_share", ""), ("fuel", "m3"), ("grip", "")];

/// Each axis as the command takes it: `1000kg..1300kg:21`, or from, to and how many in SI.
fn axes_of(over: &Bound<'_, PyDict>) -> PyResult<Vec<(String, String)>> {
    let of = |(name, value): (Bound<'_, PyAny>, Bound<'_, PyAny>)| {
        let name: String = name.extract()?;
        let unit = AXES.iter().find(|(known, _)| *known == name).map(|(_, unit)| unit).ok_or_else(|| {
            let known: Vec<&str> = AXES.iter().map(|(name, _)| *name).collect();
            PyTypeError::new_err(format!("over: {name} can't be swept; {} can", known.join(", ")))
        })?;
        let typed = if let Ok(text) = value.extract::<String>() {
            text
        } else if let Ok((from, to, count)) = value.extract::<(f64, f64, u64)>() {
            format!("{from}{unit}..{to}{unit}:{count}")
        } else if let Ok(one) = value.extract::<f64>() {
            format!("{one}{unit}")
        } else {
            return Err(PyTypeError::new_err(format!(
                "over[\"{name}\"]: (from, to, count) in SI is due, or a text, \"1000kg..1300kg:21\"; a list of values is \
                 for Car.laps"
            )));
        };
        Ok((name, typed))
    };
    over.iter().map(of).collect()
}

impl Sweep {
    fn new(
        py: Python<'_>,
        cars: Vec<(String, Car)>,
        tracks: Vec<(String, Arc<Laid>)>,
        over: Vec<(String, String)>,
    ) -> PyResult<Sweep> {
        let typed = |name: &str| over.iter().find(|(known, _)| known == name).map(|(_, text)| text.clone());
        let axes = Axes {
            mass: typed("mass"),
            cg_height: typed("cg_height"),
            front_share: typed("front_share"),
            fuel: typed("fuel"),
            grip: typed("grip"),
        };
        let mut pairs = Vec::new();
        let mut cells = Some(0u64);
        for (c, (_, car)) in cars.iter().enumerate() {
            for (t, (_, track)) in tracks.iter().enumerate() {
                let (held, scene) = Held::scene(&car.0, &[(track.clone(), 1.0)]);
                let ready = Question { scene, axes: axes.clone() }.read(&held).map_err(|why| failure(py, &why))?;
                cells = cells.zip(ready.grid.cells()).and_then(|(all, own)| all.checked_add(own));
                pairs.push(Pair { car: c, track: t, grid: ready.grid });
            }
        }
        let cells = cells.ok_or_else(|| refused(py, "a sweep of more cells than can be counted"))?;
        Ok(Sweep(Arc::new(Work { cars, tracks, over, pairs, cells })))
    }

    fn grid(&self) -> Option<&Grid> {
        self.0.pairs.first().map(|pair| &pair.grid)
    }

    /// The rows of these cells.
    fn rows(&self, py: Python<'_>, range: Range<u64>) -> PyResult<Table> {
        let work = &*self.0;
        let count = range.end - range.start;
        if count > MOST {
            return Err(refused(py, &format!("{count} cells: at most {MOST} are computed at once; take more parts")));
        }
        let mut columns = Rows::default();
        let mut first = 0;
        for pair in &work.pairs {
            let own = pair.grid.cells().unwrap_or(0);
            let (from, to) = (range.start.max(first) - first, range.end.min(first + own).saturating_sub(first));
            first += own;
            if from < to {
                self.of_pair(py, pair, from..to, &mut columns)?;
            }
        }
        columns.table()
    }

    fn of_pair(&self, py: Python<'_>, pair: &Pair, range: Range<u64>, columns: &mut Rows) -> PyResult<()> {
        let names = [&self.0.cars[pair.car].0, &self.0.tracks[pair.track].0];
        let (car, track) = (&self.0.cars[pair.car].1.0, &self.0.tracks[pair.track].1);
        let (car, course) = (&car.standing.car, &track.course);
        let sweep = Grids { car, course, step_m: track.step_m, grid: &pair.grid };
        let reference = short(py, || sweep.reference())?;
        let reference = reference.map_err(|why| ask(py, &AskError::from(NoResult::from(why))))?;
        let pool = pool(py)?;
        in_pieces(py, range, pool.current_num_threads(), |piece| {
            let cells = short(py, || pool.install(|| sweep.cells(piece, &|| true)))?;
            cells.iter().for_each(|cell| columns.add(names, &SweepRow::of(cell, &reference)));
            Ok(())
        })
    }
}

/// Rows, column by column.
#[derive(Default)]
struct Rows {
    words: [Vec<String>; 4],
    numbers: [Vec<Option<f64>>; COLUMNS.len() - 2],
}

impl Rows {
    fn add(&mut self, [car, track]: [&String; 2], row: &SweepRow) {
        let lap = row.lap.as_ref().ok();
        let numbers = [
            Some(row.mass_kg),
            Some(row.cg_height_mm),
            Some(row.front_share),
            lap.map(|l| l.lap_time_s),
            lap.map(|l| l.delta_s),
            lap.map(|l| l.slopes[0]),
            lap.map(|l| l.slopes[1]),
            lap.map(|l| l.slopes[2]),
            lap.map(|l| l.error_s),
            row.fuel_l,
            Some(row.grip),
        ];
        self.numbers.iter_mut().zip(numbers).for_each(|(column, number)| column.push(number));
        let reason = row.lap.as_ref().err().cloned().unwrap_or_default();
        let words = [car.clone(), track.clone(), row.status().to_owned(), reason];
        self.words.iter_mut().zip(words).for_each(|(column, word)| column.push(word));
    }

    fn table(self) -> PyResult<Table> {
        let [cars, tracks, status, reason] = self.words.map(Column::Words);
        let (last, numbers) = (COLUMNS.len() - 2, self.numbers.into_iter().map(Column::Numbers));
        let columns =
            [("car", cars), ("track", tracks)].into_iter().chain(COLUMNS[..last].iter().copied().zip(numbers));
        Table::of(columns.chain([(COLUMNS[last], status), (COLUMNS[last + 1], reason)]))
    }
}

#[pymethods]
impl Sweep {
    /// How many laps it has.
    #[getter]
    fn cells(&self) -> u64 {
        self.0.cells
    }

    fn __len__(&self) -> usize {
        self.0.cells as usize
    }

    /// Names of its cars, as in the column `car`.
    #[getter]
    fn cars(&self) -> Vec<String> {
        self.0.cars.iter().map(|(name, _)| name.clone()).collect()
    }

    /// Names of its tracks, as in the column `track`.
    #[getter]
    fn tracks(&self) -> Vec<String> {
        self.0.tracks.iter().map(|(name, _)| name.clone()).collect()
    }

    /// The k-th of n parts, k from 1.
    fn part(&self, py: Python<'_>, k: u64, n: u64) -> PyResult<Part> {
        let shard = Shard::new(k, n).filter(|shard| shard.of() <= self.0.cells);
        let shard = shard.ok_or_else(|| {
            refused(
                py,
                &format!("part {k} of {n}: k from 1 to n is due, and n at most {}, a cell a part", self.0.cells),
            )
        })?;
        Ok(Part { sweep: self.clone(), shard })
    }

    /// All of n parts, in order.
    ///
    /// >>> import unladen
    /// >>> car = unladen.read_car("vehicles/saloon-awd")
    /// >>> track = unladen.read_track("tracks/airfield.toml")
    /// >>> sweep = unladen.sweep(car, track, over={"mass": (1200, 1300, 10)})
    /// >>> [len(part) for part in sweep.parts(3)]
    /// [3, 3, 4]
    fn parts(&self, py: Python<'_>, n: u64) -> PyResult<Vec<Part>> {
        // One that can't be says why, also where there would be none.
        self.part(py, 1, n)?;
        (1..=n).map(|k| self.part(py, k, n)).collect()
    }

    /// Computes all of it on this machine's cores; Ctrl-C is heard.
    ///
    /// The columns are those of `unladen sweep --csv`, `car` and `track` before them.
    fn compute(&self, py: Python<'_>) -> PyResult<Table> {
        self.rows(py, 0..self.0.cells)
    }

    fn __eq__(&self, other: &Bound<'_, PyAny>) -> bool {
        other.cast::<Sweep>().is_ok_and(|other| self.same(other.get()))
    }

    fn __repr__(&self) -> String {
        let over = self.grid().map(worded).unwrap_or_default().join(", ");
        let (cars, tracks) = (self.0.cars.len(), self.0.tracks.len());
        format!("Sweep({} cells: {cars} × {tracks} cars and tracks, {over})", self.0.cells)
    }

    fn __reduce__<'py>(slf: &Bound<'py, Self>) -> PyResult<(Bound<'py, PyAny>, Bound<'py, PyTuple>)> {
        let (py, work) = (slf.py(), &*slf.get().0);
        let tracks: Vec<_> = work.tracks.iter().map(|(name, track)| (name.clone(), Track(track.clone()))).collect();
        let args = (work.cars.clone(), tracks, work.over.clone()).into_pyobject(py)?;
        Ok((slf.get_type().getattr("_again")?, args))
    }

    #[staticmethod]
    fn _again(
        py: Python<'_>,
        cars: Vec<(String, Bound<'_, Car>)>,
        tracks: Vec<(String, Bound<'_, Track>)>,
        over: Vec<(String, String)>,
    ) -> PyResult<Sweep> {
        let cars = cars.into_iter().map(|(name, car)| (name, car.get().clone())).collect();
        let tracks = tracks.into_iter().map(|(name, track)| (name, track.get().0.clone())).collect();
        Sweep::new(py, cars, tracks, over)
    }
}

impl Sweep {
    fn same(&self, other: &Sweep) -> bool {
        let (a, b) = (&*self.0, &*other.0);
        let cars = |work: &Work| work.cars.iter().map(|(n, c)| (n.clone(), c.model().clone())).collect::<Vec<_>>();
        let tracks = |work: &Work| {
            let of = |(name, t): &(String, Arc<Laid>)| (name.clone(), t.file.track.clone(), t.step_m);
            work.tracks.iter().map(of).collect::<Vec<_>>()
        };
        Arc::ptr_eq(&self.0, &other.0) || a.over == b.over && cars(a) == cars(b) && tracks(a) == tracks(b)
    }
}

#[pymethods]
impl Part {
    /// The sweep that it is of.
    #[getter]
    fn sweep(&self) -> Sweep {
        self.sweep.clone()
    }

    /// Which one, from 1.
    #[getter]
    fn k(&self) -> u64 {
        self.shard.which()
    }

    /// How many there are.
    #[getter]
    fn n(&self) -> u64 {
        self.shard.of()
    }

    fn __len__(&self) -> usize {
        let range = self.shard.range(self.sweep.0.cells);
        (range.end - range.start) as usize
    }

    /// Computes its rows on this machine's cores; Ctrl-C is heard.
    fn compute(&self, py: Python<'_>) -> PyResult<Table> {
        self.sweep.rows(py, self.shard.range(self.sweep.0.cells))
    }

    fn __eq__(&self, other: &Bound<'_, PyAny>) -> bool {
        other.cast::<Part>().is_ok_and(|other| {
            let other = other.get();
            self.shard == other.shard && self.sweep.same(&other.sweep)
        })
    }

    fn __repr__(&self) -> String {
        let range = self.shard.range(self.sweep.0.cells);
        format!("Part({} of {}: cells {} to {})", self.shard.which(), self.shard.of(), range.start + 1, range.end)
    }

    fn __reduce__<'py>(slf: &Bound<'py, Self>) -> PyResult<(Bound<'py, PyAny>, Bound<'py, PyTuple>)> {
        let (py, part) = (slf.py(), slf.get());
        let args = (part.sweep.clone(), part.shard.which(), part.shard.of()).into_pyobject(py)?;
        Ok((py.get_type::<Sweep>().getattr("part")?, args))
    }
}
