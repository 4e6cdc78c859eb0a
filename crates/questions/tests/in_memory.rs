//! Questions about files that only a program holds: no disk is asked.
#![allow(clippy::unwrap_used)]

use std::path::Path;

use unladen_questions::course::{from, log, look};
use unladen_questions::estimate::given::WISHES;
use unladen_questions::estimate::{Class, Given};
use unladen_questions::ledger::{self, edit};
use unladen_questions::relocate::{self, Where};
use unladen_questions::stands::state::{As, Moved, State};
use unladen_questions::weigh::{self, reconcile};
use unladen_questions::{Files, Kind, Limit, Memory, Scene, ToWrite, check, fit, lap, new, reset};
use unladen_study::made_track::synthetic::Logger;

/// The demo car and tracks.
fn demo() -> Memory {
    let repo = Path::new(env!("CARGO_MANIFEST_DIR")).join("../..");
    let names = [
        "vehicles/saloon-awd/car.toml",
        "vehicles/saloon-awd/ledger.csv",
        "vehicles/saloon-awd/areas.csv",
        "vehicles/saloon-awd/readings.toml",
        "vehicles/saloon-awd/reweigh.toml",
        "tracks/airfield.toml",
        "tracks/airfield.csv",
    ];
    names.into_iter().map(|name| (name, std::fs::read(repo.join(name)).unwrap())).collect()
}

fn write(files: &mut Memory, all: &[ToWrite]) {
    for w in all {
        assert!(w.read.is_none() || w.read == files.bytes(&w.path, Limit::SHEET).ok(), "{}", w.path.display());
        files.put(w.path.clone(), w.bytes.clone());
    }
}

#[test]
fn end_to_end_a_ledger_is_edited_and_taken_back_to_the_byte() {
    let mut files = demo();
    let path = Path::new("vehicles/saloon-awd/ledger.csv");
    let ask = |files: &Memory| {
        let question = ledger::Question { car: "vehicles/saloon-awd".into(), set: Vec::new() };
        question.read(files).unwrap().answer().unwrap()
    };
    let edit = |files: &mut Memory, change| {
        let answer = edit::Question { car: "vehicles/saloon-awd".into(), change }.answer(files).unwrap();
        write(files, &answer.writes);
        answer
    };
    let (before, first) = (files.bytes(path, Limit::SHEET).unwrap(), ask(&files));
    let cells = [("item", "horn"), ("state", "planned"), ("area", "nose"), ("mass_before_kg", "0.9 kg")];
    let cells = cells.map(|(column, text)| (column, text.to_owned())).to_vec();
    let _ = edit(&mut files, edit::Change::Add(cells));
    assert_eq!(ask(&files).entries.len(), first.entries.len() + 1);
    let day = unladen_garage::day("2026-05-01");
    let _ = edit(&mut files, edit::Change::Done { item: "horn".into(), line: None, day });
    let done = ask(&files);
    assert!((done.budget.now.part.m - (first.budget.now.part.m - 0.9)).abs() < 1e-9);
    for _ in 0..2 {
        assert!(edit(&mut files, edit::Change::TakeBack).what.starts_with("took back: "));
    }
    assert_eq!(files.bytes(path, Limit::SHEET).unwrap(), before);
    let none = edit::Question { car: "vehicles/saloon-awd".into(), change: edit::Change::TakeBack }.answer(&files);
    assert_eq!(none.unwrap_err().kind(), Kind::File);
}

#[test]
fn end_to_end_a_weighing_goes_into_the_car() {
    let mut files = demo();
    let question = weigh::Question { readings: "vehicles/saloon-awd/reweigh.toml".into() };
    let answer = question.read(&files).unwrap().answer().unwrap();
    let into = answer.into_car(&files, Path::new("vehicles/saloon-awd")).unwrap();
    write(&mut files, &[into.write]);
    let car = files.car(Path::new("vehicles/saloon-awd/car.toml"), &Default::default()).unwrap();
    assert!((car.loads.weighed.m - answer.found.mass.value).abs() < 0.1);
    // The new weighing has all in it that was done before.
    let (readings, car) = (question.readings, "vehicles/saloon-awd".into());
    let compared = reconcile::Question { readings, car }.read(&files).unwrap().answer().unwrap();
    assert!(compared.counted.is_empty() && !compared.result.beyond);
}

