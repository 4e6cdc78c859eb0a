//! The front door: a track made ready to be lapped, and the laps of cars on it.

use std::sync::Arc;

use unladen_track::Track;
use unladen_vehicle::branches::Free;
use unladen_vehicle::car::{Day, OnDay};
use unladen_vehicle::loads::Wheels;
use unladen_vehicle::road::Road;
use unladen_vehicle::tape::Tape;
use unladen_vehicle::{Car, Dual, Model, Number};

use crate::backward::brake::NoSpeed;
use crate::error::LapError;
use crate::forward::profile::Stop;
use crate::slopes::derivatives::{derivatives, gradient, totals};
use crate::solved::lap::{Failure, Solved, solve};
use crate::solved::verify::Seen;
use crate::step::mesh::{Halving, Mesh};

use crate::solved::trace::{Limit, Row};

/// The default length of a cell, m; chosen by the measured convergence (`tests/all/convergence.rs`).
pub const STEP_M: f64 = 2.0;

/// Where the change was smaller than the error against a sixteen times finer lap, it was so by less than this (random
/// cars; `crates/lap/tests`).
const SAFETY: f64 = 2.5;

/// What the shortest cells, which do not shrink with the step, leave: about 5e-6 s in the closed form of a constant
/// radius from rest, s.
const FLOOR: f64 = 1e-5;

/// An allocator that has seen a block of so many bytes freed keeps what laps free for the next ones; else it hands that back
/// to the system and fetches it again lap by lap, which took a tenth of each. (A browser's module gives nothing back.)
#[cfg(not(target_arch = "wasm32"))]
const KEPT: usize = 8 << 20;

/// A track with its stations, for laps of any car. A copy shares them.
#[derive(Clone)]
pub struct Course(Arc<Stations>);

struct Stations {
    track: Track,
    full: Mesh,
    half: Mesh,
    rough: Mesh,
}

/// What a lap came to besides its time.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Status {
    /// Solved.
    Settled,
    /// A circuit whose gears did not repeat from lap to lap within the laps tried: the time is that of the last lap,
    /// and the next one differs.
    Unsettled,
    /// Solved, but from this station on the profile asks for more than the model allows: where what is feasible falls
    /// into parts, or where a shift takes away the drive that grip needs (`docs/model.md` §6 has no answer to that).
    Beyond {
        /// Index into [`Course::stations`].
        station: usize,
    },
}

/// A lap, and the course that it was driven on.
#[must_use = "its status says what to make of its time"]
pub struct Lap {
    /// Lap time, s.
    pub time: f64,
    /// Estimate of its numerical error, s: what leaving out every second station changes, added up over the segments.
    pub error: f64,
    /// What to make of it.
    pub status: Status,
    course: Course,
    on: OnDay,
    model: Model,
    full: Solved,
    half: Solved,
    /// A wheel is off the ground somewhere, or the profile is cut off at a ceiling.
    odd: bool,
}

/// A derivative of lap time with respect to one number of the car.
#[derive(Clone, Debug)]
pub struct Derivative {
    /// Which number.
    pub number: Number,
    /// ∂T/∂(number), s per SI unit of the number.
    pub value: f64,
    /// Estimate of its numerical error: what leaving out every second station changes, added up over the segments.
    pub error: f64,
    /// ∂t/∂(number) at each station: where along the lap it comes from.
    pub along: Vec<f64>,
}

/// Another sequence of gears that is nearly as quick as the lap's own: where the two change places, lap time has a kink,
/// and its derivatives on the other side are these.
#[derive(Clone, Debug)]
pub struct Rival {
    /// How much slower it is, s; below a millisecond.
    pub behind_s: f64,
    /// ∂T/∂(number) of its time, s per SI unit, in the order of the numbers asked for.
    pub slopes: Vec<f64>,
}

/// A derivative of lap time, without where it comes from.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Slope {
    /// Which number.
    pub number: Number,
    /// ∂T/∂(number), s per SI unit of the number.
    pub value: f64,
    /// Estimate of its numerical error: what leaving out every second station changes, added up over the segments.
    pub error: f64,
}

impl From<Derivative> for Slope {
    fn from(Derivative { number, value, error, .. }: Derivative) -> Self {
        Self { number, value, error }
    }
}

