//! A car on its tracks, and what trials do to it.

use std::path::PathBuf;

use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use serde::{Deserialize, Serialize};
use serde_json::{Value, json};
use unladen_garage::{Memory, Warning};
use unladen_lap::{Lap, Row};
use unladen_questions::compare::{self, Answer};
use unladen_questions::read::Reader;
use unladen_questions::roads::Roads;
use unladen_questions::stands::moved::is_tank;
use unladen_questions::stands::standing::Standing;
use unladen_questions::stands::state::{As, Moved, State};
use unladen_questions::{AskError, Scene};
use unladen_report::compare::text::DRIVELINE_CAUTION;
use unladen_report::draw::theme;
use unladen_report::hold::car::{Hold, Thing, hold_picture};
use unladen_report::hold::laps::laps_picture;
use unladen_report::lap::place::places;
use unladen_report::lap::trace::LapTrace;
use unladen_report::ledger::text::CAUTION as ROWS_CAUTION;
use unladen_report::page::made::quoted;
use unladen_report::relocate::text::{FUEL_CAUTION, ITEM_CAUTION};
use unladen_report::words::change::Change;
use unladen_report::words::number::{fixed, lap_time};
use unladen_report::words::sure;
use unladen_study::measure::Open;
use unladen_study::uncertainty::paired::Sampling;
use unladen_study::uncertainty::stopwatch::Stopwatch;
use unladen_study::{Worth, named_spots, slopes, sound_lap};
use unladen_vehicle::Car;

use crate::controls::{Control, DAY, controls, settings};
use crate::fault::LiveError;
use crate::files::Packed;
use crate::held::{costs, handles, size, switches, things};
use crate::trial::{Ask, Trial};

/// All that a page carries of a car and its tracks.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Data {
    /// The files, by their paths, each in base64.
    pub files: Vec<(String, String)>,
    /// The car's file or folder.
    pub car: String,
    /// The tracks, each with its weight.
    pub tracks: Vec<(String, f64)>,
    /// In which state the car is asked about, as `--as` takes it.
    pub state: String,
    /// What is in it besides, and what is not.
    pub with_without: [Vec<String>; 2],
    /// What sits elsewhere, m.
    pub moved: Vec<(String, [f64; 3])>,
    /// Values that are set, of the car and of the tracks.
    pub set: Vec<String>,
    /// The day's grip, where it isn't the tracks'.
    pub grip: Option<f64>,
    /// Distance between stations, m.
    pub step_m: f64,
    /// Scatter of laps, s, and laps a side that somebody would drive.
    pub watch: (f64, u32),
}

impl Data {
    fn scene(&self) -> Result<Scene, LiveError> {
        let of = As::parse(&self.state).map_err(AskError::from)?;
        let [with, without] = self.with_without.clone();
        let moved = self.moved.iter().map(|(item, by)| Moved { item: item.clone(), by: *by }).collect();
        Ok(Scene {
            car: PathBuf::from(&self.car),
            tracks: self.tracks.iter().map(|(path, weight)| (PathBuf::from(path), *weight)).collect(),
            state: State { of, with, without, moved },
            set: self.set.clone(),
            grip: self.grip,
            step_m: self.step_m,
        })
    }
}

/// The car as it is, with somebody's own numbers.
struct Base {
    scene: Scene,
    standing: Standing,
    roads: Roads,
    laps: Vec<Lap>,
    rows: Vec<Vec<Row>>,
    unlikely: Vec<String>,
    own: Trial,
    controls: Vec<Control>,
}

/// A car that answers trials.
pub struct Bench {
    data: Data,
    files: Packed,
    base: Base,
}

/// A trial's car, and its laps.
struct Tried {
    standing: Standing,
    unlikely: Vec<String>,
    laps: Vec<Lap>,
    worth: Worth,
}

impl Bench {
    /// Opens what a page carries.
    ///
    /// # Errors
    /// [`LiveError`] where it can't be read, or the car has no lap.
    pub fn open(text: &str) -> Result<Self, LiveError> {
        let data: Data = serde_json::from_str(text)?;
        let mut files = Memory::default();
        for (path, bytes) in &data.files {
            files.put(path, STANDARD.decode(bytes)?);
        }
        let files = Packed::from(files);
        let base = Base::new(&files, data.scene()?, &Trial::default())?;
        Ok(Self { data, files, base })
    }

    /// What can be turned and switched, and the car as it is.
    pub fn start(&self) -> Value {
        let base = &self.base;
        let names: Vec<&str> = base.roads.courses().iter().map(|course| course.track().name.as_str()).collect();
        json!({
            "car": base.standing.file.name, "tracks": names, "time_s": base.time_s(), "controls": base.controls,
            "switches": switches(&base.standing),
        })
    }

