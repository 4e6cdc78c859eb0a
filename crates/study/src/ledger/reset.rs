//! What must be set again after weight has gone: loads, ride height, ride frequencies, brakes.

use std::f64::consts::TAU;

use unladen_vehicle::Car;
use unladen_vehicle::G;
use unladen_vehicle::adhesion::{Axle, Locks, Stance, stability_factor};
use unladen_vehicle::car::{Brakes, Tyre};

use crate::front_first::{Ahead, Bends};
use crate::ledger::budget::MassState;

/// One wheel's rate and the tyre's, N/m; the axle's unsprung mass, kg; front and rear.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Springs {
    /// At the wheel.
    pub wheel_rate: [f64; 2],
    /// The tyre's, where known.
    pub tyre_rate: [Option<f64>; 2],
    /// Of both wheels.
    pub unsprung: [f64; 2],
}

/// A state of the car, and what follows from it.
#[derive(Clone, Debug, PartialEq)]
pub struct Stage {
    /// What it is called: as weighed, now, planned.
    pub name: &'static str,
    /// kg.
    pub mass: f64,
    /// Behind the front axle, m.
    pub x: f64,
    /// Above ground at the ride height of the weighing, m.
    pub height: f64,
    /// How far front and rear rise from there on the springs as they are, m; none without springs.
    pub rise: Option<[f64; 2]>,
    /// Above ground then, m.
    pub risen: f64,
    /// Axle loads, kg.
    pub axles: [f64; 2],
    /// Corner loads, kg, where known.
    pub corners: Option<[f64; 4]>,
    /// Ride frequencies, Hz, front and rear.
    pub frequency: Option<[f64; 2]>,
    /// Static stability factor t/2h with the height as risen.
    pub stability: f64,
    /// Braking rate, ideal front share, actual front share, adhesion that front and rear ask for.
    pub braking: Vec<Braking>,
    /// Which axle locks first, dry and wet.
    pub locks: [Option<Locks>; 2],
    /// By how much the front is ahead of the rear, as set.
    pub ahead: Ahead,
    /// The lowest rate at which the rear asks for more than the front, where it does between 0.15 and 0.8 g.
    pub rear_above_front: Option<f64>,
    /// The least front share of the brakes with which the front axle locks first, dry and wet, and the rear never asks for more
    /// between 0.15 and 0.8 g; none where no share does.
    pub share_due: Option<f64>,
}

/// One braking rate.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Braking {
    /// g.
    pub z: f64,
    /// Front share at which both axles ask for the same adhesion.
    pub ideal: f64,
    /// Front share as the brakes give it.
    pub actual: f64,
    /// Adhesion asked for, front and rear.
    pub utilisation: [f64; 2],
}

/// Rates that are shown, g.
pub const RATES: [f64; 5] = [0.2, 0.4, 0.6, 0.8, 1.0];
/// Grip of a wet road as a share of the dry one's: common practice, no source.
pub const WET: f64 = 0.6;

/// One stage; `before` is the standing that the springs are set for.
pub fn stage(name: &'static str, car: &Car, before: &MassState, after: &MassState, springs: Option<&Springs>) -> Stage {
    let l = car.chassis.l;
    let axles = |s: &MassState| [s.part.m * (1.0 - s.part.x / l), s.part.m * s.part.x / l];
    let (was, now) = (axles(before), axles(after));
    let rise = springs.map(|s| rise(s, was, now));
    let (x, h) = (after.part.x, after.part.z);
    let risen = h + rise.map_or(0.0, |[f, r]| f + (r - f) * x / l);
    let stance = Stance::new(after.part.m, x, risen, l);
    let braking = RATES.map(|z| {
        let t = stance.brake_forces(&car.brakes, z);
        Braking {
            z,
            ideal: stance.ideal_front_share(z),
            actual: t[0] / (t[0] + t[1]),
            utilisation: stance.utilisation(&car.brakes, z),
        }
    });
    let tyres = [&car.front, &car.rear];
    Stage {
        name,
        mass: after.part.m,
        x,
        height: h,
        rise,
        risen,
        axles: now,
        corners: after.corners,
        frequency: springs.map(|s| frequency(s, now)),
        stability: stability_factor(car.chassis.t_f, car.chassis.t_r, risen),
        braking: braking.to_vec(),
        locks: [1.0, WET].map(|grip| stance.first_to_lock(&car.brakes, tyres, grip)),
        // Of the car as given: the springs' rise is not in its tyres' loads.
        ahead: Ahead::of(&Car { mass: after.part.into(), ..car.clone() }, &Bends::usual()),
        rear_above_front: stance.rear_above_front(&car.brakes),
        share_due: share_due(&stance, &car.brakes, tyres),
    }
}

/// A front share is found to this.
const TO_SHARE: f64 = 1e-4;

