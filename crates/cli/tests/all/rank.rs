//! `unladen rank` end to end, on the demo data.

use crate::common::{CAR, command, root, unladen};

const TRACK: &str = "tracks/carpark.toml";
const QUICK: [&str; 6] = ["rank", CAR, TRACK, "--as-set", "--samples", "32"];

fn rank(more: &[&str]) -> crate::common::Run {
    unladen(&[&QUICK[..], more].concat())
}

#[test]
fn end_to_end_json_csv_and_plot() {
    let folder = tempfile::tempdir().unwrap();
    let [csv, svg] = ["r.csv", "r.svg"].map(|name| folder.path().join(name).display().to_string());
    let run = rank(&["--item", "bonnet", "--item", "wheels", "--json", "--csv", &csv, "--plot", &svg]);
    let json = run.json();
    let names: Vec<&str> = json["items"].as_array().unwrap().iter().map(|i| i["name"].as_str().unwrap()).collect();
    assert!(names.contains(&"bonnet") && names.contains(&"wheels") && names.contains(&"bonnet pins"), "{names:?}");
    for item in json["items"].as_array().unwrap() {
        let at = |key: &str| item[key].as_f64().unwrap();
        let interval = |i: usize| item["gain_interval_90_s"][i].as_f64().unwrap();
        assert!(interval(0) <= at("gain_median_s") && at("gain_median_s") <= interval(1), "{item}");
        let parts: f64 = item["where"].as_object().unwrap().values().map(|v| v.as_f64().unwrap()).sum();
        assert!((parts - at("gain_s")).abs() < 1e-9, "{item}");
    }
    let bonnet = json["items"].as_array().unwrap().iter().find(|i| i["name"] == "bonnet").unwrap();
    assert_eq!(bonnet["rows"], serde_json::json!(["bonnet", "bonnet pins"]));
    assert!((bonnet["change_kg"].as_f64().unwrap() + 9.9).abs() < 1e-9 && bonnet["cost"] == 730.0);
    // 10 kg, fuel, driver, grip, power, drag.
    assert_eq!(json["for_scale"].as_array().unwrap().len(), 6);
    let rows = std::fs::read_to_string(&csv).unwrap();
    assert_eq!(rows.lines().count(), 1 + names.len() + 6);
    assert!(std::fs::read_to_string(&svg).unwrap().contains("data-part=\"bars\""));
}

#[test]
fn end_to_end_threads_change_no_byte() {
    let run = |threads: &str| {
        let args = [&QUICK[..], &["--item", "bonnet", "--item", "windscreen", "--json"]].concat();
        let output = command(&args).env("RAYON_NUM_THREADS", threads).output().unwrap();
        assert!(output.status.success());
        output.stdout
    };
    assert_eq!(run("1"), run("2"));
}

#[test]
fn end_to_end_the_best_set_meets_its_budget() {
    let run = rank(&[
        "--item", "bonnet", "--item", "wheels", "--item", "boot lid", "--budget", "1300", "--hours", "9", "--json",
    ]);
    let best = &run.json()["best"];
    for set in best["sets"].as_array().unwrap() {
        assert!(set["cost"].as_f64().unwrap() <= 1300.0 && set["hours"].as_f64().unwrap() <= 9.0, "{set}");
        let items = set["items"].as_array().unwrap();
        assert!(!items.contains(&"bonnet".into()) || items.contains(&"bonnet pins".into()), "{set}");
    }
    assert_eq!(best["exact"], true);
    let text = rank(&["--item", "starter motor", "--target", "1000kg"]);
    assert!(text.out.contains("No set meets the target"), "{}", text.out);
}

#[test]
fn bad_input_names_and_sets() {
    rank(&["--item", "bonet"]).refused(2, &["bonet", "did you mean `bonnet`?"]);
    rank(&["--keep", "rear bench"]).refused(2, &["rear bench", "it is done"]);
    rank(&["--keep", "tank of 45 L", "--keep", "tank of 60 L"]).refused(2, &["exclude each other"]);
    rank(&["--target", "1150"]).refused(2, &["target.mass", "a unit is due"]);
    unladen(&["rank", "vehicles/saloon-rwd", TRACK]).refused(2, &["nothing is planned"]);
}

#[test]
fn bad_input_a_place_outside_the_car() {
    let folder = tempfile::tempdir().unwrap();
    for file in ["car.toml", "ledger.csv", "areas.csv"] {
        std::fs::copy(root().join(CAR).join(file), folder.path().join(file)).unwrap();
    }
    let ledger = folder.path().join("ledger.csv");
    let text = std::fs::read_to_string(&ledger).unwrap();
    std::fs::write(&ledger, text.replace("idea,4.6,250,200,350", "idea,4.6,9250,200,350")).unwrap();
    let car = folder.path().display().to_string();
    unladen(&["rank", &car, TRACK]).refused(2, &["starter motor", "outside the car", "ledger.csv"]);
}
