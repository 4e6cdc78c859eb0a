//! Every command on every demo car and track.

use crate::common::{CAR, Folder, TRACK, cars, root, tracks, unladen};
use serde_json::Value;
use unladen_testkit::parts;

fn keys(value: &Value) -> Vec<&str> {
    value.as_object().unwrap().keys().map(String::as_str).collect()
}

fn sorted<'a>(names: &[&'a str]) -> Vec<&'a str> {
    let mut names = names.to_vec();
    names.sort_unstable();
    names
}

/// Every number of a JSON value.
fn numbers(value: &Value) -> Vec<f64> {
    match value {
        Value::Number(n) => vec![n.as_f64().unwrap()],
        Value::Array(list) => list.iter().flat_map(numbers).collect(),
        Value::Object(map) => map.values().flat_map(numbers).collect(),
        _ => vec![],
    }
}

const LAP: [&str; 9] = [
    "lap_time_s",
    "lap_time_error_s",
    "lap_time_interval_90_s",
    "length_m",
    "top_speed_mps",
    "min_speed_mps",
    "limits",
    "sectors",
    "state",
];
const COLUMNS: &str = "s_m,t_s,v_mps,ax_mps2,ay_mps2,gear,limit,load_fl_n,load_fr_n,load_rl_n,load_rr_n";
const WORTH: [&str; 4] = ["s_per_kg", "s_per_mm_height", "s_per_mm_rearward", "s_per_mm_right"];

/// Keys and columns are those of `docs/files.md`; the trace ends with the lap, and its text says the same time.
#[test]
fn end_to_end_lap_on_every_demo() {
    for car in cars() {
        for track in tracks() {
            let folder = Folder::new();
            let (csv, plot) = (folder.path("lap.csv"), folder.path("lap.svg"));
            let run = unladen(&["lap", &car, &track, "--json", "--csv", &csv, "--plot", &plot]);
            run.quiet();
            let lap = run.json();
            assert_eq!(keys(&lap), sorted(&LAP), "{car} {track}");
            let number = |key: &str| lap[key].as_f64().unwrap();
            assert!(number("lap_time_error_s") < 0.02 && number("lap_time_s") > 15.0, "{car} {track}: {lap}");
            assert!((numbers(&lap["limits"]).iter().sum::<f64>() - 1.0).abs() < 1e-9);
            let sectors = lap["sectors"].as_array().unwrap();
            let sum: f64 = sectors.iter().map(|s| s["time_s"].as_f64().unwrap()).sum();
            assert!((sum - number("lap_time_s")).abs() < 1e-6, "places cover the demo tracks: {sum}");

            let csv = std::fs::read_to_string(csv).unwrap();
            let mut lines = csv.lines();
            assert_eq!(lines.next().unwrap(), COLUMNS);
            let last: Vec<&str> = lines.next_back().unwrap().split(',').collect();
            let close = |text: &str, value: f64| (text.parse::<f64>().unwrap() - value).abs() < 1e-6;
            assert!(close(last[0], number("length_m")) && close(last[1], number("lap_time_s")), "{last:?}");
            assert!(std::fs::read_to_string(plot).unwrap().starts_with("<svg "));
            assert_eq!(folder.names(), ["lap.csv", "lap.svg"]);

            let text = unladen(&["lap", &car, &track, "--detail"]);
            assert!(text.quiet().contains(&format!("{:.3} s", number("lap_time_s"))), "{}", text.out);
        }
    }
}

