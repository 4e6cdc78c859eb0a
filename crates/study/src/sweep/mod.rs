//! A full grid over mass, height of the centre of gravity, split, fuel and grip: one lap a cell, with its derivatives.
//!
//! Cells are counted, and each follows from its number alone: a grid is worked through piece by piece, in order, in as
//! little memory as one piece takes, and the same number gives the same bytes on any number of threads.

mod axis;
mod shard;

use unladen_lap::{Course, LapError, Status};
use unladen_track::Track;
use unladen_vehicle::Car;
use unladen_vehicle::car::Mass;
use unladen_vehicle::change::Change;
use unladen_vehicle::fuel::Tank;
use unladen_vehicle::mass::{MassError, Part};

use crate::input::error::StudyError;
use crate::input::sound::sound_lap;
use crate::threads::each;
use crate::worth::figures::{NUMBERS, UNITS};

pub use axis::Axis;
pub use shard::{NoShard, Shard};

/// What is swept; an axis that is none stays as the files say.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Grid {
    /// The day's grip in place of the track's.
    pub grip: Option<Axis>,
    /// Fuel on the track, m³.
    pub fuel: Option<(Axis, Tankful)>,
    /// Mass as it laps with the fuel that the car's file says, kg.
    pub mass: Option<Axis>,
    /// Height of the centre of gravity, likewise, m.
    pub cg_height: Option<Axis>,
    /// Share of the weight on the front axle, b/L: moves the centre of gravity along the car, likewise.
    pub front_share: Option<Axis>,
}

/// A car's fuel as its file says.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tankful {
    /// Where it is.
    pub tank: Tank,
    /// kg/m³.
    pub density: f64,
    /// m³.
    pub on_track: f64,
}

impl Grid {
    /// The axes that are swept, the slowest first: the last one changes from cell to cell.
    fn axes(&self) -> [Option<&Axis>; 5] {
        let fuel = self.fuel.as_ref().map(|f| &f.0);
        [self.grip.as_ref(), fuel, self.mass.as_ref(), self.cg_height.as_ref(), self.front_share.as_ref()]
    }

    /// How many cells it has; `None` where that is more than can be counted.
    pub fn cells(&self) -> Option<u64> {
        self.axes().into_iter().flatten().try_fold(1u64, |n, axis| n.checked_mul(axis.count()))
    }

    /// The value of each axis in a cell: grip, fuel, mass, height, split.
    pub fn values(&self, cell: u64) -> [Option<f64>; 5] {
        let axes = self.axes();
        let mut values = [None; 5];
        let mut rest = cell;
        for (value, axis) in values.iter_mut().zip(axes).rev() {
            if let Some(axis) = axis {
                *value = Some(axis.at(rest % axis.count()));
                rest /= axis.count();
            }
        }
        values
    }
}

/// A car and a track to sweep.
pub struct Sweep<'a> {
    /// The car as it stands.
    pub car: &'a Car,
    /// The track, made ready.
    pub course: &'a Course,
    /// The distance of its stations, m.
    pub step_m: f64,
    /// What is swept.
    pub grid: &'a Grid,
}

/// A cell: the car and the day of it, and what the lap came to.
#[derive(Clone, Debug, PartialEq)]
pub struct Cell {
    /// Its car and day.
    pub setting: Setting,
    /// Its lap.
    pub found: Result<CellLap, NoLap>,
}

/// The car and the day of a cell.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Setting {
    /// Mass and centre of gravity as it laps.
    pub mass: Mass,
    /// b/L as it laps.
    pub front_share: f64,
    /// Fuel on the track, where it is swept, m³.
    pub fuel: Option<f64>,
    /// The day's grip.
    pub grip: f64,
}

/// A lap of a cell.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CellLap {
    /// s.
    pub lap_time: f64,
    /// Estimate of its numerical error, s.
    pub error: f64,
    /// ∂T/∂m, s/kg; ∂T/∂h and ∂T/∂a, s/mm: here, the gears held.
    pub slopes: [f64; 3],
    /// The gears of a circuit repeat from lap to lap, and the lap asks for no more than the car can do.
    pub settled: bool,
}

/// Why a cell has no lap.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum NoLap {
    /// The car does not get round.
    #[error("{0}")]
    Lap(LapError),
    /// A lap whose numbers would mean nothing.
    #[error("no lap time can be given: its error is as large as itself, or the car all but stands still")]
    Unsound,
    /// There is no such car.
    #[error("{0}")]
    Mass(MassError),
}

