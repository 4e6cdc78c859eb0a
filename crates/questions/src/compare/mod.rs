//! Two builds: which is quicker, why, where, dry and wet, and where it turns over power and grip.

mod days;
mod own;

use std::collections::BTreeSet;
use std::path::PathBuf;

use unladen_garage::{CarFile, Files, Ledger, TrackFile, Warning};
use unladen_study::compare::builds::{Builds, Compared, Doubt, Verdict, compare, doubts, place};
use unladen_study::compare::crossover::{Cell, Crossing, crossover, over_grip, over_power};
use unladen_study::retune::Reach;
use unladen_study::uncertainty::paired::Sampling;
use unladen_study::uncertainty::stopwatch::Stopwatch;
use unladen_study::uncertainty::verdict::Call;
use unladen_track::Track;
use unladen_vehicle::Car;

use crate::compare::days::{both, days, own_ledger};
use crate::compare::own::only_of_second;
use crate::error::{AskError, Asked, Failure};
use crate::read::Reader;
use crate::read::scene::{Scene, uncertain};
use crate::roads::{Roads, mixed};

/// The two cars in text and tables.
pub const LETTERS: [&str; 2] = ["A", "B"];

/// Two cars on some tracks.
#[derive(Clone, Debug, PartialEq)]
pub struct Question {
    /// The first car, A, the tracks and what is set of both cars; its grip counts for nothing here.
    pub scene: Scene,
    /// The second, B.
    pub second: PathBuf,
    /// Values of the second car only.
    pub set_second: Vec<String>,
    /// The days' grip; none: dry as in the tracks' files, and wet.
    pub grips: Option<Vec<f64>>,
    /// Unknowns that both files give alike and that are two all the same: keys, or beginnings of keys.
    pub apart: Vec<String>,
    /// Factors on both engines' torque on the crossover map, rising.
    pub map_powers: Vec<f64>,
    /// Grips on it, rising.
    pub map_grips: Vec<f64>,
    /// How to sample.
    pub sampling: Sampling,
    /// How laps scatter.
    pub watch: Stopwatch,
    /// Laps a side that somebody would drive for it.
    pub laps: u32,
}

/// Tracks with their weights.
type Tracks = Vec<(TrackFile, f64)>;

/// The question with its files read.
#[derive(Clone, Debug)]
pub struct Ready {
    /// What is unlikely in them.
    pub warnings: Vec<Warning>,
    question: Question,
    files: [CarFile; 2],
    ledgers: [Option<Ledger>; 2],
    tracks: Tracks,
    days: Vec<(String, Tracks)>,
}

/// A day's grip and what was found.
#[derive(Clone, Debug)]
pub struct Day {
    /// What it is called.
    pub name: String,
    /// Its grip, of several tracks the weighted mean.
    pub grip: f64,
    /// How far power and grip may be off, one standard deviation, as factors.
    pub place_sd: [f64; 2],
    /// What was found.
    pub found: Compared,
}

/// The crossover map.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Map {
    /// Factors on both engines' torque, rising.
    pub powers: Vec<f64>,
    /// Grips, rising.
    pub grips: Vec<f64>,
    /// Power by power, each over all grips.
    pub cells: Vec<Cell>,
    /// Along the grips with the engines as they are.
    pub over_grip: Vec<Crossing>,
    /// Along the powers on each day.
    pub over_power: Vec<Vec<Crossing>>,
}

/// Both builds. The first car is A, the second B.
#[derive(Clone, Debug)]
#[must_use = "an answer may come with warnings"]
pub struct Answer {
    /// Their names.
    pub names: [String; 2],
    /// The cars as they lap.
    pub cars: [Car; 2],
    /// The tracks in words, each with its share where there are several.
    pub tracks: String,
    /// The tracks.
    pub roads: Vec<Track>,
    /// Dry, wet.
    pub days: Vec<Day>,
    /// What is not known of the cars.
    pub doubts: Vec<Doubt>,
    /// What the second car's ledger has and the first one's has not, kg; negative came off.
    pub ledger: Vec<(String, f64)>,
    /// Over power and grip.
    pub map: Map,
    /// How laps scatter.
    pub watch: Stopwatch,
    /// Laps a side that somebody would drive for it.
    pub laps: u32,
    /// What is unlikely in the files.
    pub warnings: Vec<Warning>,
}

impl Question {
    /// Reads the files and answers.
    ///
    /// # Errors
    /// [`Failure`], with what was unlikely in the files until then.
    pub fn ask(&self, files: &dyn Files) -> Result<Answer, Failure> {
        let ready = self.read(files)?;
        ready.answer().map_err(|why| Failure::of(why, ready.warnings))
    }

