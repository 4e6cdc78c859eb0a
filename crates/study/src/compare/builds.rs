//! Two builds of a car on some tracks: which is quicker, why, where, and how sure that is.

use unladen_lap::{Course, Row};
use unladen_vehicle::{Car, Number};

use crate::compare::stretches::{Stretch, stretches};
use crate::compare::terms::{Term, terms};
use crate::input::error::StudyError;
use crate::input::leg::{Leg, difference_error, mean_time, on_days, shares, weighed};
use crate::input::sound::{no_lap, sound_lap};
use crate::input::unknown::Input;
use crate::retune::{Reach, Retuned, Settings, retune};
use crate::threads::{each_of, join};
use crate::uncertainty::laps::{Driven, half_difference};
use crate::uncertainty::paired::{Sampling, Sides, Unknown, of_tracks, paired};
use crate::uncertainty::reversal::{Reversal, reversal};
use crate::uncertainty::spread::Difference;

/// Something that is not known, and which of the two cars it moves: of what they share, both at once.
#[derive(Clone, Debug, PartialEq)]
pub struct Doubt {
    /// Its name, its standard deviation.
    pub input: Input,
    /// SI.
    pub unit: String,
    /// Per unit of it, what it moves of the first and of the second car.
    pub onto: [Vec<(Number, f64)>; 2],
}

impl Doubt {
    /// Both cars have it.
    pub fn shared(&self) -> bool {
        self.onto.iter().all(|onto| !onto.is_empty())
    }
}

/// What was aboard and what the scales said: off by as much in both, though the values differ.
const SCALES: [&str; 6] = ["mass.", "fuel.", "driver.", "aboard.", "mass of ", "scale "];

/// What two cars have in common.
#[derive(Clone, Copy, Debug, Default)]
pub struct Kin<'a> {
    /// Both are one file, perhaps with changes: what is not known of it is not known of both alike, a factor's or a
    /// shift's draw with it.
    pub one_file: bool,
    /// Keys that are two unknowns all the same, or beginnings of keys; and those whose ± was stated for one of them.
    pub apart: &'a [String],
}

/// The doubts of two cars. An input that both files have with the same value and the same ± is taken as one and the
/// same unknown: the same tyre, the same springs; so are those of one pair of scales with the same ±, whatever they
/// showed; and all of a car and its changed copy. Unless it begins with one that is apart.
pub fn doubts(cars: [&Car; 2], inputs: [&[Input]; 2], names: [&str; 2], kin: Kin) -> Vec<Doubt> {
    let [first, second] = inputs;
    let apart = kin.apart;
    let begins = |key: &str, with: &str| !with.is_empty() && key.starts_with(with);
    let alike = |input: &Input| {
        let value = |car: &Car, number: Number| car.clone().number_mut(number).copied();
        let same = |&(number, _): &(Number, f64)| value(cars[0], number) == value(cars[1], number);
        SCALES.iter().any(|s| begins(&input.key, s)) || input.onto.iter().all(same)
    };
    let twin = |input: &Input| {
        let close = |other: &&Input| kin.one_file || (other.sd - input.sd).abs() <= 1e-9 * input.sd;
        let own = apart.iter().any(|a| begins(&input.key, a)) || !(kin.one_file || alike(input));
        second.iter().find(|other| other.key == input.key && !own).filter(close)
    };
    let mut all = Vec::new();
    let mut taken: Vec<&str> = Vec::new();
    let doubt = |input: &Input, onto| Doubt { input: input.clone(), unit: String::new(), onto };
    for input in first {
        if let Some(other) = twin(input) {
            taken.push(&other.key);
            // A number that is 5 % larger is off by 5 % more.
            let scale = other.sd / input.sd;
            let onto = other.onto.iter().map(|&(number, per)| (number, per * scale)).collect();
            all.push(doubt(input, [input.onto.clone(), onto]));
        } else {
            all.push(doubt(&of(input, names[0]), [input.onto.clone(), Vec::new()]));
        }
    }
    let rest = second.iter().filter(|input| !taken.contains(&input.key.as_str()));
    all.extend(rest.map(|input| doubt(&of(input, names[1]), [Vec::new(), input.onto.clone()])));
    all
}

fn of(input: &Input, car: &str) -> Input {
    Input { key: format!("{} of {car}", input.key), ..input.clone() }
}