impl Course {
    /// Stations at the default step.
    pub fn new(track: &Track) -> Self {
        Self::with_step(track, STEP_M)
    }

    /// Stations about `step_m` apart (closer at joins and in tight corners).
    pub fn with_step(track: &Track, step_m: f64) -> Self {
        #[cfg(not(target_arch = "wasm32"))]
        drop(std::hint::black_box(Vec::<u8>::with_capacity(KEPT)));
        Self(Arc::new(Stations {
            full: Mesh::new(track, step_m, Halving::Full),
            half: Mesh::new(track, step_m, Halving::Half),
            rough: Mesh::new(track, step_m, Halving::Quarter),
            track: track.clone(),
        }))
    }

    /// The track.
    pub fn track(&self) -> &Track {
        &self.0.track
    }

    /// Distance of each station from the start, in plan, m; one more than there are cells.
    pub fn stations(&self) -> Vec<f64> {
        self.0.full.cells.iter().map(|c| c.s).chain([self.0.track.length()]).collect()
    }

    /// The track's day: its air and grip.
    pub fn day(&self) -> Day {
        Day { rho: self.0.track.rho, gamma_0: self.0.track.grip }
    }

    fn solve(&self, mesh: &Mesh, car: &Car) -> Result<(Model, Solved), LapError> {
        let day = self.day();
        let model = Model::new(car, day);
        let dual = Model::new(&car.map(Dual::from), day.map(Dual::from));
        let solved = solve(mesh, &model, &dual).map_err(|f| self.explain(mesh, f))?;
        Ok((model, solved))
    }

    fn explain(&self, mesh: &Mesh, failure: Failure) -> LapError {
        let at = |cell: usize| {
            let cell = &mesh.cells[cell.min(mesh.cells.len() - 1)];
            (cell.s, self.0.track.segments[cell.segment].place.clone())
        };
        match failure {
            Failure::NoSpeed(NoSpeed { cell }) => {
                let (s_m, place) = at(cell);
                LapError::NoSpeed { s_m, place }
            }
            Failure::Torn { cell } => {
                let (s_m, place) = at(cell);
                LapError::Torn { s_m, place }
            }
            Failure::Stop(Stop::Stalls { cell, at_start }) => {
                let (s_m, place) = at(cell);
                if at_start { LapError::CannotMoveOff } else { LapError::Stalls { s_m, place } }
            }
            Failure::Stop(Stop::StartTooFast { x_max }) => {
                LapError::StartTooFast { start_mps: self.0.track.start_speed, most_mps: x_max.sqrt() }
            }
        }
    }

    /// Time at every station, s, of another car; `None` where it has no lap.
    pub(crate) fn times(&self, car: &Car) -> Option<Vec<f64>> {
        let (_, solved) = self.solve(&self.0.full, car).ok()?;
        solved.time().is_finite().then_some(solved.t)
    }

    /// Lap time alone, s, without an estimate of its error: for the many laps of a study. Air and grip are the track's.
    pub fn time(&self, car: &Car) -> Result<f64, LapError> {
        let (_, solved) = self.solve(&self.0.full, car)?;
        Ok(solved.time())
    }

    /// The same on every second station: what that changes of a difference tells its numerical error.
    pub fn half_time(&self, car: &Car) -> Result<f64, LapError> {
        let (_, solved) = self.solve(&self.0.half, car)?;
        Ok(solved.time())
    }

    /// The same on a quarter of the stations, in two fifths of the time: for what a change does to lap time, where that is
    /// held against [`Course::time`] at some cars.
    pub fn rough_time(&self, car: &Car) -> Result<f64, LapError> {
        let (_, solved) = self.solve(&self.0.rough, car)?;
        Ok(solved.time())
    }

    /// [`Course::rough_time`] and its ∂T/∂(number), s per SI unit, for each of `numbers`: what one lap tells of all cars
    /// that are nearly this one.
    pub fn rough_slopes(&self, car: &Car, numbers: &[Number]) -> Result<(f64, Vec<f64>), LapError> {
        let (_, solved) = self.solve(&self.0.rough, car)?;
        Ok((solved.time(), totals(&self.0.rough, &car.on(self.day()), &solved, numbers)))
    }