    /// Laps what is tried, once a track.
    ///
    /// # Errors
    /// [`LiveError`] where the trial can't be, or has no lap.
    pub fn frame(&mut self, ask: &Ask) -> Result<Value, LiveError> {
        self.own(&ask.trial)?;
        let (base, trial) = (&self.base, &ask.trial);
        let tried = self.tried(trial)?;
        let worth = &tried.worth;
        let (was_s, is_s) = (base.time_s(), worth.lap_time_s);
        let error_s = worth.lap_time_error_s;
        let change =
            Change { quicker_s: was_s - is_s, interval: None, error_s: if trial.is_nothing() { 0.0 } else { 1e-4 } };
        let things = things(&tried.standing, |name| trial.moved.get(name).map(|mm| mm.map(|x| 1e-3 * x)));
        let mass = tried.standing.car.mass;
        let mut out = json!({
            "time_s": is_s, "was_s": was_s, "gain_s": was_s - is_s, "error_s": error_s,
            "says": if trial.is_nothing() { "The car as it is".to_owned() } else { says(&change) },
            "lap": format!("{} → {}", lap_time(was_s, 3), lap_time(is_s, 3)),
            "tracks": self.by_track(&tried),
            "car": stands(&base.standing.car, &tried.standing.car),
            "kilogram": kilogram(worth),
            "even": self.even(trial, &tried, &things, was_s - is_s),
            "cautions": self.cautions(trial, &tried),
            "unlikely": tried.unlikely.iter().filter(|words| !base.unlikely.contains(words)).collect::<Vec<_>>(),
            "command": self.command(trial)?,
        });
        let mut drawn = String::new();
        if let Some(width_px) = ask.widths_px[0] {
            let was = base.standing.car.mass;
            let held = hold_picture(&Hold {
                car: &base.standing.file.name,
                size: size(&base.standing.file, was.h),
                worth,
                mass_kg: mass.m,
                at_m: [[mass.a, mass.y_cg, mass.h], [was.a, was.y_cg, was.h]],
                things: &things,
                width_px,
            })?;
            out["handles"] = handles(&things, &held, &mass, worth);
            out["costs"] = costs(&held, &mass, worth);
            out["px_per_mm"] = (1e-3 * held.views[0].scale).into();
            let layers = held.layers.map(|layer| layer.inline("live"));
            drawn += &layers.concat();
            out["car_svg"] = layers.to_vec().into();
        }
        if let Some(width_px) = ask.widths_px[1] {
            let track = ask.track.min(base.laps.len().saturating_sub(1));
            let rows = tried.laps[track].trace_with_peaks();
            let road = base.roads.courses()[track].track();
            let lap = |name, rows, lap: &Lap| LapTrace {
                name,
                rows,
                length_m: road.length(),
                lap_time_s: lap.time,
                lap_time_error_s: lap.error,
            };
            let laps = [
                lap("as it is", &base.rows[track][..], &base.laps[track]),
                lap("tried", &rows[..], &tried.laps[track]),
            ];
            let svg = laps_picture(laps, &places(road), width_px)?.inline("live");
            drawn += &svg;
            out["laps_svg"] = svg.into();
        }
        out["dark"] = theme::rules(&drawn).into();
        Ok(out)
    }

    /// How sure it is: the answer of `unladen compare`, on the first day.
    ///
    /// # Errors
    /// [`LiveError`] where the trial can't be, or has no lap.
    pub fn settled(&mut self, trial: &Trial) -> Result<Value, LiveError> {
        self.own(trial)?;
        if trial.is_nothing() {
            return Ok(json!({ "says": "The car as it is", "nothing": true }));
        }
        let (spread_s, laps) = self.data.watch;
        let watch = Stopwatch::new(spread_s);
        let base = &self.base;
        let question = compare::Question {
            scene: base.scene.clone(),
            second: base.scene.car.clone(),
            state_second: self.state(trial),
            set_second: settings(&trial.turned, &base.controls)?,
            grips: base.scene.grip.map(|grip| vec![grip]),
            apart: Vec::new(),
            map: false,
            map_powers: Vec::new(),
            map_grips: Vec::new(),
            sampling: Sampling::default(),
            watch,
            laps,
        };
        let found = question.read(&self.files)?.first_day()?;
        let counts = Answer::counts(&found);
        let change = Change::of(&counts.gain, counts.error_s);
        let open = Open::of_difference(&counts.gain, &found.unknowns);
        let next = open.next(&base.standing.car);
        let mut facts = vec![format!("A stopwatch: {}", sure::stopwatch_brief(&watch, laps, counts.gain.gain))];
        facts.extend(sure::hangs_on_brief(&counts.gain, &found.unknowns).map(|words| format!("It hangs on {words}")));
        facts.extend(unladen_report::words::next::of_gain(&open, next.as_ref()).map(|words| words.replace('`', "")));
        if found.retuned.is_some() {
            let as_set = Change::of(&found.as_set.gain, found.as_set.error_s).words();
            facts.insert(0, format!("Each re-tuned within its limits; as set: {as_set}"));
        }
        Ok(json!({
            "says": says(&change), "words": change.words(), "range": change.range().unwrap_or_else(|| "nothing is uncertain".into()), "gain_s": counts.gain.gain, "interval_s": counts.gain.interval,
            "as_set_s": found.as_set.gain.gain, "times_s": counts.times_s, "retuned": found.retuned.is_some(),
            "chance": counts.gain.chance, "facts": facts,
        }))
    }