    /// Reads the files.
    ///
    /// # Errors
    /// [`Failure`] with every fault of both cars and the tracks.
    pub fn read(&self, files: &dyn Files) -> Result<Ready, Failure> {
        Reader::run(files, |r| {
            let first = Scene { grip: None, ..self.scene.clone() };
            let mut second = Scene { car: self.second.clone(), tracks: Vec::new(), ..first.clone() };
            second.set.extend(self.set_second.iter().cloned());
            let (a, b) = both(r.inputs(&first), r.inputs(&second))?;
            known_apart(&self.apart, [&a.car, &b.car])?;
            let days = days(r.files(), &a, &first, self.grips.as_deref())?;
            let of_second = own_ledger(r.files(), &second.car, &b.car)?;
            // Only asked for what the second one has besides.
            let of_first = if of_second.is_some() { own_ledger(r.files(), &first.car, &a.car)? } else { None };
            let ledgers = [of_first, of_second];
            let (question, warnings) = (self.clone(), r.warnings());
            Ok(Ready { warnings, question, files: [a.car, b.car], ledgers, tracks: a.tracks, days })
        })
    }
}

/// Keys of `--apart` are of the cars' unknowns.
fn known_apart(apart: &[String], cars: [&CarFile; 2]) -> Result<(), Asked> {
    let inputs = cars.map(|file| uncertain(&file.uncertainties));
    let known: BTreeSet<&str> = inputs.iter().flatten().map(|input| input.key.as_str()).collect();
    match apart.iter().find(|a| a.is_empty() || !known.iter().any(|key| key.starts_with(a.as_str()))) {
        Some(given) => {
            Err(Asked::Apart { given: given.clone(), known: known.into_iter().collect::<Vec<_>>().join(", ") })
        }
        None => Ok(()),
    }
}

impl Ready {
    /// Laps both.
    ///
    /// # Errors
    /// [`AskError`] where there is no lap.
    pub fn answer(&self) -> Result<Answer, AskError> {
        let (q, [a, b]) = (&self.question, &self.files);
        let cars = [&a.car, &b.car];
        let mut names = [a.name.clone(), b.name.clone()];
        if names[0] == names[1] {
            names = [format!("{} (first)", names[0]), format!("{} (second)", names[1])];
        }
        let inputs = [a, b].map(|file| uncertain(&file.uncertainties));
        let mut doubts = doubts(cars, [&inputs[0], &inputs[1]], LETTERS, &q.apart);
        let ledger = only_of_second(&self.ledgers, b, &mut doubts);
        let builds = Builds { cars, reach: [a, b].map(reach), doubts: &doubts, sampling: q.sampling };

        let mut all: Vec<Day> = Vec::new();
        let mut map = Map::default();
        for (name, tracks) in &self.days {
            let [fine, coarse] = Roads::fine_and_coarse(tracks, q.scene.step_m)?;
            let legs = fine.legs();
            let found = compare(&builds, &legs, &coarse.legs())?;
            let total: f64 = tracks.iter().map(|(_, w)| w).sum();
            let grip = tracks.iter().map(|(t, w)| t.track.grip * w).sum::<f64>() / total;
            let error = Answer::counts(&found).error_s;
            // The same cars as in the verdict: set for this day where something can be set.
            let settings = Answer::counts(&found).settings;
            let [first, second] = [0, 1].map(|i| settings[i].on(cars[i]));
            let set = [&first, &second];
            map.over_power.push(over_power(set, &legs, &q.map_powers, (grip, error)));
            if all.is_empty() {
                map.cells = crossover(set, &legs, &q.map_powers, &q.map_grips);
                map.over_grip = over_grip(set, &legs, &q.map_grips, error);
            }
            all.push(Day { name: name.clone(), grip, place_sd: place(&builds, &legs), found });
        }
        (map.powers, map.grips) = (q.map_powers.clone(), q.map_grips.clone());
        Ok(Answer {
            names,
            cars: cars.map(Car::clone),
            tracks: mixed(&self.tracks),
            roads: self.tracks.iter().map(|(file, _)| file.track.clone()).collect(),
            days: all,
            doubts,
            ledger,
            map,
            watch: q.watch,
            laps: q.laps,
            warnings: self.warnings.clone(),
        })
    }
}

fn reach(file: &CarFile) -> Reach {
    Reach { chi: file.shop.limits.roll_stiffness_front_share, beta_f: file.shop.limits.brake_front_share }
}

impl Answer {
    /// What counts on a day: re-tuned where something can be set.
    pub fn counts(found: &Compared) -> &Verdict {
        found.retuned.as_ref().unwrap_or(&found.as_set)
    }

    /// The word on the second car.
    pub fn call(&self, v: &Verdict) -> Call {
        Call::of(&v.gain, v.error_s, self.watch.smallest(self.laps))
    }
}