    /// A lap with its error. Air and grip are the track's.
    pub fn lap(&self, car: &Car) -> Result<Lap, LapError> {
        let (model, full) = self.solve(&self.0.full, car)?;
        let (_, half) = self.solve(&self.0.half, car)?;
        let Seen { beyond, odd } = full.seen(&self.0.full, &model);
        let status = match beyond {
            _ if full.profile.unsettled => Status::Unsettled,
            Some(station) => Status::Beyond { station },
            None => Status::Settled,
        };
        let (time, error) = (full.time(), self.error(&full.t, &half.t).max(FLOOR));
        Ok(Lap { time, error, status, course: self.clone(), on: car.on(self.day()), model, full, half, odd })
    }

    /// What leaving out every second station changes, segment by segment, without letting changes cancel: of what runs
    /// along the lap, at the stations of both meshes.
    fn error(&self, full: &[f64], half: &[f64]) -> f64 {
        let [full, half] = self.by_segment(full, half);
        SAFETY * full.into_iter().zip(half).map(|(a, b)| (a - b).abs()).sum::<f64>()
    }

    /// What runs along the lap, at the stations of both meshes, segment by segment.
    fn by_segment(&self, full: &[f64], half: &[f64]) -> [Vec<f64>; 2] {
        [(&self.0.full, full), (&self.0.half, half)].map(|(mesh, along)| {
            let mut parts = vec![0.0; self.0.track.segments.len()];
            for (i, cell) in mesh.cells.iter().enumerate() {
                parts[cell.segment] += along[i + 1] - along[i];
            }
            parts
        })
    }
}

impl Lap {
    /// Derivatives of its time with respect to numbers of its car; the sequence of gears is held. Where one is in doubt
    /// (`docs/model.md` §8) and laps of cars a small step to either side say something else, it is what they say.
    pub fn derivatives(&self, numbers: &[Number]) -> Vec<Derivative> {
        let full = derivatives(&self.course.0.full, &self.on, &self.full, numbers);
        let half = derivatives(&self.course.0.half, &self.on, &self.half, numbers);
        let pairs = numbers.iter().zip(full.into_iter().zip(half));
        let derivative = |(&number, (along, half)): (&Number, (Vec<f64>, Vec<f64>))| {
            let value = along.last().copied().unwrap_or(0.0);
            Derivative { number, value, error: self.course.error(&along, &half), along }
        };
        self.held(pairs.map(derivative).collect())
    }

    /// Derivatives of its time with respect to all numbers of its car at once, without where along the lap they come
    /// from: for more than a handful of numbers this is the quicker way. The same values as [`Lap::derivatives`], but
    /// for rounding; errors from what each segment's own cells have to do with them.
    pub fn gradient(&self) -> Vec<Slope> {
        let numbers = self.on.numbers();
        let mut tape = Tape::default();
        let mut on = |mesh, solved| gradient(&mut tape, mesh, &self.on, solved, &numbers);
        let Some((full, half)) = on(&self.course.0.full, &self.full).zip(on(&self.course.0.half, &self.half)) else {
            return self.derivatives(&numbers).into_iter().map(Slope::from).collect();
        };
        let pairs = numbers.iter().zip(full.into_iter().zip(half));
        let derivative = |(&number, (full, half)): (&Number, (Vec<f64>, Vec<f64>))| {
            let error = SAFETY * full.iter().zip(&half).map(|(a, b)| (a - b).abs()).sum::<f64>();
            Derivative { number, value: full.iter().sum(), error, along: vec![] }
        };
        self.held(pairs.map(derivative).collect()).into_iter().map(Slope::from).collect()
    }

    /// ∂T/∂(number), s per SI unit, for each of `numbers`, without an estimate of its error: what a study needs of many laps.
    pub fn slopes(&self, numbers: &[Number]) -> Vec<f64> {
        totals(&self.course.0.full, &self.on, &self.full, numbers)
    }

