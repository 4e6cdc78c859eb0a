//! Re-tuned or as set: a change of the CG shifts the balance, and its owner then sets roll stiffness and brakes again.
//!
//! Lap time over the front shares χ (roll stiffness) and β_f (brakes) has kinks wherever a corner's limit passes from
//! one axle to the other, and the optimum nearly always lies on one. So no slope is used: a grid over what the owner
//! can set, then a valley within a valley around every low point of it.

mod search;
mod valley;

use unladen_lap::{Course, LapError};
use unladen_vehicle::Car;
use unladen_vehicle::car::AntiLock;

use crate::front_first::{Ahead, Bends, leaves};
use crate::input::error::StudyError;
use crate::input::leg::{Leg, shares};
use crate::input::sound::sound_lap;
use crate::retune::search::{STEP, from_near, nearby, search};
use crate::threads::each_of;

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
/// Nearer to an end of the reach than this is there.
const END: f64 = 5.0 * TOLERANCE;
/// Settings that gain less than this are left alone, s: far below what a lap is computed to.
const TIE_S: f64 = 1e-6;

/// Where the only valley of a car lies: for others like it.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Valley {
    /// On few stations.
    rough: Settings,
    /// On all of them.
    fine: Settings,
    /// It doesn't keep the margin, and at the edge of what does the car is quickest.
    at_margin: bool,
}

impl Valley {
    /// Where on all stations it lies of a car of which it lies here on few: as far off as this one's.
    fn on_all(&self, rough: Settings, free: [Option<[f64; 2]>; 2]) -> Settings {
        let on_all = |at: f64, free: Option<[f64; 2]>, off: f64| match free {
            Some([least, most]) if !at_end([least, most], at) => (at + off).clamp(least, most),
            _ => at,
        };
        Settings {
            chi: on_all(rough.chi, free[0], self.fine.chi - self.rough.chi),
            beta_f: on_all(rough.beta_f, free[1], self.fine.beta_f - self.rough.beta_f),
        }
    }
}

fn at_end([least, most]: [f64; 2], at: f64) -> bool {
    at - least < END || most - at < END
}

/// Finds the settings with the least weighted mean of lap times within `reach`.
///
/// # Errors
/// [`StudyError`] where there is no track, or no lap as set.
pub fn retune(car: &Car, legs: &[Leg], reach: &Reach) -> Result<Retuned, StudyError> {
    Ok(retune_like(car, legs, reach, None)?.0)
}

/// The same, by fewer laps where the valley of a car like this one is known; and this one's, where it is the only one.
///
/// # Errors
/// The same.
pub(crate) fn retune_like(
    car: &Car,
    legs: &[Leg],
    reach: &Reach,
    like: Option<Valley>,
) -> Result<(Retuned, Option<Valley>), StudyError> {
    let cars = Cars::new(car, legs)?;
    let (as_set, as_set_time_s) = (cars.as_set, cars.as_set_time_s);
    let free = reach.of(car);
    let (quickest, mut valley) = match like {
        Some(like) => {
            let settings = like.on_all(cars.near(free, like), free);
            ((settings, cars.fine(settings)), Some(like))
        }
        None => cars.found(free),
    };
    let margin = reach.front_first.unwrap_or(f64::NEG_INFINITY);
    let keeps = |settings: Settings| cars.ahead(settings).by(margin);
    let (mut settings, mut time_s) = quickest;
    if !keeps(settings) {
        let free = cars.leaves(free, margin);
        (settings, time_s) = match like {
            Some(like) => {
                let settings = cars.near(free, like);
                (settings, cars.fine(settings))
            }
            None => cars.found(free).0,
        };
        valley = valley.map(|valley| Valley { at_margin: at_ends(free, settings), ..valley });
    }
    let costs_s = if time_s > quickest.1 { time_s - quickest.1 } else { 0.0 };
    // A car that came undrivable is not left so for being quicker.
    if time_s >= as_set_time_s - TIE_S && (keeps(as_set) || !keeps(settings)) {
        (settings, time_s) = (as_set, as_set_time_s);
    }
    let front_first = FrontFirst {
        margin: reach.front_first.unwrap_or(0.0),
        as_set: cars.ahead(as_set),
        retuned: cars.ahead(settings),
        costs_s,
    };
    let end = |reach: Option<[f64; 2]>, at: f64| {
        let [least, most] = reach?;
        (at - least < END).then_some(End::Least).or((most - at < END).then_some(End::Most))
    };
    let moved = settings != as_set;
    let ends = [end(free[0], settings.chi), end(free[1], settings.beta_f)].map(|e| e.filter(|_| moved));
    let free = free.map(|r| r.is_some());
    Ok((Retuned { settings, as_set, time_s, as_set_time_s, ends, free, front_first }, valley))
}