impl Sweep<'_> {
    /// The car as it stands: what the cells are compared with.
    ///
    /// # Errors
    /// [`StudyError`] where it has no lap.
    pub fn reference(&self) -> Result<CellLap, StudyError> {
        lap_of(self.course, self.car)
    }

    /// The car and the day of a cell.
    pub fn setting(&self, cell: u64) -> Setting {
        self.built(cell).unwrap_or_else(|(setting, _)| setting)
    }

    fn built(&self, cell: u64) -> Result<Setting, (Setting, MassError)> {
        let [grip, fuel, mass, cg_height, front_share] = self.grid.values(cell);
        let (was, l) = (self.car.mass, self.car.chassis.l);
        let mut mass = Mass {
            m: mass.unwrap_or(was.m),
            a: front_share.map_or(was.a, |share| l * (1.0 - share)),
            y_cg: was.y_cg,
            h: cg_height.unwrap_or(was.h),
        };
        let grip = grip.unwrap_or(self.course.track().grip);
        let of = |mass: Mass| Setting { mass, front_share: 1.0 - mass.a / l, fuel, grip };
        if let (Some(volume), Some((_, full))) = (fuel, &self.grid.fuel) {
            let part = |volume| full.tank.fuel(volume, full.density).ok();
            let change = Change { before: part(full.on_track), after: part(volume) };
            let car = Part { m: mass.m, x: mass.a, y: mass.y_cg, z: mass.h, i_zz: None };
            match change.on(car) {
                Ok(car) => mass = car.into(),
                Err(why) => return Err((of(mass), why)),
            }
        }
        Ok(of(mass))
    }

    /// The car as it stands, as a cell.
    pub fn standing(&self, found: &CellLap) -> Cell {
        let (mass, l) = (self.car.mass, self.car.chassis.l);
        let fuel = self.grid.fuel.as_ref().map(|f| f.1.on_track);
        let setting = Setting { mass, front_share: 1.0 - mass.a / l, fuel, grip: self.course.track().grip };
        Cell { setting, found: Ok(*found) }
    }

    /// The cells of this range in their order, as far as `go_on` says yes; it is asked before each.
    pub fn cells(&self, range: std::ops::Range<u64>, go_on: &(dyn Fn() -> bool + Sync)) -> Vec<Cell> {
        let some = |i: usize| -> Vec<Option<Cell>> {
            let (first, mut day) = (range.start + i as u64 * TOGETHER, None);
            let cells = first..range.end.min(first + TOGETHER);
            cells.map(|cell| go_on().then(|| self.cell(cell, &mut day))).collect()
        };
        let all = each((range.end - range.start).div_ceil(TOGETHER) as usize, some);
        // What lies behind a cell that was left out is done again when the sweep goes on.
        all.into_iter().flatten().map_while(|cell| cell).collect()
    }

    fn cell(&self, cell: u64, day: &mut Option<Day>) -> Cell {
        let setting = match self.built(cell) {
            Ok(setting) => setting,
            Err((setting, why)) => return Cell { setting, found: Err(NoLap::Mass(why)) },
        };
        let mut car = self.car.clone();
        car.mass = setting.mass;
        let found = if setting.grip == self.course.track().grip {
            lap_of(self.course, &car)
        } else {
            if day.as_ref().is_none_or(|day| day.grip != setting.grip) {
                let track = Track { grip: setting.grip, ..self.course.track().clone() };
                *day = Some(Day { grip: setting.grip, course: Course::with_step(&track, self.step_m) });
            }
            lap_of(day.as_ref().map_or(self.course, |day| &day.course), &car)
        };
        let found = found.map_err(|why| match why {
            StudyError::Lap { source, .. } => NoLap::Lap(source),
            _ => NoLap::Unsound,
        });
        Cell { setting, found }
    }
}

/// Cells that are done one after the other: a track at another grip is made once for them.
const TOGETHER: u64 = 8;

/// The track at another grip, for the cells that are done one after the other.
struct Day {
    grip: f64,
    course: Course,
}

fn lap_of(course: &Course, car: &Car) -> Result<CellLap, StudyError> {
    let lap = sound_lap(course, car)?;
    // Of the numbers that are always asked for the first three: mass, height, place along the car.
    let derivatives = lap.derivatives(&NUMBERS[..3]);
    let slope = |i: usize| derivatives.get(i).map_or(f64::NAN, |d| d.value * UNITS[i]);
    let slopes = [0, 1, 2].map(slope);
    if !slopes.iter().all(|s| s.is_finite()) {
        return Err(StudyError::NotFinite { track: course.track().name.clone(), what: "a derivative of the lap time" });
    }
    Ok(CellLap { lap_time: lap.time, error: lap.error, slopes, settled: lap.status == Status::Settled })
}
