//! Re-tuned or as set: a change of the CG shifts the balance, and its owner then sets roll stiffness and brakes again.
//!
//! Lap time over the front shares χ (roll stiffness) and β_f (brakes) has kinks wherever a corner's limit passes from
//! one axle to the other, and the optimum nearly always lies on one. So no slope is used: a grid over what the owner
//! can set, then nested golden sections around every low point of it.

use rayon::prelude::*;
use unladen_vehicle::Car;
use unladen_vehicle::car::AntiLock;

use crate::front_first::{Ahead, Bends, leaves};
use crate::input::error::StudyError;
use crate::input::leg::{Leg, shares};
use crate::input::sound::sound_lap;

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

/// Points of the grid along the only free share, and along each of two.
const GRID: [usize; 2] = [33, 13];
/// Low points of the grid that are looked into.
const LOWS: usize = 4;
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
    let time = |settings: Settings| -> f64 {
        let car = settings.on(car);
        let times: Vec<f64> = legs.par_iter().map(|leg| leg.course.time(&car).unwrap_or(f64::INFINITY)).collect();
        let mean: f64 = times.iter().zip(&shares).map(|(t, share)| share * t).sum();
        if mean.is_finite() { mean } else { f64::INFINITY }
    };
    let free = reach.of(car);
    let quickest = search(&time, as_set, free);
    let bends = Bends::of(legs.iter().zip(&driven).map(|(leg, lap)| (leg.course.day(), lap)));
    let ahead = |settings: Settings| Ahead::of(&settings.on(car), &bends);
    let margin = reach.front_first.unwrap_or(f64::NEG_INFINITY);
    let keeps = |settings: Settings| ahead(settings).by(margin);
    let (mut settings, mut time_s) = quickest;
    if !keeps(settings) {
        let chi = free[0].map(|r| leaves(r, margin, |chi| ahead(Settings { chi, ..as_set }).cornering));
        let beta_f = free[1].map(|r| leaves(r, margin, |beta_f| ahead(Settings { beta_f, ..as_set }).braking));
        (settings, time_s) = search(&time, as_set, [chi, beta_f]);
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

/// The lowest point of `f` over what is free of the two shares.
fn search(f: &(impl Fn(Settings) -> f64 + Sync), from: Settings, free: [Option<[f64; 2]>; 2]) -> (Settings, f64) {
    let count = free.iter().flatten().count();
    if count == 0 {
        return (from, f(from));
    }
    let points = |reach: Option<[f64; 2]>, own: f64| match reach {
        Some([a, b]) => {
            let last = GRID[count - 1] - 1;
            let share = |i: usize| i as f64 / last as f64;
            // Each end is met to the last bit.
            (0..=last).map(|i| a * (1.0 - share(i)) + b * share(i)).collect()
        }
        None => vec![own],
    };
    let (chis, betas): (Vec<f64>, Vec<f64>) = (points(free[0], from.chi), points(free[1], from.beta_f));
    let at = |k: usize| Settings { chi: chis[k / betas.len()], beta_f: betas[k % betas.len()] };
    let values: Vec<f64> = (0..chis.len() * betas.len()).into_par_iter().map(|k| f(at(k))).collect();
    let around = |i: usize, of: &[f64]| [of[i.saturating_sub(1)], of[(i + 1).min(of.len() - 1)]];
    let looked_into = |k: usize| {
        let (chi, beta_f) = (around(k / betas.len(), &chis), around(k % betas.len(), &betas));
        let over_beta = |chi: f64| golden(beta_f, |beta_f| ((), f(Settings { chi, beta_f })));
        let (chi, (beta_f, value)) = golden(chi, |chi| {
            let (beta_f, ((), value)) = over_beta(chi);
            (beta_f, value)
        });
        (Settings { chi, beta_f }, value)
    };
    let lows = lows(&values, betas.len());
    let found: Vec<(Settings, f64)> = lows.par_iter().map(|&k| looked_into(k)).collect();
    let coarse = lows.iter().map(|&k| (at(k), values[k]));
    // Of equals the first: no matter how many threads.
    coarse.chain(found).fold((from, f64::INFINITY), |best, it| if it.1 < best.1 { it } else { best })
}

/// The lowest [`LOWS`] points of a grid that none of their neighbours is below.
fn lows(values: &[f64], width: usize) -> Vec<usize> {
    let height = values.len() / width;
    let is_low = |k: usize| {
        let (i, j) = (k / width, k % width);
        let rows = i.saturating_sub(1)..=(i + 1).min(height - 1);
        values[k].is_finite()
            && rows.flat_map(|r| (j.saturating_sub(1)..=(j + 1).min(width - 1)).map(move |c| r * width + c)).all(|n| {
                // Of a plateau the first point stands for all.
                values[n] > values[k] || values[n] == values[k] && n >= k
            })
    };
    let mut lows: Vec<usize> = (0..values.len()).filter(|&k| is_low(k)).collect();
    lows.sort_by(|&a, &b| values[a].total_cmp(&values[b]).then(a.cmp(&b)));
    lows.truncate(LOWS);
    lows
}

/// Golden section, which needs no slope and doesn't mind a kink: where the least value is, and what came with it. With
/// several low points between the ends it finds one of them.
fn golden<T: Copy>([mut a, mut b]: [f64; 2], f: impl Fn(f64) -> (T, f64)) -> (f64, (T, f64)) {
    let ratio = 0.5 * (5f64.sqrt() - 1.0);
    if b - a <= TOLERANCE {
        let at = 0.5 * (a + b);
        return (at, f(at));
    }
    let (mut left, mut right) = (b - ratio * (b - a), a + ratio * (b - a));
    let (mut at_left, mut at_right) = (f(left), f(right));
    let ends = [(a, f(a)), (b, f(b))];
    while b - a > TOLERANCE {
        if at_left.1 <= at_right.1 {
            (b, right, at_right) = (right, left, at_left);
            left = b - ratio * (b - a);
            at_left = f(left);
        } else {
            (a, left, at_left) = (left, right, at_right);
            right = a + ratio * (b - a);
            at_right = f(right);
        }
    }
    let inside = [(left, at_left), (right, at_right)];
    let best = |best: (f64, (T, f64)), it: (f64, (T, f64))| if it.1.1 < best.1.1 { it } else { best };
    ends.into_iter().fold(inside.into_iter().fold((left, at_left), best), best)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn settings(chi: f64, beta_f: f64) -> Settings {
        Settings { chi, beta_f }
    }

    const ALL: [Option<[f64; 2]>; 2] = [Some([0.3, 0.8]), Some([0.5, 0.9])];

    /// A valley whose floor is a kink that runs askew to both shares: where one share at a time stands still, and the
    /// two together still gain.
    #[test]
    fn closed_form_a_kinked_valley_askew() {
        let f = |s: Settings| 5.0 * (s.chi + s.beta_f - 1.3).abs() + (s.chi - s.beta_f + 0.1).abs();
        let (at, value) = search(&f, settings(0.4, 0.6), ALL);
        assert!(value < 3e-4 && (at.chi - 0.6).abs() < 1e-4 && (at.beta_f - 0.7).abs() < 1e-4, "{at:?} {value}");
    }

    /// Two low points; the one further off is lower.
    #[test]
    fn closed_form_of_two_valleys_the_lower() {
        let valley = |s: Settings, chi: f64, beta_f: f64| (s.chi - chi).abs() + (s.beta_f - beta_f).abs();
        let f = |s: Settings| valley(s, 0.35, 0.85).min(valley(s, 0.71, 0.55) - 0.01);
        let (at, _) = search(&f, settings(0.36, 0.85), ALL);
        assert!((at.chi - 0.71).abs() < 1e-4 && (at.beta_f - 0.55).abs() < 1e-4, "{at:?}");
    }

    /// Only what is free is moved; where half of it is impossible the other half is searched.
    #[test]
    fn closed_form_one_share_and_holes() {
        let f = |s: Settings| if s.chi < 0.55 { f64::INFINITY } else { (s.chi - 0.4).abs() + (s.beta_f - 0.7).abs() };
        let (at, _) = search(&f, settings(0.6, 0.9), [Some([0.3, 0.8]), None]);
        assert!((at.chi - 0.55).abs() < 5e-5 && at.beta_f == 0.9, "{at:?}");
        let (at, _) = search(&f, settings(0.6, 0.9), [None, Some([0.5, 0.9])]);
        assert!(at.chi == 0.6 && (at.beta_f - 0.7).abs() < 5e-5, "{at:?}");
    }

    #[test]
    fn property_ends_belong_to_it() {
        let f = |s: Settings| s.chi - s.beta_f;
        let (at, _) = search(&f, settings(0.6, 0.6), ALL);
        assert_eq!(at, settings(0.3, 0.9));
    }
}
