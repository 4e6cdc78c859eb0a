//! Is it worth moving: the car before and after over the fuel load, as set and re-tuned, its mean over a stint, and how
//! sure that is.

use unladen_lap::Course;
use unladen_vehicle::Car;
use unladen_vehicle::change::Change;
use unladen_vehicle::mass::Part;

use crate::compare::builds::{OnTrack, on_track};
use crate::input::error::StudyError;
use crate::input::leg::{Leg, difference_error, mean_time, on_days, shares, weighed};
use crate::input::sound::{no_lap, sound_lap};
use crate::input::unknown::{Input, shift_all};
use crate::relocate::static_state::StaticState;
use crate::relocate::{Piece, RelocateError, Relocation};
use crate::retune::{Reach, Retuned, Settings, retune_like};
use crate::threads::{each, each_of, join};
use crate::uncertainty::laps::{Driven, half_difference};
use crate::uncertainty::paired::{PairedError, Sampling, Sides, Unknown, of_tracks, paired};
use crate::uncertainty::reversal::{Reversal, reversal};
use crate::uncertainty::spread::Difference;

/// What is asked.
#[derive(Clone, Debug)]
pub struct Question<'a> {
    /// The car as it stands, and as it laps with [`crate::relocate::Boxes::aboard`] in its tank.
    pub car: &'a Car,
    /// What is uncertain of it.
    pub inputs: &'a [Input],
    /// What its owner can set.
    pub reach: Reach,
    /// What is moved.
    pub relocation: &'a Relocation,
    /// Fuel loads of the table, m³.
    pub loads: &'a [f64],
    /// Where brackets and the like would sit, m: of these the mass is found at which the move comes out even.
    pub brackets: [f64; 3],
    /// Fuel at the beginning and the end of a stint, m³.
    pub stint: [f64; 2],
    /// How to sample.
    pub sampling: Sampling,
}

/// The car before and after with one fuel load.
#[derive(Clone, Debug, PartialEq)]
pub struct Load {
    /// m³.
    pub fuel: f64,
    /// At rest: before, after.
    pub at_rest: [StaticState; 2],
    /// Weighted mean of the lap times as set, before and after, s.
    pub as_set_s: [f64; 2],
    /// The same re-tuned.
    pub retuned_s: [f64; 2],
}

/// A stint before and after.
#[derive(Clone, Debug, PartialEq)]
pub struct Stint {
    /// Settings, before and after.
    pub settings: [Settings; 2],
    /// Mean lap time over it, before and after, s.
    pub mean_s: [f64; 2],
    /// Estimate of the numerical error of their difference, s.
    pub error_s: f64,
    /// What it gains, and how sure that is.
    pub gain: Difference,
    /// The unknown that reverses it.
    pub reversed_by: Option<Reversal>,
    /// What of it comes from what is only moved, and what from the mass that is added or goes; together the gain. None
    /// where no mass is.
    pub split: Option<[Difference; 2]>,
    /// How much could be added for the move to come out even.
    pub even: Option<Even>,
}

/// A mass that eats up what a move gains.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Even {
    /// kg at the place asked about; negative: so much would have to go for a move that loses to come out even.
    pub kg: f64,
    /// Its 90 % interval, kg.
    pub interval: [f64; 2],
    /// What a kilogram costs there, over all of it, s.
    pub s_per_kg: f64,
}

/// The answer.
#[derive(Clone, Debug, PartialEq)]
pub struct Answer {
    /// From full to empty.
    pub loads: Vec<Load>,
    /// At the beginning and the end of the stint: before, after.
    pub ends: [[StaticState; 2]; 2],
    /// Everything as set.
    pub as_set: Stint,
    /// Each car set for half of the stint's fuel; none where nothing can be set.
    pub retuned: Option<Stint>,
    /// What re-tuning did to the cars before and after, with half of the stint's fuel.
    pub tuning: [Retuned; 2],
    /// Track by track with half of the stint's fuel, before and after: re-tuned where something can be set.
    pub tracks: Vec<OnTrack>,
    /// What is not known.
    pub unknowns: Vec<Unknown>,
    /// What [`DOSE_KG`] more at the CG cost before, half of the stint's fuel aboard, s: to see a difference by.
    pub dose_s: f64,
}