/// The least weighed mean of lap times alone, s: where a car like this one stood at what the margin leaves of its reach,
/// so does this one if a step further in is slower.
///
/// # Errors
/// The same.
pub(crate) fn time_like(car: &Car, legs: &[Leg], reach: &Reach, like: Option<Valley>) -> Result<f64, StudyError> {
    let whole = || retune_like(car, legs, reach, like).map(|(tuned, _)| tuned.time_s);
    let Some((like, margin)) = like.zip(reach.front_first).filter(|(like, _)| like.at_margin) else { return whole() };
    let cars = Cars::new(car, legs)?;
    let free = reach.of(car);
    let left = cars.leaves(free, margin);
    let at = cars.at_edges(left, free, like);
    let Some((at, inside)) = at else { return whole() };
    if !(cars.ahead(at).by(margin) && cars.rough(at) < cars.rough(inside)) {
        return whole();
    }
    let time_s = cars.fine(at);
    let stays = time_s >= cars.as_set_time_s - TIE_S && cars.ahead(cars.as_set).by(margin);
    Ok(if stays { cars.as_set_time_s } else { time_s })
}

/// A car with any settings, on its tracks.
struct Cars<'a> {
    car: &'a Car,
    legs: &'a [Leg<'a>],
    shares: Vec<f64>,
    as_set: Settings,
    as_set_time_s: f64,
    bends: Bends,
}