    /// With somebody's own numbers the car as it is another one.
    fn own(&mut self, trial: &Trial) -> Result<(), LiveError> {
        if self.base.own.own != trial.own {
            self.base =
                Base::new(&self.files, self.data.scene()?, &Trial { own: trial.own.clone(), ..Trial::default() })?;
        }
        Ok(())
    }

    fn state(&self, trial: &Trial) -> State {
        let mut state = self.base.scene.state.clone();
        state.with.extend(trial.with.iter().cloned());
        state.without.extend(trial.without.iter().cloned());
        let moved = trial.moved.iter().filter(|(_, mm)| **mm != [0.0; 3]);
        state.moved.extend(moved.map(|(item, mm)| Moved { item: item.clone(), by: mm.map(|x| 1e-3 * x) }));
        state
    }

    fn tried(&self, trial: &Trial) -> Result<Tried, LiveError> {
        let base = &self.base;
        let mut set = base.scene.set.clone();
        set.extend(settings(&trial.turned, &base.controls)?);
        let read = |r: &mut Reader| Ok((r.standing(&base.scene.car, &set, &self.state(trial))?, r.warnings()));
        let (standing, unlikely) = Reader::run(&self.files, read)?;
        let car = &standing.car;
        let laps = base.roads.courses().iter().map(|course| sound_lap(course, car)).collect::<Result<Vec<_>, _>>()?;
        let seat = standing.file.loads.driver.map(|driver| driver.seat);
        let worth = slopes(car, &laps, &base.roads.legs(), &named_spots(car, seat))?;
        Ok(Tried { laps, worth, standing, unlikely: said(unlikely) })
    }

    fn by_track(&self, tried: &Tried) -> Value {
        let pairs = self.base.laps.iter().zip(&tried.laps).zip(self.base.roads.courses());
        let one = |((was, is), course): ((&Lap, &Lap), &unladen_lap::Course)| json!({ "name": course.track().name, "was_s": was.time, "time_s": is.time });
        pairs.map(one).collect()
    }

    /// What brackets may weigh, where one thing alone is moved and gains.
    fn even(&self, trial: &Trial, tried: &Tried, things: &[Thing], gain_s: f64) -> Option<String> {
        let alone = Trial { moved: trial.moved.clone(), own: trial.own.clone(), ..Trial::default() } == *trial;
        let mut moved = trial.moved.keys();
        let name = moved.next().filter(|_| alone && moved.next().is_none())?;
        let at = things.iter().find(|thing| thing.name == *name)?.at;
        let per_kg = tried.worth.s_per_kg_at(&tried.standing.car.mass, at);
        let kg = gain_s / per_kg;
        (per_kg > 0.0 && kg > 0.0)
            .then(|| format!("brackets there may weigh up to {} kg before it costs time", fixed(kg, 1)))
    }