/// Two cars.
#[derive(Clone, Debug)]
pub struct Builds<'a> {
    /// The first, which is compared with, and the second.
    pub cars: [&'a Car; 2],
    /// What can be set of each.
    pub reach: [Reach; 2],
    /// What is not known.
    pub doubts: &'a [Doubt],
    /// How to sample.
    pub sampling: Sampling,
}

/// Both with some settings.
#[derive(Clone, Debug, PartialEq)]
pub struct Verdict {
    /// Settings of both.
    pub settings: [Settings; 2],
    /// Weighted mean lap times, s.
    pub times_s: [f64; 2],
    /// Estimate of the numerical error of their difference, s.
    pub error_s: f64,
    /// What the second gains on the first, and how sure that is.
    pub gain: Difference,
    /// The unknown that reverses it.
    pub reversed_by: Option<Reversal>,
}

/// Two cars on one track.
#[derive(Clone, Debug, PartialEq)]
pub struct OnTrack {
    /// Its name.
    pub track: String,
    /// Lap times, s.
    pub times_s: [f64; 2],
    /// Their numerical errors, s.
    pub errors_s: [f64; 2],
    /// The laps, station by station; the same stations.
    pub rows: [Vec<Row>; 2],
    /// Bend by bend.
    pub stretches: Vec<Stretch>,
}

/// The comparison on some tracks on one day.
#[derive(Clone, Debug)]
pub struct Compared {
    /// Everything as set.
    pub as_set: Verdict,
    /// Each set for these tracks; none where nothing can be set.
    pub retuned: Option<Verdict>,
    /// What re-tuning did to each.
    pub tuning: [Retuned; 2],
    /// Where the difference comes from: re-tuned where something can be set; none where a car half-way between the two has no lap.
    pub terms: Option<Vec<Term>>,
    /// Track by track: re-tuned where something can be set.
    pub tracks: Vec<OnTrack>,
    /// What is not known.
    pub unknowns: Vec<Unknown>,
}

const FIRST: usize = 0;
const SECOND: usize = 1;

/// Compares them.
///
/// # Errors
/// [`StudyError`] where there is no track, or one of the two has no lap.
pub fn compare(builds: &Builds, legs: &[Leg]) -> Result<Compared, StudyError> {
    shares(legs)?;
    let unknowns = unknowns(builds, legs);
    let verdict = |settings: [Settings; 2]| -> Result<Verdict, StudyError> {
        let cars = [0, 1].map(|i| settings[i].on(builds.cars[i]));
        let sides = Pair { builds, cars: cars.clone(), legs, unknowns: &unknowns };
        let lost = |side: usize| no_lap(&cars[side], legs);
        let found = paired(&sides, &[(SECOND, FIRST)], builds.sampling).map_err(|_| lost(FIRST))?;
        let Some(gain) = found.differences.first().cloned() else { return Err(lost(SECOND)) };
        let half = half_difference(&sides, FIRST, SECOND);
        let error_s = difference_error(gain.gain, half, [&cars[FIRST], &cars[SECOND]], legs);
        let reversed_by = if gain.gain.abs() > error_s { reversal(&sides, &found, SECOND, FIRST) } else { None };
        Ok(Verdict { settings, times_s: [found.nominal[FIRST], found.nominal[SECOND]], error_s, gain, reversed_by })
    };
    // One lap after another finds a setting: all that can wait for none is done beside.
    let tuning = |i: usize| retune(builds.cars[i], legs, &builds.reach[i]);
    let tunings = || join(|| tuning(FIRST), || tuning(SECOND));
    let ((first, second), as_set) = join(tunings, || verdict(builds.cars.map(Settings::of)));
    let (tuning, as_set) = ([first?, second?], as_set?);
    let free = tuning.iter().any(|t| t.free.contains(&true));
    let retuned = if free { Some(verdict(tuning.each_ref().map(|t| t.settings))?) } else { None };
    // Where it comes from is shown of the laps that count.
    let settings = retuned.as_ref().unwrap_or(&as_set).settings;
    let [first, second] = [0, 1].map(|i| settings[i].on(builds.cars[i]));
    let cars = [&first, &second];
    let (tracks, terms) = join(|| each_of(legs, |leg| on_track(cars, leg)), || terms(cars, legs));
    let tracks = tracks.into_iter().collect::<Result<Vec<_>, _>>()?;
    Ok(Compared { as_set, retuned, tuning, terms, tracks, unknowns })
}