/// Each demo car on all tracks at once.
#[test]
fn end_to_end_worth_on_every_demo() {
    let all = cars();
    let turn = parts::seeds(0..all.len() as u64, all.len() as u64);
    for car in &all[turn.start as usize..turn.end as usize] {
        let folder = Folder::new();
        let (csv, plot) = (folder.path("worth.csv"), folder.path("worth.svg"));
        let mut args = vec!["worth".to_owned(), car.clone()];
        args.extend(tracks());
        args.extend(["--csv", &csv, "--plot", &plot].map(String::from));
        let json: Vec<String> = args.iter().cloned().chain(["--json".into()]).collect();
        let found = unladen(&json);
        assert_eq!(found.code, Some(0), "{}", found.err);
        let found = found.json();
        assert_eq!(keys(&found), ["measure_next", "mix", "state", "tracks"]);
        let each = found["tracks"].as_array().unwrap();
        assert_eq!(each.len(), tracks().len());
        for worth in each.iter().chain([&found["mix"]]) {
            let mut due: Vec<String> =
                ["places", "track", "lap_time_s", "lap_time_s_sd", "lap_time_s_interval_90"].map(String::from).to_vec();
            due.extend(
                WORTH.iter().flat_map(|key| [key.to_string(), format!("{key}_sd"), format!("{key}_interval_90")]),
            );
            let kinks = WORTH.iter().map(|key| format!("{key}_one_sided"));
            due.extend(kinks.filter(|key| worth.get(key).is_some()));
            due.sort();
            assert_eq!(keys(worth), due, "{car}");
            let places = worth["places"].as_array().unwrap();
            let whole = |p: &Value| p["at_m"].as_array().is_some_and(|at| at.len() == 3) && p["s_per_kg"].is_number();
            assert!(places.len() >= 5 && places.iter().all(whole), "{car}: {places:?}");
            // Weight costs time, and the more the higher it sits.
            assert!(worth["s_per_kg"].as_f64().unwrap() > 0.0 && worth["s_per_mm_height"].as_f64().unwrap() > 0.0);
        }
        let mean = |key: &str| each.iter().map(|w| w[key].as_f64().unwrap()).sum::<f64>() / each.len() as f64;
        for key in WORTH {
            assert!((found["mix"][key].as_f64().unwrap() - mean(key)).abs() < 1e-12, "{key}");
        }

        // The last line of each track is the whole lap.
        let csv = std::fs::read_to_string(&csv).unwrap();
        let mut reader = csv::Reader::from_reader(csv.as_bytes());
        assert_eq!(reader.headers().unwrap().iter().take(3).collect::<Vec<_>>(), ["track", "s_m", "s_per_kg"]);
        assert_eq!(reader.headers().unwrap().len(), 12);
        let rows: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
        for worth in each {
            let last = rows.iter().rfind(|row| row[0] == worth["track"]).unwrap();
            assert!((last[2].parse::<f64>().unwrap() - worth["s_per_kg"].as_f64().unwrap()).abs() < 1e-12);
        }
        assert!(std::fs::read_to_string(&plot).unwrap().matches("<svg ").count() == 1 + each.len());

        let two = tracks().into_iter().take(2);
        let args: Vec<String> =
            ["worth".into(), car.clone()].into_iter().chain(two).chain(["--detail".into()]).collect();
        let text = unladen(&args);
        assert_eq!(text.code, Some(0));
        for words in ["10 kg more, at the centre of gravity", "1 kg here costs", "Driver's seat", "Not modelled", "mix"]
        {
            assert!(text.out.contains(words), "{words}\n{}", text.out);
        }
    }
}

#[test]
fn end_to_end_pictures_in_both_formats() {
    let folder = Folder::new();
    for command in ["lap", "worth"] {
        let plot = folder.path(&format!("{command}.PNG"));
        unladen(&[command, CAR, TRACK, "--plot", &plot]).quiet();
        assert!(std::fs::read(&plot).unwrap().starts_with(b"\x89PNG\r\n"));
    }
}

#[test]
fn end_to_end_check_finds_the_demo_files_sound() {
    let csv = tracks().iter().map(|t| t.replace(".toml", ".csv")).collect::<Vec<_>>();
    let files: Vec<String> = ["check".to_owned()].into_iter().chain(cars()).chain(tracks()).chain(csv).collect();
    let run = unladen(&files);
    // Of a car's folder all that belongs to it.
    let held = |car: &String| std::fs::read_dir(root().join(car)).unwrap().count();
    let due = cars().iter().map(held).sum::<usize>() + 2 * tracks().len();
    assert_eq!(run.quiet().matches("no faults\n").count(), due, "{}", run.out);
}

#[test]
fn end_to_end_schemas_are_json_and_name_every_table() {
    let schema = |kind: &str| {
        let run = unladen(&["schema", kind]);
        run.quiet();
        run.json()
    };
    for table in ["mass", "chassis", "tyres", "engine", "driveline", "brakes"] {
        assert!(schema("car")["properties"].get(table).is_some(), "{table}");
    }
    assert!(schema("track")["properties"].get("segments").is_some());
}

