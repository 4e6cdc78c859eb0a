//! Re-tuned or as set: a change of the CG shifts the balance, and its owner then sets roll stiffness and brakes again.
//!
//! Lap time over the front shares χ (roll stiffness) and β_f (brakes) has kinks wherever a corner's limit passes from
//! one axle to the other, and the optimum nearly always lies on one. So no slope is used: a grid over what the owner
//! can set, then a valley within a valley around every low point of it.

mod search;
mod valley;

use rayon::prelude::*;
use unladen_lap::{Course, LapError};
use unladen_vehicle::Car;
use unladen_vehicle::car::AntiLock;

use crate::front_first::{Ahead, Bends, leaves};
use crate::input::error::StudyError;
use crate::input::leg::{Leg, shares};
use crate::input::sound::sound_lap;
use crate::retune::search::{nearby, search};

/// How far the owner can set what shares; `None`: it is not touched.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Reach {
    /// Least and most of χ, the front share of the elastic roll stiffness.
    pub chi: Option<[f64; 2]>,
    /// Least and most of β_f, the front share of the brakes; without a meaning under anti-lock (`docs/model.md` §5).
    pub beta_f: Option<[f64; 2]>,
    /// By what margin the front must let go first after it; `None`: whatever is quickest.
    pub front_first: Option<f64>,
}

/// Whether the front lets go first, and what that costs.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct FrontFirst {
    /// The margin that was asked for.
    pub margin: f64,
    /// How far the front is ahead as the car came.
    pub as_set: Ahead,
    /// With the best settings.
    pub retuned: Ahead,
    /// What the margin costs against the quickest settings of all, s.
    pub costs_s: f64,
}

impl FrontFirst {
    /// The best settings keep the margin.
    pub fn kept(&self) -> bool {
        self.retuned.by(self.margin)
    }
}

/// What is set.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Settings {
    /// χ.
    pub chi: f64,
    /// β_f.
    pub beta_f: f64,
}

/// Which end of its reach a setting stands at.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum End {
    /// The least.
    Least,
    /// The most.
    Most,
}

/// A car set for these tracks.
#[derive(Clone, Debug, PartialEq)]
pub struct Retuned {
    /// The best settings.
    pub settings: Settings,
    /// Those the car came with.
    pub as_set: Settings,
    /// The weighted mean of the lap times with the best settings, s.
    pub time_s: f64,
    /// The same as set, s.
    pub as_set_time_s: f64,
    /// Where χ and β_f stand at an end of their reach, more of it would gain more.
    pub ends: [Option<End>; 2],
    /// Whether χ and β_f were free at all.
    pub free: [bool; 2],
    /// Whether the front lets go first with them.
    pub front_first: FrontFirst,
}

impl Settings {
    /// Of a car.
    pub fn of(car: &Car) -> Self {
        Self { chi: car.chassis.chi, beta_f: car.brakes.beta_f }
    }

    /// The car with them.
    pub fn on(self, car: &Car) -> Car {
        let mut car = car.clone();
        car.chassis.chi = self.chi;
        car.brakes.beta_f = self.beta_f;
        car
    }
}

impl Retuned {
    /// What setting the car gains, s; a loss only where the car came with a rear that lets go first.
    pub fn gain_s(&self) -> f64 {
        self.as_set_time_s - self.time_s
    }
}

impl Reach {
    /// Nothing can be set.
    pub fn none() -> Self {
        Self::default()
    }

    /// What of it this car has a use for. It always holds the car's own settings: they are possible.
    fn of(&self, car: &Car) -> [Option<[f64; 2]>; 2] {
        let own = Settings::of(car);
        let with = |reach: Option<[f64; 2]>, own: f64| reach.map(|[a, b]| [a.min(own).max(0.0), b.max(own).min(1.0)]);
        let beta_f = self.beta_f.filter(|_| car.brakes.anti_lock == AntiLock::None);
        [with(self.chi, own.chi), with(beta_f, own.beta_f)].map(|r| r.filter(|[a, b]| b - a > TOLERANCE))
    }
}

/// A share is found to this, far finer than anybody sets it.
const TOLERANCE: f64 = 2e-5;
/// Settings that gain less than this are left alone, s: far below what a lap is computed to.
const TIE_S: f64 = 1e-6;

/// Finds the settings with the least weighted mean of lap times within `reach`.
///
/// # Errors
/// [`StudyError`] where there is no track, or no lap as set.
pub fn retune(car: &Car, legs: &[Leg], reach: &Reach) -> Result<Retuned, StudyError> {
    let shares = shares(legs)?;
    let as_set = Settings::of(car);
    let laps: Vec<_> = legs.par_iter().map(|leg| sound_lap(leg.course, car)).collect();
    let mut as_set_time_s = 0.0;
    let driven = laps.into_iter().collect::<Result<Vec<_>, _>>()?;
    for (lap, share) in driven.iter().zip(&shares) {
        as_set_time_s += share * lap.time;
    }
    // A setting with which the car doesn't get round is none.
    let mean = |settings: Settings, time: fn(&Course, &Car) -> Result<f64, LapError>| -> f64 {
        let car = settings.on(car);
        let times: Vec<f64> = legs.par_iter().map(|leg| time(leg.course, &car).unwrap_or(f64::INFINITY)).collect();
        let mean: f64 = times.iter().zip(&shares).map(|(t, share)| share * t).sum();
        if mean.is_finite() { mean } else { f64::INFINITY }
    };
    // Where the valley lies, few stations show as well; how deep it is, they don't.
    let found = |free: [Option<[f64; 2]>; 2]| {
        let (settings, _) = search(&|settings| mean(settings, Course::rough_time), as_set, free);
        nearby(&|settings| mean(settings, Course::time), settings, free)
    };
    let free = reach.of(car);
    let quickest = found(free);
    let bends = Bends::of(legs.iter().zip(&driven).map(|(leg, lap)| (leg.course.day(), lap)));
    let ahead = |settings: Settings| Ahead::of(&settings.on(car), &bends);
    let margin = reach.front_first.unwrap_or(f64::NEG_INFINITY);
    let keeps = |settings: Settings| ahead(settings).by(margin);
    let (mut settings, mut time_s) = quickest;
    if !keeps(settings) {
        let chi = free[0].map(|r| leaves(r, margin, |chi| ahead(Settings { chi, ..as_set }).cornering));
        let beta_f = free[1].map(|r| leaves(r, margin, |beta_f| ahead(Settings { beta_f, ..as_set }).braking));
        (settings, time_s) = found([chi, beta_f]);
    }
    let costs_s = if time_s > quickest.1 { time_s - quickest.1 } else { 0.0 };
    // A car that came undrivable is not left so for being quicker.
    if time_s >= as_set_time_s - TIE_S && (keeps(as_set) || !keeps(settings)) {
        (settings, time_s) = (as_set, as_set_time_s);
    }
    let front_first = FrontFirst {
        margin: reach.front_first.unwrap_or(0.0),
        as_set: ahead(as_set),
        retuned: ahead(settings),
        costs_s,
    };
    let end = |reach: Option<[f64; 2]>, at: f64| {
        let [least, most] = reach?;
        let at_end = 5.0 * TOLERANCE;
        (at - least < at_end).then_some(End::Least).or((most - at < at_end).then_some(End::Most))
    };
    let moved = settings != as_set;
    let ends = [end(free[0], settings.chi), end(free[1], settings.beta_f)].map(|e| e.filter(|_| moved));
    Ok(Retuned { settings, as_set, time_s, as_set_time_s, ends, free: free.map(|r| r.is_some()), front_first })
}