/// A dose of mass that a stopwatch shows.
pub const DOSE_KG: f64 = 60.0;
/// Points of a stint and their weights: Simpson's rule over four parts. Fuel burns evenly.
const POINTS: [(f64, f64); 5] =
    [(0.0, 1.0 / 12.0), (0.25, 4.0 / 12.0), (0.5, 2.0 / 12.0), (0.75, 4.0 / 12.0), (1.0, 1.0 / 12.0)];
/// The side that is moved, and the one that is not.
const NEW: usize = 0;
const OLD: usize = 1;
/// The one with what is only moved.
const MOVED: usize = 2;

/// Answers it.
///
/// # Errors
/// [`RelocateError`] where there is no such car, or it has no lap.
pub fn ask(q: &Question, legs: &[Leg]) -> Result<Answer, RelocateError> {
    shares(legs)?;
    let [from, to] = q.stint;
    if !(to < from && to >= 0.0) {
        return Err(RelocateError::Stint { from_m3: from, to_m3: to });
    }
    let cars = |fuel: f64| q.relocation.cars(q.car, fuel, &[]);
    let at_rest = |fuel: f64| -> Result<[StaticState; 2], RelocateError> {
        Ok(q.relocation.parts(q.car, fuel, &[])?.map(|part| StaticState::of(&part, q.car)))
    };
    // Every load is looked at before the first lap.
    let ends = [at_rest(from)?, at_rest(to)?];
    let tables = q.loads.iter().map(|&fuel| at_rest(fuel)).collect::<Result<Vec<_>, _>>()?;
    let middle = cars(0.5 * (from + to))?;
    for leg in legs {
        middle.iter().try_for_each(|car| sound_lap(leg.course, car).map(drop))?;
    }
    let only = q.relocation.only_moved();
    let moved = only.cars(q.car, 0.5 * (from + to), &[])?[1].clone();
    let unknowns = Over::unknowns_of(q, legs);
    let stint = |settings: [Settings; 3]| -> Result<Stint, RelocateError> {
        let sides = Over { q, only: &only, legs, settings, unknowns: unknowns.clone() };
        let lost = |_| RelocateError::from(no_lap(&middle[0], legs));
        let pairs = [(NEW, OLD), (MOVED, OLD), (NEW, MOVED)];
        let asked = if sides.adds() { &pairs[..] } else { &pairs[..1] };
        let found = paired(&sides, asked, q.sampling).map_err(lost)?;
        let split = sides.adds().then(|| Some([found.differences.get(1)?.clone(), found.differences.get(2)?.clone()]));
        // Where nothing is added, all of it is only moved.
        let even = found
            .differences
            .get(1)
            .or(found.differences.first())
            .and_then(|moved| sides.even(found.nominal[OLD], moved));
        let Some(gain) = found.differences.first().cloned() else { return Err(lost(PairedError::NoLap { side: NEW })) };
        let cars = [settings[0].on(&middle[0]), settings[1].on(&middle[1])];
        let error_s = difference_error(gain.gain, half_difference(&sides, OLD, NEW), [&cars[0], &cars[1]], legs);
        let reversed_by = if gain.gain.abs() > error_s { reversal(&sides, &found, NEW, OLD) } else { None };
        Ok(Stint {
            settings: [settings[0], settings[1]],
            mean_s: [found.nominal[OLD], found.nominal[NEW]],
            error_s,
            gain,
            reversed_by,
            split: split.flatten(),
            even,
        })
    };
    // One lap after another finds a setting: what can wait for none is done beside.
    let tuned = || -> Result<([Retuned; 2], Retuned), StudyError> {
        let (before, valley) = retune_like(&middle[0], legs, &q.reach, None)?;
        let tuning = |car: &Car| retune_like(car, legs, &q.reach, valley).map(|(tuned, _)| tuned);
        let between = || (only != *q.relocation).then(|| tuning(&moved)).transpose();
        let (after, between) = join(|| tuning(&middle[1]), between);
        let after = after?;
        let between = between?.unwrap_or(after.clone());
        Ok(([before, after], between))
    };
    let as_set = [&middle[0], &middle[1], &moved].map(Settings::of);
    let (tuned, stint_as_set) = join(tuned, || stint(as_set));
    let (tuning, between) = tuned?;
    let free = tuning.iter().any(|t| t.free.contains(&true));
    let [old, new] = tuning.each_ref().map(|t| t.settings);

    let times = |fuel: f64, settings: [Settings; 2]| -> Result<[f64; 2], RelocateError> {
        let cars = cars(fuel)?;
        let time = |i: usize| -> Result<f64, RelocateError> {
            let car = settings[i].on(&cars[i]);
            mean_time(&car, legs, &[]).ok_or_else(|| no_lap(&car, legs).into())
        };
        Ok([time(0)?, time(1)?])
    };
    let load = |i: usize| -> Result<Load, RelocateError> {
        let (fuel, at_rest) = (q.loads[i], tables[i]);
        Ok(Load { fuel, at_rest, as_set_s: times(fuel, [as_set[0], as_set[1]])?, retuned_s: times(fuel, [old, new])? })
    };
    let mut heavy = middle[0].clone();
    heavy.mass.m += DOSE_KG;
    let dosed = mean_time(&heavy, legs, &[]).ok_or_else(|| no_lap(&heavy, legs))?;
    let set = if free { [old, new] } else { [as_set[0], as_set[1]] };
    let settled = [0, 1].map(|i| set[i].on(&middle[i]));
    let retuned = || free.then(|| stint([old, new, between.settings])).transpose();
    let others = || (each(q.loads.len(), load), each_of(legs, |leg| on_track([&settled[0], &settled[1]], leg)));
    let (retuned, (loads, tracks)) = join(retuned, others);
    Ok(Answer {
        as_set: stint_as_set?,
        retuned: retuned?,
        tracks: tracks.into_iter().collect::<Result<Vec<_>, _>>()?,
        loads: loads.into_iter().collect::<Result<Vec<_>, RelocateError>>()?,
        ends,
        dose_s: dosed - tuning[0].as_set_time_s,
        tuning,
        unknowns,
    })
}

