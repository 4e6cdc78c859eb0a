//! The car as it stands: its weighing, and the rows of its ledger that have been done since.

use unladen_garage::{CarFile, Ledger, Turns};
use unladen_study::Input;
use unladen_study::ledger::budget::Base;
use unladen_study::ledger::summary::{Budget, stand};
use unladen_vehicle::car::{Layout, Mass};
use unladen_vehicle::entry::{Entry, Scale, State};
use unladen_vehicle::{Car, Number};

use crate::error::AskError;
use crate::read::scene::uncertain;
use crate::stands::load::{Aboard, carrying};

/// A car's budget with what it has aboard on the track.
#[derive(Clone, Debug)]
pub struct OnTrack {
    /// Its ledger.
    pub ledger: Ledger,
    /// The car that it starts from.
    pub base: Base,
    /// Where it stands.
    pub budget: Budget,
    /// What its parts were weighed on.
    pub scales: Vec<Scale>,
}

impl OnTrack {
    /// Of a car and its ledger.
    ///
    /// # Errors
    /// [`AskError`] where masses leave no car.
    pub fn new(car: &CarFile, ledger: Ledger) -> Result<Self, AskError> {
        let base = carrying(car, Aboard::on_track(car))?;
        let budget = stand(&base, &ledger.entries, &car.shop.scales, car.shop.weighed_on)?;
        Ok(Self { ledger, base, budget, scales: car.shop.scales.clone() })
    }

    /// Rows that were done since the weighing.
    pub fn done_since(&self) -> impl Iterator<Item = usize> + '_ {
        let entries = &self.ledger.entries;
        (0..entries.len()).filter(|i| entries[*i].state == State::Done && !self.budget.in_weighing.contains(i))
    }

    /// The car with this mass and what turns of these rows.
    pub fn with_rows(&self, car: &Car, mass: Mass, rows: impl IntoIterator<Item = usize>) -> Car {
        let adds = adds(car, &self.ledger);
        let mut changed = Car { mass, ..car.clone() };
        for (number, by) in rows.into_iter().flat_map(|row| &adds[row]) {
            if let Some(value) = changed.number_mut(*number) {
                // A flywheel can't be lighter than nothing.
                *value = (*value + by).max(0.0);
            }
        }
        changed
    }

    /// The car as it stands.
    pub fn now(&self, car: &Car) -> Car {
        self.with_rows(car, self.budget.now.part.into(), self.done_since())
    }
}

/// What turns, as changes of wheel and engine inertia (`docs/model.md` §6: m_rot): of wheels by where along the car it
/// is, of a shaft as J i_0²/r_w² on the driven wheels.
pub fn adds(car: &Car, ledger: &Ledger) -> Vec<Vec<(Number, f64)>> {
    let of = |(entry, turns): (&Entry, &Turns)| {
        let j = entry.rotating_inertia;
        if j == 0.0 {
            return Vec::new();
        }
        let x = entry.change.after.or(entry.change.before).map_or(0.0, |part| part.x);
        let rear = (x / car.chassis.l).clamp(0.0, 1.0);
        let wheels = |front: f64, rear: f64| vec![(Number::J_F, 0.5 * front), (Number::J_R, 0.5 * rear)];
        match turns {
            Turns::Wheels => wheels(j * (1.0 - rear), j * rear),
            Turns::Shaft => {
                let front = match car.driveline.layout {
                    Layout::Front => 1.0,
                    Layout::Rear => 0.0,
                    Layout::All => 0.5,
                };
                let at_wheel = j * (car.driveline.final_drive / car.driven_radius()).powi(2);
                wheels(at_wheel * front * car.front.r.powi(2), at_wheel * (1.0 - front) * car.rear.r.powi(2))
            }
            Turns::Engine => vec![(Number::J_ENGINE, j)],
        }
    };
    ledger.entries.iter().zip(&ledger.turns).map(of).collect()
}

/// What was done since the weighing, together.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Since {
    /// How many rows.
    pub rows: usize,
    /// When the car was weighed, days since 1970-01-01.
    pub weighed_on: Option<i64>,
    /// By how much they change its mass, kg.
    pub kg: f64,
}

/// The car as it laps with what has been done since it was weighed, and how much that is; none: as in its file.
///
/// # Errors
/// [`AskError`] where masses leave no car.
pub fn as_it_stands(file: &CarFile, ledger: Option<&Ledger>) -> Result<(Car, Option<Since>), AskError> {
    let weighed_on = file.shop.weighed_on;
    let done = |e: &&Entry| e.state == State::Done && e.day.zip(weighed_on).is_none_or(|(day, weighed)| day > weighed);
    let rows: Vec<_> = ledger.into_iter().flat_map(|l| &l.entries).filter(done).collect();
    if rows.is_empty() {
        return Ok((file.car.clone(), None));
    }
    let now = carrying(file, Aboard::on_track(file))?.with(&rows, &file.shop.scales)?.part;
    let since = Since { rows: rows.len(), weighed_on, kg: now.m - file.car.mass.m };
    Ok((Car { mass: now.into(), ..file.car.clone() }, Some(since)))
}

/// What is uncertain of the car as it stands: the CG of the weighing moves that of a lighter car by a little more.
pub fn uncertain_now(file: &CarFile, car: &Car) -> Vec<Input> {
    let scale = file.car.mass.m / car.mass.m;
    let mut all = uncertain(&file.uncertainties);
    for (number, per) in all.iter_mut().flat_map(|input| &mut input.onto) {
        if [Number::A, Number::Y_CG, Number::H].contains(number) {
            *per *= scale;
        }
    }
    all
}
