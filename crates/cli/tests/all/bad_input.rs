//! Bad input: a clear message and exit code, never a panic, never a number that means nothing.

use crate::common::{CAR, CIRCUIT, Folder, OPEN, TRACK, unladen};

const HILL: &str = "tracks/hillclimb.toml";

/// A lap of the demo saloon on a course of these rows.
#[track_caller]
fn refused_course(head: &str, rows: &str, code: i32, words: &[&str]) {
    let folder = Folder::new();
    let track = folder.course(head, rows);
    for command in ["lap", "worth"] {
        unladen(&[command, CAR, &track, "--json"]).refused(code, words);
    }
}

#[test]
fn bad_input_files_that_are_none() {
    let folder = Folder::new();
    let empty = folder.write("empty.toml", "");
    let junk = folder.write("junk.toml", (0..=255u8).cycle().take(4096).collect::<Vec<_>>());
    for (path, words) in [
        (folder.path("no.toml"), "no such file"),
        (folder.path(""), "a directory, not a file"),
        (empty, "empty"),
        (junk, "not text: byte 128"),
    ] {
        let (car, track) = (unladen(&["lap", &path, TRACK]), unladen(&["worth", CAR, &path]));
        car.refused(2, &[words]);
        track.refused(2, &[words]);
        unladen(&["check", &path]).refused(2, &[words]);
    }
}

#[test]
fn bad_input_every_file_s_faults_at_once() {
    let folder = Folder::new();
    let track = folder.course(OPEN, "0,0,0,0,0,0,0\n100,nan,0,0,0,0,0\n");
    let run = unladen(&["lap", CAR, &track, "--set", "mass.total=-5kg", "--set", "grip=9"]);
    run.refused(2, &["mass.total: -5 kg is outside", "grip: 9 is outside", "length_m: 0", "not a finite number"]);
    let run = unladen(&["lap", CAR, TRACK, "--set", "mass.totl=5kg", "--set", "x"]);
    run.refused(2, &["did you mean `mass.total`?", "KEY=VALUE is due"]);
}

#[test]
fn bad_input_tracks() {
    refused_course(OPEN, "0,0,0,0,0,0,0\n", 2, &["length_m", "t.csv:2:1"]);
    refused_course(OPEN, "", 2, &["no segments"]);
    refused_course(CIRCUIT, "300,0,0,0,0,0,0\n", 2, &["does not close", "position 300.00 m"]);
    // A kink of 180° within a centimetre.
    refused_course(OPEN, "100,0,0,0,0,0,0\n0.01,314.159,314.159,0,0,0,0\n", 2, &["curvature_start_1pm: 314.159"]);
    refused_course(OPEN, "100,NaN,0,0,0,0,0\n", 2, &["curvature_start_1pm: not a finite number"]);
    refused_course(
        OPEN,
        "100,0,0,0,0,0,0\n100,0,0,5,5,0,0\n",
        2,
        &["segment 2: grade steps from 0.0000 % to 5.0000 %"],
    );
    refused_course(CIRCUIT, "500,0,0,0,0,0,0\n100,0.01,0.01,0,0,0,0\n", 2, &["does not close", "heading +57.30°"]);
    refused_course(CIRCUIT, "628.3185307,0.01,0.01,1,1,0,0\n", 2, &["does not close", "height +6.28 m"]);
    let fast = "closed = false\nstart_speed = \"300 km/h\"\n";
    refused_course(
        fast,
        "20,0,0,0,0,0,0\n100,0.05,0.05,0,0,0,0\n",
        2,
        &["start_speed 300.0 km/h is more than", "at most"],
    );
    // A million segments.
    refused_course(OPEN, &"1,0,0,0,0,0,0\n".repeat(1_000_000), 2, &["at most 500000", "join those that are short"]);
    let long = "90000,0,0,0,0,0,0\n".repeat(20);
    refused_course(OPEN, &long, 2, &["stations", "give a larger --step"]);
}

