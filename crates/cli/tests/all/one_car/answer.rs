//! One car, one answer: the same question through every command that can answer it, to the last digit.

use serde_json::Value;
use unladen_testkit::parts;

use crate::common::{Run, root, unladen};

const CAR: &str = "vehicles/saloon-awd";
const TRACK: &str = "tracks/carpark.toml";

#[track_caller]
fn asked(args: &[&str], more: &[&str]) -> Value {
    let run: Run = unladen(&[args, more, &["--json"]].concat());
    assert_eq!(run.code, Some(0), "{args:?} {more:?}: {}", run.err);
    run.json()
}

fn number(json: &Value, path: &str) -> f64 {
    json.pointer(path).and_then(Value::as_f64).unwrap_or_else(|| panic!("{path} in {json}"))
}

fn lap(car: &str, more: &[&str]) -> Value {
    asked(&["lap", car, TRACK], more)
}

fn time(car: &str, more: &[&str]) -> f64 {
    number(&lap(car, more), "/lap_time_s")
}

fn compared(car: &str, more: &[&str]) -> Value {
    // As the track's file has it.
    let quick = ["--grip", "0.92", "--samples", "16", "--map-power", "0.9..1.1:2", "--map-grip", "0.9..1.1:2"];
    asked(&[&["compare", car, car, TRACK][..], &quick].concat(), more)
}

fn ranked(car: &str, item: &str, more: &[&str]) -> Value {
    asked(&["rank", car, TRACK, "--item", item, "--as-set", "--samples", "32"], more)
}

fn moved(car: &str, more: &[&str]) -> Value {
    let to = ["--item", "battery", "--to", "400,-350,330", "--samples", "16", "--steps", "1"];
    asked(&[&["move", car, TRACK][..], &to].concat(), more)
}

/// With the fuel that the car laps with in every other answer.
fn usual(moved: &Value) -> &Value {
    let loads = moved["loads"].as_array().unwrap();
    loads.iter().find(|load| (number(load, "/fuel_m3") - 0.030).abs() < 1e-12).unwrap()
}

/// In every state, changed or not: lap, worth, sweep, rank, move and compare lap one car in one time.
#[test]
fn end_to_end_a_car_has_one_lap_time_and_one_mass() {
    let states: [&[&str]; 6] = [
        &[],
        &["--as", "weighed"],
        &["--as", "planned"],
        &["--with", "bonnet", "--without", "driver's seat"],
        &["--with", "instructor", "--without", "passenger's seat"],
        &["--set", "mass.total-=100kg", "--set", "tyres.front.peak_friction_lat*=1.05"],
    ];
    let turn = parts::seeds(0..states.len() as u64, 3);
    let mut times = Vec::new();
    for (i, state) in states.into_iter().enumerate() {
        let own = lap(CAR, state);
        let want = (number(&own, "/lap_time_s"), number(&own, "/state/mass_kg"));
        times.push(want.0);
        if !turn.contains(&(i as u64)) {
            continue;
        }
        let worth = asked(&["worth", CAR, TRACK], state);
        let swept = asked(&["sweep", CAR, TRACK, "--mass", "1200kg..1210kg:2"], state);
        let (ranked, moved, compared) = (ranked(CAR, "bumper beam", state), moved(CAR, state), compared(CAR, state));
        for (of, json, time, mass) in [
            ("worth", &worth, "/tracks/0/lap_time_s", "/state/mass_kg"),
            ("worth, mix", &worth, "/mix/lap_time_s", "/state/mass_kg"),
            ("sweep", &swept, "/as_it_stands/lap_time_s", "/state/mass_kg"),
            ("rank", &ranked, "/lap_time_s", "/mass_kg"),
            ("move", usual(&moved), "/lap_time_before_s", "/before/mass_kg"),
            ("compare, A", &compared, "/days/0/as_set/lap_time_first_s", "/first/mass_kg"),
            ("compare, B", &compared, "/days/0/as_set/lap_time_second_s", "/second/mass_kg"),
        ] {
            assert_eq!((number(json, time), number(json, mass)), want, "{of} {state:?}");
        }
        for json in [&worth, &swept, &ranked, &moved, &compared["first"], &compared["second"]] {
            assert_eq!(json["state"], own["state"], "{state:?}");
        }
        for (key, swept_as) in [
            ("s_per_kg", "s_per_kg"),
            ("s_per_mm_height", "s_per_mm_height"),
            ("s_per_mm_rearward", "s_per_mm_rearward"),
        ] {
            let slope = number(&worth["tracks"][0], &format!("/{key}"));
            assert_eq!(slope, number(&swept["as_it_stands"], &format!("/{swept_as}")), "{key} {state:?}");
        }
    }
    times.sort_by(f64::total_cmp);
    assert!(times.windows(2).all(|w| w[1] - w[0] > 1e-3), "each state is a car of its own: {times:?}");
}

#[test]
fn end_to_end_a_row_has_one_effect() {
    let own = time(CAR, &[]) - time(CAR, &["--with", "boot lid"]);
    let item = &ranked(CAR, "boot lid", &[])["items"][0];
    assert_eq!(number(item, "/gain_s"), own);
    assert_eq!(number(&compared(CAR, &["--with-second", "boot lid"]), "/days/0/as_set/gain_s"), own);
    // What was done, taken out again, costs what it had gained.
    let without = &["--without", "exhaust silencers"];
    let back = number(&ranked(CAR, "exhaust silencers", without), "/items/0/gain_s");
    assert_eq!(back, time(CAR, without) - time(CAR, &[]));
    // A group goes as a whole, and a row brings what it needs.
    let needs = lap(CAR, &["--with", "bonnet"]);
    assert!(needs["state"]["rows_on"].as_array().unwrap().contains(&"bonnet pins".into()));
}