/// Laps both on a track.
pub(crate) fn on_track(cars: [&Car; 2], leg: &Leg) -> Result<OnTrack, StudyError> {
    let laps = [sound_lap(leg.course, cars[FIRST])?, sound_lap(leg.course, cars[SECOND])?];
    let rows = laps.each_ref().map(|lap| lap.trace());
    Ok(OnTrack {
        track: leg.name(),
        times_s: laps.each_ref().map(|lap| lap.time),
        errors_s: laps.each_ref().map(|lap| lap.error),
        stretches: stretches(leg.course.track(), [&rows[FIRST], &rows[SECOND]]),
        rows,
    })
}

fn unknowns(builds: &Builds, legs: &[Leg]) -> Vec<Unknown> {
    let of = |d: &Doubt| Unknown { name: d.input.key.clone(), sd: d.input.sd, unit: d.unit.clone() };
    builds.doubts.iter().map(of).chain(of_tracks(legs, |_| "")).collect()
}

/// Both cars as functions of what is not known.
struct Pair<'a> {
    builds: &'a Builds<'a>,
    cars: [Car; 2],
    legs: &'a [Leg<'a>],
    unknowns: &'a [Unknown],
}

impl Pair<'_> {
    fn car(&self, side: usize, z: &[f64]) -> Option<Car> {
        let mut car = self.cars[side].clone();
        for (doubt, z) in self.builds.doubts.iter().zip(z).filter(|(_, z)| **z != 0.0) {
            for &(number, per) in &doubt.onto[side] {
                *car.number_mut(number)? += per * doubt.input.sd * z;
            }
        }
        car.is_possible().then_some(car)
    }

    fn of_tracks<'z>(&self, z: &'z [f64]) -> &'z [f64] {
        z.get(self.builds.doubts.len()..).unwrap_or(&[])
    }
}

impl Driven for Pair<'_> {
    fn doubts(&self) -> &[Unknown] {
        self.unknowns
    }

    fn sides(&self) -> usize {
        self.cars.len()
    }

    fn depends(&self, side: usize, unknown: usize) -> bool {
        self.builds.doubts.get(unknown).is_none_or(|d| !d.onto[side].is_empty())
    }

    fn laps(&self) -> Vec<(&Course, f64)> {
        weighed(self.legs)
    }

    fn cars(&self, side: usize, z: &[f64]) -> Option<Vec<Car>> {
        on_days(&self.car(side, z)?, self.legs, self.of_tracks(z))
    }
}

/// How far power and grip of the cars may be off, as factors: what all that is not known of engine (tyres, driver, day)
/// does to the first car's lap time, over what the factor does.
pub fn place(builds: &Builds, legs: &[Leg]) -> [f64; 2] {
    let unknowns = unknowns(builds, legs);
    let sides = Pair { builds, cars: builds.cars.map(Clone::clone), legs, unknowns: &unknowns };
    let about = |starts: &'static [&'static str]| {
        let all = unknowns.iter().enumerate().filter(|(_, u)| starts.iter().any(|s| u.name.starts_with(s)));
        let squares = all.filter_map(|(i, _)| {
            let mut z = vec![0.0; unknowns.len()];
            let mut at = |off: f64| {
                z[i] = off;
                sides.time(FIRST, &z)
            };
            Some((at(0.5)? - at(-0.5)?).powi(2))
        });
        squares.sum::<f64>().sqrt()
    };
    let slope = |number: &[Number]| {
        let at = |factor: f64| {
            let mut car = builds.cars[FIRST].clone();
            for &number in number {
                *car.number_mut(number)? *= factor;
            }
            mean_time(&car, legs, &[])
        };
        const STEP: f64 = 0.02;
        Some(((at(1.0 + STEP)? - at(1.0 - STEP)?) / (2.0 * STEP)).abs()).filter(|s| *s > 0.0)
    };
    let grip = [Number::USE_CORNERING, Number::USE_BRAKING, Number::USE_TRACTION];
    [
        slope(&[Number::POWER]).map_or(0.0, |s| about(&["engine.torque", "driveline.efficiency"]) / s),
        slope(&grip).map_or(0.0, |s| about(&["tyres.front.peak", "tyres.rear.peak", "driver.use", "grip"]) / s),
    ]
}