/// `--set` and `--grip` reach the lap, a weight the mix, and a folder is its car.toml.
#[test]
fn end_to_end_values_of_one_run() {
    let time = |args: &[&str]| {
        let mut all = vec!["lap", CAR, TRACK, "--json"];
        all.extend(args);
        let run = unladen(&all);
        assert_eq!(run.code, Some(0), "{}", run.err);
        run.json()["lap_time_s"].as_f64().unwrap()
    };
    let plain = time(&[]);
    assert!(time(&["--set", "mass.total=1184kg"]) < plain - 0.5);
    assert!(time(&["--set", "mass.total=1184kg", "--set", "mass.total=1284 kg"]) == plain);
    assert!(time(&["--grip", "0.6"]) > plain + 5.0);
    assert_eq!(time(&["--grip", "0.6"]), time(&["--set", "grip=0.6"]));
    assert!(time(&["--set", "air.altitude=2000 m"]) != plain);
    assert!((time(&["--step", "1"]) - plain).abs() < 0.01 && time(&["--step", "1 m"]) != plain);

    let mix = |a: &str, b: &str| {
        let run = unladen(&["worth", CAR, a, b, "--json"]);
        assert_eq!(run.code, Some(0), "{}", run.err);
        run.json()
    };
    let found = mix("tracks/airfield.toml=3", "tracks/hillclimb.toml");
    let of = |i: usize| found["tracks"][i]["s_per_kg"].as_f64().unwrap();
    let share = found["mix"]["s_per_kg"].as_f64().unwrap();
    assert!((share - (0.75 * of(0) + 0.25 * of(1))).abs() < 1e-12);
    assert_eq!(unladen(&["lap", CAR, TRACK]).out, unladen(&["lap", &format!("{CAR}/car.toml"), TRACK]).out);
}

/// A place of one's own is a row of the text and a column of the CSV.
#[test]
fn end_to_end_a_kilogram_anywhere() {
    let folder = Folder::new();
    let csv = folder.path("worth.csv");
    let run = unladen(&["worth", CAR, TRACK, "--at", "tow hook=-700,0,300", "--csv", &csv]);
    let row = run.quiet().lines().find(|line| line.starts_with("Tow hook")).unwrap();
    assert!(row.contains("-700"), "{row}");
    assert!(std::fs::read_to_string(&csv).unwrap().lines().next().unwrap().ends_with(",s_per_kg_tow_hook"));
    unladen(&["worth", CAR, TRACK, "--at", "1,2"]).refused(2, &["a position is three numbers"]);
}

/// Warnings go to standard error and don't stop a run.
#[test]
fn end_to_end_warnings_beside_the_result() {
    let run = unladen(&["lap", CAR, TRACK, "--set", "tyres.front.peak_friction_lat=3", "--json"]);
    assert_eq!(run.code, Some(0));
    assert!(run.err.contains("tyres.front.peak_friction_lat: 3 is unusual"), "{}", run.err);
    assert_eq!(keys(&run.json()), sorted(&LAP));
}

/// Twice the same, to the byte: threads may finish in any order.
#[test]
fn property_results_repeat() {
    let run = || unladen(&["worth", "vehicles/mid-engine", "tracks/carpark.toml", "--json"]).out;
    assert_eq!(run(), run());
}

/// Each command's help has an example, and each example works.
#[test]
fn end_to_end_examples_of_the_help_work() {
    let help = |command: &str| unladen(&[command, "--help"]).quiet().to_owned();
    assert!(unladen(&["--help"]).quiet().contains("unladen worth vehicles/saloon-awd"));
    for command in ["lap", "worth", "check", "schema"] {
        let text = help(command);
        assert!(text.contains("Example") && text.contains(&format!("unladen {command} ")), "{text}");
    }
    let folder = Folder::new();
    let wet = folder.path("wet.svg");
    unladen(&["lap", "vehicles/mid-engine", "tracks/valley.toml", "--grip", "0.6", "--plot", &wet]).quiet();
    let worth = [
        "worth",
        "vehicles/saloon-rwd",
        "tracks/airfield.toml=3",
        "tracks/valley.toml=1",
        "--set",
        "fuel.on_track=15L",
    ];
    assert_eq!(unladen(&worth).code, Some(0));
}
