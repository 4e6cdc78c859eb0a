//! One change looked at closely: where on the lap it gains, what of the car it gains by, and how finely that is
//! computed.

use unladen_lap::Limit;
use unladen_vehicle::{Car, Number};

use crate::input::error::StudyError;
use crate::input::leg::{FLOOR_S, Leg, MESH_FACTOR};
use crate::input::sound::sound_lap;

/// What a car is doing on a stretch.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Phase {
    /// Grip rules, and more of it is used sideways than along.
    Corners,
    /// Braking rules, or grip while it slows down more than it turns.
    Braking,
    /// Power rules, a shift, or grip while it speeds up more than it turns.
    Acceleration,
    /// The same within 3 % of the lap's highest speed.
    TopSpeed,
}

impl Phase {
    /// All, in the order of tables.
    pub const ALL: [Phase; 4] = [Phase::Corners, Phase::Braking, Phase::Acceleration, Phase::TopSpeed];
}

/// Within this share of the highest speed it is top speed.
const TOP: f64 = 0.97;

/// A car's laps, cell by cell, and on every second station too, segment by segment.
pub(crate) struct Clocked {
    /// The weighted mean of the lap times, s.
    pub(crate) time: f64,
    /// The same of their estimated numerical errors, s.
    pub(crate) error: f64,
    /// The same of their ∂T/∂([`NUMBERS`]), s per SI unit.
    slopes: Vec<f64>,
    legs: Vec<ClockedLeg>,
}

struct ClockedLeg {
    share: f64,
    cells: Vec<f64>,
    phases: Vec<Phase>,
    segments: [Vec<f64>; 2],
}

/// Laps a car on each track.
pub(crate) fn clock(car: &Car, legs: &[Leg], shares: &[f64]) -> Result<Clocked, StudyError> {
    let mut all = Clocked { time: 0.0, error: 0.0, slopes: vec![0.0; NUMBERS.len()], legs: Vec::new() };
    for (leg, &share) in legs.iter().zip(shares) {
        let lap = sound_lap(leg.course, car)?;
        all.time += share * lap.time;
        all.error += share * lap.error;
        all.slopes.iter_mut().zip(lap.slopes(&NUMBERS)).for_each(|(all, slope)| *all += share * slope);
        let rows = lap.trace();
        let top = rows.iter().map(|r| r.v).fold(0.0, f64::max);
        let phase = |r: &unladen_lap::Row| match r.limit {
            Limit::Braking => Phase::Braking,
            Limit::TopSpeed => Phase::TopSpeed,
            Limit::Power | Limit::Shift if r.v >= TOP * top => Phase::TopSpeed,
            Limit::Power | Limit::Shift => Phase::Acceleration,
            _ if r.a_y.abs() >= r.a_x.abs() => Phase::Corners,
            _ if r.a_x > 0.0 => Phase::Acceleration,
            _ => Phase::Braking,
        };
        all.legs.push(ClockedLeg {
            share,
            cells: rows.windows(2).map(|w| w[1].t - w[0].t).collect(),
            phases: rows.iter().map(phase).collect(),
            segments: lap.segment_times(),
        });
    }
    Ok(all)
}

impl Clocked {
    /// Estimate of the numerical error of this car's time less that of another, s: what leaving out every second station
    /// changes of it, segment by segment, without letting changes cancel.
    pub(crate) fn error_against(&self, other: &Clocked) -> f64 {
        let legs = self.legs.iter().zip(&other.legs);
        let error = legs.map(|(a, b)| {
            let difference = |mesh: usize, i: usize| a.segments[mesh][i] - b.segments[mesh][i];
            let off = |i: usize| (difference(0, i) - difference(1, i)).abs();
            a.share * (0..a.segments[0].len()).map(off).sum::<f64>()
        });
        (MESH_FACTOR * error.sum::<f64>()).max(FLOOR_S)
    }