    fn cautions(&self, trial: &Trial, tried: &Tried) -> Vec<&'static str> {
        let mut all = Vec::new();
        if trial.moved.keys().any(|item| is_tank(item)) {
            all.push(FUEL_CAUTION);
        }
        if trial.moved.keys().any(|item| !is_tank(item)) {
            all.push(ITEM_CAUTION);
        }
        if tried.standing.car.driveline != self.base.standing.car.driveline {
            all.push(DRIVELINE_CAUTION);
        }
        if !(trial.with.is_empty() && trial.without.is_empty()) {
            all.push(ROWS_CAUTION);
        }
        all
    }

    /// The command that gives the same answer.
    ///
    /// # Errors
    /// [`LiveError`] where something is turned that can't be.
    pub fn command(&self, trial: &Trial) -> Result<String, LiveError> {
        let (scene, base) = (&self.base.scene, &self.base);
        let mut words = vec!["unladen compare".to_owned()];
        words.extend([&self.data.car, &self.data.car].map(|car| quoted(car)));
        words.extend(self.data.tracks.iter().map(|(path, weight)| match weight {
            1.0 => quoted(path),
            weight => quoted(&format!("{path}={weight}")),
        }));
        let mut option = |name: &str, value: &str| words.extend([format!("--{name}"), quoted(value)]);
        let by = |mm: [f64; 3]| mm.map(|x| format!("{}", (1e3 * x).round() / 1e3)).join(",");
        if scene.state.of != As::Now {
            option("as", scene.state.of.word());
        }
        scene.state.with.iter().for_each(|row| option("with", row));
        scene.state.without.iter().for_each(|row| option("without", row));
        scene.state.moved.iter().for_each(|m| option("moved", &format!("{}={}", m.item, by(m.by.map(|m| 1e3 * m)))));
        scene.set.iter().for_each(|set| option("set", set));
        scene.grip.iter().for_each(|grip| option("grip", &grip.to_string()));
        if scene.step_m != unladen_lap::STEP_M {
            option("step", &scene.step_m.to_string());
        }
        trial.with.iter().for_each(|row| option("with-second", row));
        trial.without.iter().for_each(|row| option("without-second", row));
        let moved = trial.moved.iter().filter(|(_, mm)| **mm != [0.0; 3]);
        moved.for_each(|(item, mm)| option("moved-second", &format!("{item}={}", by(*mm))));
        settings(&trial.turned, &base.controls)?.iter().for_each(|set| option("set-second", set));
        Ok(words.join(" "))
    }
}

impl Base {
    fn new(files: &Packed, scene: Scene, own: &Trial) -> Result<Self, LiveError> {
        let read = |scene: &Scene| Reader::run(files, |r| Ok((r.inputs(scene)?, r.warnings())));
        let (as_given, unlikely) = read(&scene)?;
        let grip = as_given.tracks.first().map_or(1.0, |(file, _)| file.track.grip);
        let of_file = controls(&as_given.car.file, grip);
        let mut scene = Scene { grip: own.own.get(DAY).copied().or(scene.grip), ..scene };
        scene.set.extend(settings(&own.own, &of_file)?);
        let (inputs, unlikely) = if own.own.is_empty() { (as_given, unlikely) } else { read(&scene)? };
        let grip = inputs.tracks.first().map_or(1.0, |(file, _)| file.track.grip);
        let controls = controls(&inputs.car.file, grip);
        let roads = Roads::new(&inputs.tracks, scene.step_m).map_err(AskError::from)?;
        let lap = |course| sound_lap(course, &inputs.car.car);
        let laps: Vec<Lap> = roads.courses().iter().map(lap).collect::<Result<_, _>>()?;
        let rows = laps.iter().map(Lap::trace_with_peaks).collect();
        let unlikely = said(unlikely);
        Ok(Self { scene, standing: inputs.car, roads, laps, rows, unlikely, own: own.clone(), controls })
    }

    /// The weighted mean of its laps, s.
    fn time_s(&self) -> f64 {
        let legs = self.roads.legs();
        let total: f64 = legs.iter().map(|leg| leg.weight).sum();
        self.laps.iter().zip(&legs).map(|(lap, leg)| leg.weight / total * lap.time).sum()
    }
}

/// What is unlikely, without the places in files that a page doesn't show.
fn said(unlikely: Vec<Warning>) -> Vec<String> {
    unlikely.into_iter().map(|warning| warning.what.to_string()).collect()
}

/// `0.042 s slower a lap`.
fn says(change: &Change) -> String {
    if change.resolved() { format!("{} a lap", change.value()) } else { "no difference that can be resolved".into() }
}

/// What a kilogram costs, and where it costs most of the places that every car has.
fn kilogram(worth: &Worth) -> String {
    let ms = |s: f64| fixed(1e3 * s, 2);
    let dearest = worth.places.iter().max_by(|a, b| a.s_per_kg.value.total_cmp(&b.s_per_kg.value));
    let there = dearest.map_or_else(String::new, |p| format!(", at the {} {} ms", p.spot.name, ms(p.s_per_kg.value)));
    format!("a kilogram at the centre of gravity costs {} ms a lap{there}", ms(worth.s_per_kg.value))
}

/// How the car stands, as it is and as it is tried.
fn stands(was: &Car, is: &Car) -> String {
    let front = |car: &Car| 100.0 * (1.0 - car.mass.a / car.chassis.l);
    let pair = |name: &str, of: &dyn Fn(&Car) -> f64, digits: usize, unit: &str| {
        let (a, b) = (fixed(of(was), digits), fixed(of(is), digits));
        if a == b { format!("{name} {a} {unit}") } else { format!("{name} {a} → {b} {unit}") }
    };
    [
        pair("mass", &|car| car.mass.m, 1, "kg"),
        pair("front", &front, 2, "%"),
        pair("centre of gravity", &|car| 1e3 * car.mass.h, 1, "mm high"),
    ]
    .join("; ")
}