#[test]
fn end_to_end_one_segment_is_a_track() {
    let folder = Folder::new();
    let track = folder.course(OPEN, "300,0,0,0,0,0,0\n");
    let run = unladen(&["lap", CAR, &track, "--json"]);
    run.quiet();
    assert!(run.json()["lap_time_s"].as_f64().unwrap() > 5.0);
    assert_eq!(unladen(&["worth", CAR, &track]).code, Some(0));
}

#[test]
fn bad_input_cars_that_get_nowhere() {
    // A wall of 75° on a straight: nothing holds the car there.
    refused_course(OPEN, "50,0,0,0,0,0,0\n100,0,0,0,0,0,75\n100,0.01,0.01,0,0,75,75\n", 1, &["no speed is possible"]);
    let set = |value: &str, track: &str| unladen(&["lap", CAR, track, "--json", "--set", value]);
    set("driveline.final_drive=0.05", HILL).refused(1, &["the car cannot move off"]);
    let folder = Folder::new();
    let cliff = folder.course(OPEN, "50,0,0,0,0,0,0\n100,0,0,0,60,0,0\n300,0,0,60,60,0,0\n");
    set("driveline.final_drive=1", &cliff).refused(1, &["the car comes to rest", "grip or power does not suffice"]);
    // Nose-heavy beyond its wheels.
    set("mass.cg_x=-200mm", HILL).refused(1, &["no speed is possible"]);
}

/// It rolls over before it slides: warned of, and the lap says where that rules.
#[test]
fn bad_input_a_car_that_rolls_over_before_it_slides() {
    let run = unladen(&["lap", CAR, HILL, "--as", "weighed", "--set", "mass.cg_height=1500mm", "--json"]);
    assert_eq!(run.code, Some(0), "{}", run.err);
    assert!(run.err.contains("rolls over at 0.50 g, before it slides"), "{}", run.err);
    assert!(run.json()["limits"]["rollover"].as_f64().unwrap() > 0.0, "{}", run.out);
}

/// A gap of gears that it can't bridge: warned of, and either a lap or a reason, but no number that means nothing.
#[test]
fn bad_input_a_gear_gap() {
    for gears in ["[9, 0.3]", "[3.4, 0.2]", "[3.4, 2.2, 0.1]"] {
        for track in [TRACK, HILL] {
            let run = unladen(&["lap", CAR, track, "--json", "--set", &format!("driveline.gears={gears}")]);
            assert!(run.err.contains("the ratio falls by a factor of"), "{}", run.err);
            match run.code {
                Some(0) => {
                    let time = run.json()["lap_time_s"].as_f64().unwrap();
                    assert!((50.0..2000.0).contains(&time), "{gears} {track}: {time}");
                }
                code => assert_eq!((code, run.out.as_str()), (Some(1), ""), "{}", run.err),
            }
        }
    }
}

#[test]
fn bad_input_arguments() {
    for (args, words) in [
        (&["lap", CAR][..], "<TRACK>"),
        (&["worth", CAR], "TRACK[=WEIGHT]"),
        (&["lap", CAR, TRACK, "--step", "0"], "0 m is outside 0.05 to 50 m"),
        (&["lap", CAR, TRACK, "--step", "-1"], "-1 m is outside"),
        (&["lap", CAR, TRACK, "--step", "fine"], "a number of metres is due"),
        (&["lap", CAR, TRACK, "--grip", "nan"], "not a finite number"),
        (&["lap", CAR, TRACK, "--grip", "-1"], "-1 is outside"),
        (&["lap", CAR, TRACK, "--grip", "wet"], "invalid value 'wet'"),
        (&["lap", CAR, TRACK, "--set", "mass.total=1200"], "write \"1200 kg\""),
        (&["lap", CAR, TRACK, "--set", "name=x"], "in both kinds of file"),
        (&["worth", CAR, "tracks/airfield.toml=0"], "a number above 0"),
        (&["worth", CAR, "tracks/airfield.toml=heavy"], "a number above 0"),
        (&["worth", CAR, "tracks/airfield.toml=nan"], "a number above 0"),
        (&["schema", "cat"], "possible values: car, track"),
        (&["check"], "<FILES>"),
        (&["frobnicate"], "unrecognized subcommand"),
        (&[], "Usage: unladen"),
    ] {
        unladen(args).refused(2, &[words]);
    }
}