impl<'a> Cars<'a> {
    fn new(car: &'a Car, legs: &'a [Leg<'a>]) -> Result<Self, StudyError> {
        let shares = shares(legs)?;
        let driven = each_of(legs, |leg| sound_lap(leg.course, car)).into_iter().collect::<Result<Vec<_>, _>>()?;
        let as_set_time_s = driven.iter().zip(&shares).map(|(lap, share)| share * lap.time).sum();
        let bends = Bends::of(legs.iter().zip(&driven).map(|(leg, lap)| (leg.course.day(), lap)));
        Ok(Self { car, legs, shares, as_set: Settings::of(car), as_set_time_s, bends })
    }

    /// A setting with which the car doesn't get round is none.
    fn mean(&self, settings: Settings, time: fn(&Course, &Car) -> Result<f64, LapError>) -> f64 {
        let car = settings.on(self.car);
        let times = each_of(self.legs, |leg| time(leg.course, &car).unwrap_or(f64::INFINITY));
        let mean: f64 = times.iter().zip(&self.shares).map(|(t, share)| share * t).sum();
        if mean.is_finite() { mean } else { f64::INFINITY }
    }

    fn rough(&self, settings: Settings) -> f64 {
        self.mean(settings, Course::rough_time)
    }

    fn fine(&self, settings: Settings) -> f64 {
        self.mean(settings, Course::time)
    }

    /// Where the valley lies, few stations show as well; how deep it is, they don't.
    fn found(&self, free: [Option<[f64; 2]>; 2]) -> ((Settings, f64), Option<Valley>) {
        let ((settings, _), others) = search(&|settings| self.rough(settings), self.as_set, free);
        let best = nearby(&|settings| self.fine(settings), settings, free);
        (best, (!others).then_some(Valley { rough: settings, fine: best.0, at_margin: false }))
    }

    /// The same on few stations, where that of a car like this one is known.
    fn near(&self, free: [Option<[f64; 2]>; 2], like: Valley) -> Settings {
        let start = Settings {
            chi: if free[0].is_some() { like.rough.chi } else { self.as_set.chi },
            beta_f: if free[1].is_some() { like.rough.beta_f } else { self.as_set.beta_f },
        };
        from_near(&|settings| self.rough(settings), start, free).0
    }

    fn ahead(&self, settings: Settings) -> Ahead {
        Ahead::of(&settings.on(self.car), &self.bends)
    }

    /// What of the reach keeps the margin.
    fn leaves(&self, free: [Option<[f64; 2]>; 2], margin: f64) -> [Option<[f64; 2]>; 2] {
        let as_set = self.as_set;
        let chi = free[0].map(|r| leaves(r, margin, |chi| self.ahead(Settings { chi, ..as_set }).cornering));
        let beta_f = free[1].map(|r| leaves(r, margin, |beta_f| self.ahead(Settings { beta_f, ..as_set }).braking));
        [chi, beta_f]
    }

    /// The edge that the margin leaves of the only free share, where it is one and lies beyond the valley of a car like
    /// this one; and a step further in.
    fn at_edges(
        &self,
        left: [Option<[f64; 2]>; 2],
        free: [Option<[f64; 2]>; 2],
        like: Valley,
    ) -> Option<(Settings, Settings)> {
        let ([Some([edge, most]), None], [Some([least, _]), None]) = (left, free) else { return None };
        let at = |chi: f64| Settings { chi, ..self.as_set };
        let beyond = edge > least && edge < most && edge > like.fine.chi + STEP;
        beyond.then(|| (at(edge), at((edge + STEP).min(most))))
    }
}

fn at_ends(free: [Option<[f64; 2]>; 2], at: Settings) -> bool {
    [(free[0], at.chi), (free[1], at.beta_f)].iter().all(|(reach, at)| reach.is_none_or(|reach| at_end(reach, *at)))
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use unladen_testkit::roads::bends;
    use unladen_track::Track;
    use unladen_vehicle::example_car;

    /// Lighter, heavier, with its weight elsewhere: from where the first one's valley lies the same is found as by a grid,
    /// within two tenths of a millisecond (less than the laps themselves may be off), with one share free and with both.
    #[test]
    fn property_from_a_car_like_it_the_same_settings_are_found() {
        let segments = bends(120.0, &[18.0, 45.0, 110.0], 90.0);
        let track = Track { name: "t".into(), closed: false, start_speed: 20.0, rho: 1.2, grip: 1.0, segments };
        let course = Course::new(&track);
        let legs = [Leg::new(&course)];
        let mut car = example_car();
        car.brakes.rear_limiter = None;
        // The quickest settings of all keep no margin.
        for (beta_f, front_first) in [(None, None), (Some([0.50, 0.85]), None), (None, Some(0.0))] {
            let reach = Reach { chi: Some([0.35, 0.80]), beta_f, front_first };
            let (_, valley) = retune_like(&car, &legs, &reach, None).unwrap();
            for (m, a, h) in [(-40.0, 0.0, 0.0), (25.0, -0.02, 0.01), (-5.0, 0.01, -0.01), (-60.0, 0.03, -0.02)] {
                let mut other = car.clone();
                (other.mass.m, other.mass.a, other.mass.h) = (car.mass.m + m, car.mass.a + a, car.mass.h + h);
                let whole = retune(&other, &legs, &reach).unwrap();
                let (found, _) = retune_like(&other, &legs, &reach, valley).unwrap();
                let time_s = time_like(&other, &legs, &reach, valley).unwrap();
                let off = [found.time_s, time_s].map(|time_s| (time_s - whole.time_s).abs());
                assert!(off.iter().all(|off| *off < 2e-4), "{off:?} {found:?} {whole:?}");
            }
            assert_eq!(valley.map(|valley| valley.at_margin), Some(front_first.is_some()));
        }
    }
}