    /// The sequence of gears that comes closest to the lap's own, and the derivatives of its time; `None` where none comes
    /// within a millisecond.
    pub fn rival(&self, numbers: &[Number]) -> Option<Rival> {
        let other = self.full.rival.as_ref()?;
        let (braking, profile) = (self.full.braking.clone(), other.profile.clone());
        let solved = Solved { braking, profile, t: vec![], rival: None };
        let along = derivatives(&self.course.0.full, &self.on, &solved, numbers);
        let slopes = along.iter().map(|d| d.last().copied().unwrap_or(0.0)).collect();
        Some(Rival { behind_s: other.behind, slopes })
    }

    /// The lap station by station.
    pub fn trace(&self) -> Vec<Row> {
        let n = self.course.0.full.cells.len();
        (0..=n).map(|i| self.row(i)).collect()
    }

    /// The same with a row wherever braking begins between two stations: speed has its peaks there, up to a kilometre an hour
    /// above the stations beside them.
    pub fn trace_with_peaks(&self) -> Vec<Row> {
        let (mesh, solved, model) = (&self.course.0.full, &self.full, &self.model);
        let n = mesh.cells.len();
        let peak = |i: usize| {
            let peak = solved.peak(mesh, model, i)?;
            let cell = &mesh.cells[i];
            let (s, t) = (cell.s + peak.share * cell.length, solved.t[i] + peak.after_s);
            Some(self.looked_up([s, t], &mesh.road_in(cell, peak.share), [peak.x, peak.a_x], (peak.limit, peak.gear)))
        };
        (0..=n).flat_map(|i| std::iter::once(self.row(i)).chain(peak(i))).collect()
    }

    fn row(&self, i: usize) -> Row {
        let (mesh, solved, model) = (&self.course.0.full, &self.full, &self.model);
        let state = &solved.profile.states[i];
        let a_x = solved.a_x(mesh, model, i);
        let s = mesh.cells.get(i).map_or(self.course.0.track.length(), |cell| cell.s);
        self.looked_up([s, solved.t[i]], mesh.road_at(i), [state.x, a_x], solved.limit(mesh, model, i))
    }

    /// A row where the car is at X with a_x.
    fn looked_up(&self, [s, t]: [f64; 2], road: &Road, [x, a_x]: [f64; 2], (limit, gear): (Limit, u8)) -> Row {
        let axles = self.model.axles(road, x, a_x);
        let Wheels { n: load, .. } = self.model.wheels(&axles, &mut Free);
        Row { s, t, v: x.sqrt(), a_x, a_y: axles.a_y, gear, limit, load }
    }

    /// Gears in the order they are used.
    pub fn gears(&self) -> Vec<u8> {
        let n = self.course.0.full.cells.len();
        let mut gears: Vec<u8> = (0..n).map(|i| self.full.limit(&self.course.0.full, &self.model, i).1).collect();
        gears.dedup();
        gears
    }

    /// Share of the lap's time that each limit rules, in the order of [`Limit::ALL`].
    pub fn shares(&self) -> Vec<(Limit, f64)> {
        let t = &self.full.t;
        let mut shares = Limit::ALL.map(|limit| (limit, 0.0)).to_vec();
        for i in 0..t.len() - 1 {
            let (limit, _) = self.full.limit(&self.course.0.full, &self.model, i);
            if let Some(share) = shares.iter_mut().find(|s| s.0 == limit) {
                share.1 += (t[i + 1] - t[i]) / self.time;
            }
        }
        shares
    }

    pub(crate) fn course(&self) -> &Course {
        &self.course
    }

    /// Time in each segment, s, and the same on every second station.
    pub fn segment_times(&self) -> [Vec<f64>; 2] {
        self.course.by_segment(&self.full.t, &self.half.t)
    }

    /// Time at every station, s.
    pub(crate) fn times(&self) -> &[f64] {
        &self.full.t
    }

    /// A wheel is off the ground at some station, or the profile is cut off at a ceiling.
    pub(crate) fn is_odd(&self) -> bool {
        self.odd
    }

    /// The car that lapped.
    pub fn car(&self) -> &Car {
        &self.on.car
    }

    /// The same on the track's day.
    pub fn on_day(&self) -> &OnDay {
        &self.on
    }

    /// The model of it on that day.
    pub fn model(&self) -> &Model {
        &self.model
    }
}