#[test]
fn end_to_end_a_track_is_made_of_a_log_that_was_driven_on_another() {
    let mut files = demo();
    let (car, track) = ("vehicles/saloon-awd".into(), "tracks/airfield.toml".into());
    let logger = Logger { laps: 4, ..Logger::default() };
    let question =
        log::Question { car, track, state: State::default(), set: Vec::new(), grip: None, logger, quirks: false };
    let driven = question.read(&files).unwrap().answer().unwrap();
    files.put("log.csv", driven.text);
    let made = from::Question::new(["log.csv"], "made.toml").read(&files).unwrap().answer().unwrap();
    write(&mut files, &made.writes);
    let looked = |track: &str| look::Question { track: track.into() }.answer(&files).unwrap();
    let (made, truth) = (looked("made.toml"), looked("tracks/airfield.toml"));
    let (made_m, true_m) = (made.file.track.length(), truth.file.track.length());
    assert!((made_m / true_m - 1.0).abs() < 0.01, "{made_m} m, {true_m} m");
    let (car, track) = ("vehicles/saloon-awd".into(), "tracks/airfield.toml".into());
    let (told, set, log) = (Default::default(), Vec::new(), "log.csv".into());
    let question = fit::Question { car, track, log, told, state: State::default(), set, grip: None, hold_out: Some(2) };
    let ready = question.read(&files).unwrap();
    let fitted = ready.answer().unwrap();
    assert_eq!((fitted.used.len() + 1, fitted.held), (4, 2));
    assert!((fitted.prediction.model_s / driven.lap_time_s - 1.0).abs() < 0.01);
    let copy = fitted.copy(&files, &question, Path::new("fitted.toml")).unwrap();
    write(&mut files, &[copy.write]);
    assert!(files.car(Path::new("fitted.toml"), &Default::default()).is_ok());
}

#[test]
fn end_to_end_a_new_project_has_no_faults() {
    let typed: Vec<(&str, String)> = WISHES.iter().map(|wish| (wish.option, wish.example.to_owned())).collect();
    let class = Class::of(Given::read(&typed).unwrap());
    let made = new::files("mine", &class).into_iter().map(|(name, text)| (format!("mine/{name}"), text));
    let files: Memory = made.collect();
    let found = check::Question { files: vec!["mine".into()] }.answer(&files);
    assert_eq!(found.len(), 4);
    for found in found {
        assert!(found.beside.is_empty());
        assert!(found.what.is_ok(), "{}: {}", found.path.display(), found.what.unwrap_err());
    }
    let question =
        reset::Question { car: "mine".into(), state: State::of(As::Planned), set: Vec::new(), tracks: Vec::new() };
    assert!(!question.read(&files).unwrap().answer().unwrap().stages.is_empty());
}

fn with_moved(item: &str, by: [f64; 3]) -> Scene {
    let moved = vec![Moved { item: item.into(), by }];
    let scene = Scene::new("vehicles/saloon-awd", ["tracks/airfield.toml"]);
    Scene { state: State { moved, ..State::default() }, ..scene }
}

/// A car of which something sits elsewhere is the car that moving it makes, whichever way it is asked.
#[test]
fn end_to_end_a_car_with_something_moved_is_what_moving_it_makes() {
    let files = demo();
    let scene = Scene::new("vehicles/saloon-awd", ["tracks/airfield.toml"]);
    // Done after the weighing, planned to go, the tank with its fuel.
    for (item, by) in
        [("battery", [-0.3, 0.2, 0.1]), ("boot lid", [-0.5, 0.0, -0.2]), ("fuel tank", [-0.6, 0.0, -0.06])]
    {
        let moving = relocate::Question { steps: 1, ..relocate::Question::new(scene.clone(), item, Where::By(by)) };
        let moved = moving.ask(&files).unwrap();
        let usual = files.car(Path::new("vehicles/saloon-awd/car.toml"), &Default::default()).unwrap();
        let fuel = usual.loads.fuel.unwrap().on_track;
        let load = moved.answer.loads.iter().find(|load| load.fuel == fuel).unwrap();
        let lapped = lap::Question { scene: with_moved(item, by) }.ask(&files).unwrap();
        let [before, after] = load.as_set_s;
        assert!((lapped[0].time_s - after).abs() < 1e-7, "{item}: {} s, {after} s", lapped[0].time_s);
        assert!((before - after).abs() > 1e-5, "{item}");
        assert_eq!(lapped[0].state.state.moved[0].item, item);
    }
}

#[test]
fn bad_input_what_can_not_sit_elsewhere() {
    let files = demo();
    let said = |item: &str, by| lap::Question { scene: with_moved(item, by) }.ask(&files).unwrap_err().to_string();
    assert!(said("batery", [0.1, 0.0, 0.0]).contains("did you mean `battery`"));
    assert!(said("rear bench", [0.1, 0.0, 0.0]).contains("rear bench"));
    assert!(said("battery", [9.0, 0.0, 0.0]).contains("outside the car"));
    assert!(said("fuel tank", [0.0, 0.0, -3.0]).contains("outside the car"));
    let scene = with_moved("fuel tank", [-0.1, 0.0, 0.0]);
    let again = relocate::Question::new(scene, "fuel tank", Where::By([0.1, 0.0, 0.0])).ask(&files);
    assert!(again.unwrap_err().to_string().contains("--moved"));
}

#[test]
fn bad_input_what_is_no_such_file_says_so() {
    let files = demo();
    let failure = weigh::Question { readings: "tracks/airfield.toml".into() }.read(&files).unwrap_err();
    assert_eq!(failure.to_string(), "tracks/airfield.toml: this is a track; scale readings are due");
    assert_eq!(failure.why.kind(), Kind::Question);
    let failure = from::Question::new(["none.csv"], "made.toml").read(&files).unwrap_err();
    assert_eq!((failure.to_string().as_str(), failure.why.kind()), ("none.csv: no such file", Kind::File));
}