/// A move, and the same as a row of the ledger.
#[test]
fn end_to_end_a_move_has_one_effect() {
    let folder = tempfile::tempdir().unwrap();
    let from = root().join(CAR);
    // Its ledger names the sister car.
    let copied = |of: &str, name: &str| {
        let to = folder.path().join(of);
        std::fs::create_dir_all(&to).unwrap();
        std::fs::copy(from.with_file_name(of).join(name), to.join(name)).unwrap();
    };
    for (of, name) in [("saloon-awd", "car.toml"), ("saloon-awd", "areas.csv"), ("saloon-rwd", "car.toml")] {
        copied(of, name);
    }
    let own = folder.path().join("saloon-awd");
    let ledger = std::fs::read_to_string(from.join("ledger.csv")).unwrap();
    let row = "battery forward,engine bay,planned,6.1,1900,-350,330,6.1,400,-350,330";
    std::fs::write(own.join("ledger.csv"), format!("{ledger}{row},,weighed,bench,,,,,,,,,\n")).unwrap();
    let car = own.to_str().unwrap();
    let (before, after) = (time(car, &[]), time(car, &["--with", "battery forward"]));
    let moved = moved(car, &[]);
    let load = usual(&moved);
    assert_eq!((number(load, "/lap_time_before_s"), number(load, "/lap_time_after_s")), (before, after));
    assert_eq!(number(&ranked(car, "battery forward", &[]), "/items/0/gain_s"), before - after);
}

#[test]
fn end_to_end_a_changed_value_has_one_effect() {
    for set in ["mass.cg_height+=30mm", "driveline.final_drive*=1.05", "aero.drag_area=0.6m2"] {
        let own = time(CAR, &[]) - time(CAR, &["--set", set]);
        let compared = compared(CAR, &["--set-second", set]);
        assert_eq!(number(&compared, "/days/0/as_set/gain_s"), own, "{set}");
        let key = set.split(['+', '*', '=']).next().unwrap();
        let differs = compared["differs"].as_array().unwrap();
        assert!(differs.len() == 1 && differs[0]["what"] == key, "{differs:?}");
    }
    assert_eq!(time(CAR, &["--set", "mass.cg_height+=30mm"]), time(CAR, &["--set", "mass.cg_height=522mm"]));
}

/// What is not known of a car is not known of its changed copy alike: these are decided.
#[test]
fn end_to_end_a_change_of_an_uncertain_number_gets_a_verdict() {
    let grip: Vec<String> = ["front", "rear"]
        .iter()
        .flat_map(|axle| ["lat", "long"].map(|way| format!("tyres.{axle}.peak_friction_{way}*=1.05")))
        .flat_map(|set| ["--set-second".to_owned(), set])
        .collect();
    let grip: Vec<&str> = grip.iter().map(String::as_str).collect();
    let lighter = ["--set-second", "mass.total-=100kg", "--set-second", "mass.cg_height+=30mm"];
    for sets in [&grip[..], &lighter] {
        let found = compared(CAR, sets);
        let day = &found["days"][0]["as_set"];
        let [least, most] = [0, 1].map(|i| number(day, &format!("/gain_interval_90_s/{i}")));
        assert!(least > 0.0 || most < 0.0, "{sets:?}: {least} to {most}");
        assert!(found["unknowns"].as_array().unwrap().iter().all(|u| u["shared"] == true), "{sets:?}");
    }
    let stated = compared(CAR, &["--set-second", "tyres.front.peak_friction_lat=1.24 ± 0.02"]);
    let own = stated["unknowns"].as_array().unwrap().iter().filter(|u| u["shared"] == false).count();
    assert_eq!(own, 2, "a ± of its own is an unknown of its own");
}

#[test]
fn bad_input_states_and_names() {
    let refused = |args: &[&str], words: &[&str]| unladen(&[&["lap", CAR, TRACK][..], args].concat()).refused(2, words);
    refused(&["--as", "planed"], &["did you mean `planned`", "weighed, now, planned, planned+ideas"]);
    refused(&["--with", "bonet"], &["--with bonet", "did you mean `bonnet`?"]);
    refused(&["--without", "instructr"], &["did you mean `instructor`?"]);
    refused(&["--with", "bonnet", "--without", "bonnet"], &["both with and without"]);
    refused(&["--set", "mass.cg_height=+30mm"], &["no plus sign", "--set mass.cg_height+=30mm"]);
    refused(&["--set", "mass.cg_height+=30"], &["a unit is due"]);
    refused(&["--set", "fuel.on_track*=9"], &["do not fit"]);
    refused(&["--set", "aboard.instructor.mas=9kg"], &["did you mean `aboard.instructor.mass`?"]);
    unladen(&["compare", CAR, CAR, TRACK, "--as", "now,then"]).refused(2, &["--as then"]);
    unladen(&["compare", CAR, "vehicles/saloon-rwd", TRACK, "--with", "bonnet"]).refused(2, &["--with bonnet"]);
}
