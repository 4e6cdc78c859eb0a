//! Two builds: which is quicker, why, where, dry and wet, and where it turns over power and grip.

mod days;
mod own;

use std::collections::BTreeSet;
use std::path::PathBuf;

use unladen_garage::{Files, TrackFile, Warning};
use unladen_study::compare::builds::{Builds, Compared, Doubt, Kin, Verdict, compare, doubts, place};
use unladen_study::compare::crossover::{Cell, Crossing, crossover, over_grip, over_power};
use unladen_study::measure::{Next, Open};
use unladen_study::uncertainty::paired::Sampling;
use unladen_study::uncertainty::stopwatch::Stopwatch;
use unladen_study::uncertainty::verdict::Call;
use unladen_track::Track;
use unladen_vehicle::Car;

use crate::compare::days::{both, days};
use crate::compare::own::{differs, only_of_second};
use crate::error::{AskError, Asked, Failure};
use crate::read::Reader;
use crate::read::project::car_file;
use crate::read::scene::Scene;
use crate::roads::{Roads, mixed};
use crate::stands::standing::{Said, Standing};
use crate::stands::state::State;

pub use crate::compare::own::Differs;

/// The two cars in text and tables.
pub const LETTERS: [&str; 2] = ["A", "B"];

/// Two cars on some tracks.
#[derive(Clone, Debug, PartialEq)]
pub struct Question {
    /// The first car, A, the tracks and what is set of both cars; its grip counts for nothing here.
    pub scene: Scene,
    /// The second, B.
    pub second: PathBuf,
    /// The second car's state; the first one's is the scene's.
    pub state_second: State,
    /// Values of the second car only.
    pub set_second: Vec<String>,
    /// The days' grip; none: dry as in the tracks' files, and wet.
    pub grips: Option<Vec<f64>>,
    /// Unknowns that both files give alike and that are two all the same: keys, or beginnings of keys.
    pub apart: Vec<String>,
    /// Whether the crossover map is asked for; without it, it is empty.
    pub map: bool,
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
    stands: [Standing; 2],
    one_file: bool,
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
    /// Their states.
    pub states: [Said; 2],
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
    /// All that they have not alike, values and rows.
    pub differs: Vec<Differs>,
    /// Rows that are in the second car and not in the first, kg; negative came off.
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

impl Answer {
    /// How far what counts on a day is known, and what to measure next for it.
    pub fn open(&self, found: &Compared) -> (Open, Option<Next>) {
        let open = Open::of_difference(&Self::counts(found).gain, &found.unknowns);
        let next = open.next(&self.cars[0]);
        (open, next)
    }
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
            second.state = self.state_second.clone();
            let (a, b) = both(r.inputs(&first), r.inputs(&second))?;
            known_apart(&self.apart, [&a.car, &b.car])?;
            let days = days(r.files(), &a, &first, self.grips.as_deref())?;
            let one_file = car_file(r.files(), &first.car) == car_file(r.files(), &second.car);
            let (question, warnings) = (self.clone(), r.warnings());
            Ok(Ready { warnings, question, stands: [a.car, b.car], one_file, tracks: a.tracks, days })
        })
    }
}

/// Keys of `--apart` are of the cars' unknowns.
fn known_apart(apart: &[String], cars: [&Standing; 2]) -> Result<(), Asked> {
    let known: BTreeSet<&str> = cars.iter().flat_map(|car| &car.inputs).map(|input| input.key.as_str()).collect();
    match apart.iter().find(|a| a.is_empty() || !known.iter().any(|key| key.starts_with(a.as_str()))) {
        Some(given) => {
            Err(Asked::Apart { given: given.clone(), known: known.into_iter().collect::<Vec<_>>().join(", ") })
        }
        None => Ok(()),
    }
}

impl Ready {
    /// What is not known of the cars.
    fn doubts(&self) -> Vec<Doubt> {
        let [a, b] = &self.stands;
        // A ± that was stated for this run is one of its own.
        let stated = [a, b].into_iter().flat_map(|car| &car.file.uncertainties).filter(|u| u.own);
        let apart: Vec<String> = self.question.apart.iter().cloned().chain(stated.map(|u| u.key.clone())).collect();
        let kin = Kin { one_file: self.one_file, apart: &apart };
        doubts([&a.car, &b.car], [&a.inputs, &b.inputs], LETTERS, kin)
    }

    fn builds<'a>(&'a self, doubts: &'a [Doubt]) -> Builds<'a> {
        let [a, b] = &self.stands;
        Builds { cars: [&a.car, &b.car], reach: [a.reach(), b.reach()], doubts, sampling: self.question.sampling }
    }

    /// The first day alone, without the map and without what turns it over: the same figures as in the whole answer.
    ///
    /// # Errors
    /// [`AskError`] where there is no lap.
    pub fn first_day(&self) -> Result<Compared, AskError> {
        let doubts = self.doubts();
        let tracks = self.days.first().map_or(&self.tracks, |(_, tracks)| tracks);
        let roads = Roads::new(tracks, self.question.scene.step_m)?;
        Ok(compare(&self.builds(&doubts), &roads.legs())?)
    }

    /// Laps both.
    ///
    /// # Errors
    /// [`AskError`] where there is no lap.
    pub fn answer(&self) -> Result<Answer, AskError> {
        let (q, [a, b]) = (&self.question, &self.stands);
        let cars = [&a.car, &b.car];
        let names = self.names();
        let doubts = self.doubts();
        let builds = self.builds(&doubts);

        let mut all: Vec<Day> = Vec::new();
        let mut map = Map::default();
        for (name, tracks) in &self.days {
            let roads = Roads::new(tracks, q.scene.step_m)?;
            let legs = roads.legs();
            let found = compare(&builds, &legs)?;
            let total: f64 = tracks.iter().map(|(_, w)| w).sum();
            let grip = tracks.iter().map(|(t, w)| t.track.grip * w).sum::<f64>() / total;
            let error = Answer::counts(&found).error_s;
            // The same cars as in the verdict: set for this day where something can be set.
            let settings = Answer::counts(&found).settings;
            let [first, second] = [0, 1].map(|i| settings[i].on(cars[i]));
            let set = [&first, &second];
            if q.map {
                map.over_power.push(over_power(set, &legs, &q.map_powers, (grip, error)));
            }
            if q.map && all.is_empty() {
                (map.powers, map.grips) = (q.map_powers.clone(), q.map_grips.clone());
                map.cells = crossover(set, &legs, &q.map_powers, &q.map_grips);
                map.over_grip = over_grip(set, &legs, &q.map_grips, error);
            }
            all.push(Day { name: name.clone(), grip, place_sd: place(&builds, &legs), found });
        }
        Ok(Answer {
            names,
            states: [a.said(), b.said()],
            cars: cars.map(Car::clone),
            tracks: mixed(&self.tracks),
            roads: self.tracks.iter().map(|(file, _)| file.track.clone()).collect(),
            days: all,
            doubts,
            differs: differs([a, b]),
            ledger: only_of_second([a, b]),
            map,
            watch: q.watch,
            laps: q.laps,
            warnings: self.warnings.clone(),
        })
    }
}

impl Ready {
    /// Of one car in two states they tell its state, of one in one state which of the two.
    fn names(&self) -> [String; 2] {
        let [a, b] = &self.stands;
        let names = [a, b].map(|car| car.file.name.clone());
        if names[0] != names[1] {
            return names;
        }
        if a.state.of != b.state.of {
            return [a, b].map(|car| format!("{}, {}", car.file.name, car.state.of.said()));
        }
        [format!("{} (first)", names[0]), format!("{} (second)", names[1])]
    }
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