/// Both cars over a stint, as functions of what is not known.
struct Over<'a> {
    q: &'a Question<'a>,
    /// The move without what it adds.
    only: &'a Relocation,
    legs: &'a [Leg<'a>],
    /// Before, after, with what is only moved.
    settings: [Settings; 3],
    unknowns: Vec<Unknown>,
}

impl Over<'_> {
    /// Whether mass is added or goes.
    fn adds(&self) -> bool {
        self.only != self.q.relocation
    }

    /// Of the car, of the pieces' masses, of the tracks.
    fn unknowns_of(q: &Question, legs: &[Leg]) -> Vec<Unknown> {
        let of = |input: &Input| Unknown { name: input.key.clone(), sd: input.sd, unit: String::new() };
        let mut all: Vec<Unknown> = q.inputs.iter().map(of).collect();
        let piece =
            |p: &crate::relocate::Piece| Unknown { name: format!("mass of {}", p.name), sd: p.sd, unit: "kg".into() };
        all.extend(q.relocation.pieces.iter().map(piece));
        all.extend(of_tracks(legs, |_| ""));
        all
    }

    /// The cars of a side at the points of the stint, with what belongs to the tracks left over.
    fn at_points(&self, side: usize, z: &[f64]) -> Option<Vec<Car>> {
        let mut car = self.q.car.clone();
        shift_all(&mut car, self.q.inputs, z)?;
        let own = z.get(self.q.inputs.len()..).unwrap_or(&[]);
        let own = &own[..self.q.relocation.pieces.len().min(own.len())];
        let [from, to] = self.q.stint;
        let of_moved: Vec<f64> =
            self.q.relocation.moved().into_iter().map(|i| own.get(i).copied().unwrap_or(0.0)).collect();
        let at = |&(share, _): &(f64, f64)| {
            let fuel = from + share * (to - from);
            let car = match side {
                MOVED => self.settings[2].on(&self.only.cars(&car, fuel, &of_moved).ok()?[1]),
                NEW => self.settings[1].on(&self.q.relocation.cars(&car, fuel, own).ok()?[1]),
                _ => self.settings[0].on(&self.q.relocation.cars(&car, fuel, own).ok()?[0]),
            };
            car.is_possible().then_some(car)
        };
        POINTS.iter().map(at).collect()
    }

    /// How much could be added where the brackets sit: a few steps of the secant, from what ten kilograms cost there.
    fn even(&self, before_s: f64, moved: &Difference) -> Option<Even> {
        const FIRST_KG: f64 = 10.0;
        const STEPS: usize = 4;
        const CLOSE: f64 = 1e-3;
        let [x, y, z] = self.q.brackets;
        let with = |kg: f64| -> Option<f64> {
            let part = Some(Part::point(kg.abs(), x, y, z));
            let change =
                if kg < 0.0 { Change { before: part, after: None } } else { Change { before: None, after: part } };
            let mut only = self.only.clone();
            only.pieces.push(Piece { name: "brackets".into(), change, sd: 0.0 });
            let over = Over { only: &only, unknowns: Vec::new(), ..*self };
            Some(before_s - over.time(MOVED, &[])?)
        };
        let at_none = moved.gain;
        let mut s_per_kg = (at_none - with(FIRST_KG)?) / FIRST_KG;
        let mut kg = 0.0;
        for _ in 0..STEPS {
            // A kilogram that costs nothing never eats up anything.
            if s_per_kg.abs() < 1e-7 {
                return None;
            }
            let before = std::mem::replace(&mut kg, at_none / s_per_kg);
            if kg.abs() < 1e-6 || (kg - before).abs() < CLOSE * kg.abs() {
                break;
            }
            s_per_kg = (at_none - with(kg)?) / kg;
        }
        let mut interval = moved.interval.map(|gain| gain / s_per_kg);
        interval.sort_by(f64::total_cmp);
        Some(Even { kg, interval, s_per_kg })
    }

    fn of_tracks<'z>(&self, z: &'z [f64]) -> &'z [f64] {
        z.get(self.q.inputs.len() + self.q.relocation.pieces.len()..).unwrap_or(&[])
    }
}

impl Driven for Over<'_> {
    fn doubts(&self) -> &[Unknown] {
        &self.unknowns
    }

    fn sides(&self) -> usize {
        if self.adds() { 3 } else { 2 }
    }

    fn base(&self) -> usize {
        OLD
    }

    fn depends(&self, side: usize, unknown: usize) -> bool {
        let piece = unknown.checked_sub(self.q.inputs.len()).and_then(|i| self.q.relocation.pieces.get(i));
        piece.is_none_or(|p| p.sd > 0.0 && (side == NEW || side == MOVED && p.is_moved()))
    }

    fn laps(&self) -> Vec<(&Course, f64)> {
        let of_legs = weighed(self.legs);
        POINTS.iter().flat_map(|(_, weight)| of_legs.iter().map(move |(course, w)| (*course, w * weight))).collect()
    }

    fn cars(&self, side: usize, z: &[f64]) -> Option<Vec<Car>> {
        let cars = self.at_points(side, z)?.into_iter().map(|car| on_days(&car, self.legs, self.of_tracks(z)));
        Some(cars.collect::<Option<Vec<_>>>()?.concat())
    }
}