/// The least front share that keeps the rear from locking first; more of it always does.
fn share_due(stance: &Stance, brakes: &Brakes, tyres: [&Tyre; 2]) -> Option<f64> {
    let safe = |share: f64| {
        let brakes = Brakes { beta_f: share, ..*brakes };
        let front = |grip: f64| stance.first_to_lock(&brakes, tyres, grip).is_none_or(|l| l.axle == Axle::Front);
        stance.rear_above_front(&brakes).is_none() && front(1.0) && front(WET)
    };
    let (mut low, mut high) = (0.0, 1.0);
    if !safe(high) {
        return None;
    }
    while high - low > TO_SHARE {
        let middle = 0.5 * (low + high);
        if safe(middle) { high = middle } else { low = middle }
    }
    Some(high)
}

/// Spring and tyre in series, N/m, one wheel.
fn series(springs: &Springs, axle: usize) -> f64 {
    let k = springs.wheel_rate[axle];
    springs.tyre_rate[axle].map_or(k, |t| k * t / (k + t))
}

/// Δz = −ΔN/(2 k), k of spring and tyre in series; all that changed is taken as sprung.
fn rise(springs: &Springs, was: [f64; 2], now: [f64; 2]) -> [f64; 2] {
    [0, 1].map(|i| (was[i] - now[i]) * G / (2.0 * series(springs, i)))
}

/// f = √(2 k/m_s)/2π of each axle's sprung mass on its springs (and tyres), bounce and pitch uncoupled.
fn frequency(springs: &Springs, axles: [f64; 2]) -> [f64; 2] {
    [0, 1].map(|i| (2.0 * series(springs, i) / (axles[i] - springs.unsprung[i]).max(1.0)).sqrt() / TAU)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ledger::budget::Base;
    use unladen_vehicle::car::AntiLock;
    use unladen_vehicle::example_car;
    use unladen_vehicle::mass::Part;

    fn standing(m: f64, x: f64, z: f64) -> MassState {
        let car = Part { m, x, y: 0.0, z, i_zz: Some(0.0) };
        let base = Base { car, sd: [0.0; 4], wheelbase: 2.57, track: [1.5; 2], chi: 0.5, corners: None };
        base.with(&[], &[]).unwrap()
    }

    const SPRINGS: Springs =
        Springs { wheel_rate: [30_000.0, 25_000.0], tyre_rate: [None, Some(200_000.0)], unsprung: [80.0, 84.0] };

    /// 36 kg off over the middle: 18 kg an axle, 18·9.80665/60 000 = 2.94 mm at the front; at the rear spring and tyre
    /// in series are 22 222 N/m, 3.97 mm.
    #[test]
    fn closed_form_the_car_rises() {
        let (was, now) = (standing(1200.0, 1.285, 0.500), standing(1164.0, 1.285, 0.494));
        let s = stage("now", &example_car(), &was, &now, Some(&SPRINGS));
        let [f, r] = s.rise.unwrap();
        assert!((f - 18.0 * G / 60_000.0).abs() < 1e-12 && (r - 18.0 * G / (2.0 * 200_000.0 / 9.0)).abs() < 1e-12);
        assert!((s.risen - 0.494 - 0.5 * (f + r)).abs() < 1e-12);
        let [f_f, f_r] = s.frequency.unwrap();
        assert!((f_f - (60_000.0f64 / 502.0).sqrt() / TAU).abs() < 1e-12);
        assert!((f_r - (400_000.0f64 / 9.0 / 498.0).sqrt() / TAU).abs() < 1e-12);
        assert_eq!(stage("x", &example_car(), &was, &now, None).risen, 0.494);
    }

    /// Taking mass off the rear only: the rear, which locked second, locks first.
    #[test]
    fn closed_form_light_rear_locks_first() {
        let mut car = example_car();
        car.brakes = Brakes { beta_f: 0.74, anti_lock: AntiLock::None, rear_limiter: None };
        let (was, now) = (standing(1200.0, 1.35, 0.45), standing(1050.0, 1.05, 0.50));
        let (before, after) = (stage("a", &car, &was, &was, None), stage("b", &car, &was, &now, None));
        assert_eq!(before.locks[0].unwrap().axle, Axle::Front);
        assert_eq!(after.locks[0].unwrap().axle, Axle::Rear);
        // As much of it as is due, and no less, puts that right.
        let due = after.share_due.unwrap();
        assert!(due > 0.74 && before.share_due.unwrap() < due);
        let with = |beta_f: f64| {
            let car = Car { brakes: Brakes { beta_f, ..car.brakes }, ..car.clone() };
            let s = stage("c", &car, &was, &now, None);
            s.rear_above_front.is_none() && s.locks.iter().flatten().all(|l| l.axle == Axle::Front)
        };
        assert!(with(due) && with(0.95) && !with(due - 2e-3));
        assert!(after.rear_above_front.is_some() && before.braking[0].ideal < after.braking[0].ideal);
        // Without a limiter the actual share stays.
        assert!(after.braking.iter().all(|b| (b.actual - 0.74).abs() < 1e-12));
    }
}