    /// What a changed car gains on this one, by what this one is doing, in the order of [`Phase::ALL`], s.
    pub(crate) fn phases(&self, changed: &Clocked) -> [f64; 4] {
        let mut gains = [0.0; 4];
        for (own, changed) in self.legs.iter().zip(&changed.legs) {
            for (i, (a, b)) in own.cells.iter().zip(&changed.cells).enumerate() {
                gains[own.phases[i] as usize] += own.share * (a - b);
            }
        }
        gains
    }
}

/// What of the car a gain comes from.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Sources {
    /// Its mass, s.
    pub mass_s: f64,
    /// The height of its CG.
    pub height_s: f64,
    /// Where its CG is in plan: front share, left share.
    pub split_s: f64,
    /// What turns.
    pub turning_s: f64,
    /// What else another car's file changes: driven wheels, ratios, losses, tyres.
    pub becomes_s: f64,
    /// What only all of them together do.
    pub together_s: f64,
}

/// The numbers that a row of a ledger changes, and which of the parts each belongs to.
const NUMBERS: [Number; 7] =
    [Number::M, Number::H, Number::A, Number::Y_CG, Number::J_F, Number::J_R, Number::J_ENGINE];
const PARTS: [usize; 7] = [0, 1, 2, 2, 3, 3, 3];
/// Parts by slopes do where they add up to the gain but for this share of it.
const CLOSE: f64 = 0.02;

/// Splits a gain by the slopes at both its ends; `None` where they don't add up to it, or something else changes.
pub(crate) fn sources_by_slopes([from, to]: [&Car; 2], [at, then]: [&Clocked; 2], gain: f64) -> Option<Sources> {
    let (mut parts, mut like) = ([0.0; 4], from.clone());
    for (i, &number) in NUMBERS.iter().enumerate() {
        let (place, is) = (like.number_mut(number)?, to.number(number)?);
        parts[PARTS[i]] += 0.5 * (at.slopes[i] + then.slopes[i]) * (*place - is);
        *place = is;
    }
    let [mass_s, height_s, split_s, turning_s] = parts;
    let together_s = gain - parts.iter().sum::<f64>();
    let close = like == *to && together_s.abs() <= CLOSE * gain.abs();
    close.then_some(Sources { mass_s, height_s, split_s, turning_s, becomes_s: 0.0, together_s })
}

/// Splits a gain by laps: each of the five alone on the car as it is, and as the last one missing on the changed car; the mean
/// of both, so that what two do together is shared evenly. `time` of a car, s.
pub(crate) fn sources(from: &Car, to: &Car, gain: f64, time: &dyn Fn(&Car) -> Option<f64>) -> Option<Sources> {
    type Take = fn(&mut Car, &Car);
    let takes: [Take; 5] = [
        |car, of| car.mass.m = of.mass.m,
        |car, of| car.mass.h = of.mass.h,
        |car, of| (car.mass.a, car.mass.y_cg) = (of.mass.a, of.mass.y_cg),
        |car, of| {
            (car.front.j_wheel, car.rear.j_wheel) = (of.front.j_wheel, of.rear.j_wheel);
            car.engine.inertia = of.engine.inertia;
        },
        |car, of| {
            let (own, turning) = (car.mass, [car.front.j_wheel, car.rear.j_wheel, car.engine.inertia]);
            *car = Car { mass: own, ..of.clone() };
            [car.front.j_wheel, car.rear.j_wheel, car.engine.inertia] = turning;
        },
    ];
    let (start, end) = (time(from)?, time(to)?);
    let mut parts = [0.0; 5];
    for (part, take) in parts.iter_mut().zip(takes) {
        let (mut alone, mut last) = (from.clone(), to.clone());
        take(&mut alone, to);
        take(&mut last, from);
        if alone == *from {
            continue;
        }
        *part = 0.5 * ((start - time(&alone)?) + (time(&last)? - end));
    }
    let [mass_s, height_s, split_s, turning_s, becomes_s] = parts;
    Some(Sources { mass_s, height_s, split_s, turning_s, becomes_s, together_s: gain - parts.iter().sum::<f64>() })
}
