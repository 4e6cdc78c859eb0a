//! `move` and `compare`, end to end.

use crate::common::{CAR, Folder, TRACK, command, unladen};
use serde_json::Value;

const REAR: &str = "vehicles/saloon-rwd";
const UNRESOLVED: &str = "no difference that can be resolved";
/// Coarse and with few draws: what is tested here are the commands.
const QUICK: [&str; 4] = ["--step", "6", "--samples", "32"];

fn with<'a>(args: &[&'a str], more: &[&'a str]) -> Vec<&'a str> {
    args.iter().chain(more).copied().collect()
}

const TANK: [&str; 7] = ["move", CAR, TRACK, "--item", "fuel tank", "--to", "1950,0,210"];

fn number(value: &Value, path: &str) -> f64 {
    path.split('.').fold(value, |v, key| &v[key]).as_f64().unwrap_or_else(|| panic!("{path} in {value}"))
}

#[test]
fn end_to_end_move_the_tank() {
    let folder = Folder::new();
    let (csv, plot) = (folder.path("m.csv"), folder.path("m.svg"));
    let extra = ["--box", "500,750,180", "--empty-tank", "9kg,12kg", "--added-mass", "bulkhead=4 ± 0.5 kg@1650,0,600"];
    let stint = ["--stint", "55L..5L", "--added-mass", "lines=-1.2kg", "--csv", &csv, "--plot", &plot];
    let args = with(&with(&with(&TANK, &QUICK), &extra), &stint);
    let text = unladen(&with(&args, &["--detail"]));
    for words in [
        "12 rows of the ledger",
        "Bulkhead",
        "re-tuned",
        "balance drift",
        "rollover margin",
        "axle loads",
        "On the stopwatch",
        "A lap over a stint",
        "bladder",
        "inspected",
        "bulkhead",
        "Not modelled",
    ] {
        assert!(text.quiet().split_whitespace().collect::<Vec<_>>().join(" ").contains(words), "{words}\n{}", text.out);
    }
    assert_eq!(text.out.matches("SAFETY").count(), 1, "{}", text.out);
    let json = unladen(&with(&args, &["--json"])).json();
    let loads = json["loads"].as_array().unwrap();
    // Five, and what the car laps with in every other answer.
    assert_eq!(loads.len(), 6);
    assert!((number(&json, "added_mass_kg") - (3.0 + 4.0 - 1.2)).abs() < 1e-12);
    // Full by the smaller box, 67.5 L; the fuel's centre follows its level: 45 mm deep for a quarter of it in the new
    // box.
    assert!((number(&loads[0], "fuel_m3") - 0.0675).abs() < 1e-12 && number(&loads[5], "fuel_m3") == 0.0);
    let dry = number(&loads[5], "after.mass_kg");
    for load in loads {
        let fuel = number(load, "fuel_m3");
        let (m, z) = (number(load, "after.mass_kg"), number(load, "after.cg_height_m"));
        assert!((m - dry - 745.0 * fuel).abs() < 1e-9);
        let moment = dry * number(&loads[5], "after.cg_height_m") + 745.0 * fuel * (0.210 + 0.5 * fuel / (0.5 * 0.75));
        assert!((m * z - moment).abs() < 1e-9, "{load}");
    }
    for way in ["as_set", "retuned"] {
        let stint = &json["stint"][way];
        let gain = number(stint, "mean_before_s") - number(stint, "mean_after_s");
        assert!((gain - number(stint, "gain_s")).abs() < 1e-9);
        let interval = stint["gain_interval_90_s"].as_array().unwrap();
        assert!(interval[0].as_f64().unwrap() < interval[1].as_f64().unwrap());
        assert!(
            ["worth_it", "costs", "not_in_lap_time", "too_close_to_call"].contains(&stint["verdict"].as_str().unwrap())
        );
    }
    let drift = |side: &str| number(&json, &format!("stint.front_share_drift_{side}")).abs();
    assert!(drift("after") < drift("before"));
    let csv = std::fs::read_to_string(&csv).unwrap();
    assert!(csv.starts_with("fuel_l,lap_time_before_s,lap_time_after_s,gain_s,") && csv.lines().count() == 7, "{csv}");
    assert!(std::fs::read_to_string(&plot).unwrap().starts_with("<svg "));
}

/// To where it is already, and of nothing: no difference, to the last bit.
#[test]
fn end_to_end_moving_nothing_changes_nothing() {
    let here = ["move", CAR, TRACK, "--item", "Fuel tank", "--to", "2650,0,390", "--added-mass", "0kg@1000,0,300"];
    let json = unladen(&with(&with(&here, &QUICK), &["--json"])).json();
    assert_eq!((number(&json, "stint.as_set.gain_s"), number(&json, "stint.retuned.gain_s")), (0.0, 0.0));
    for load in json["loads"].as_array().unwrap() {
        assert_eq!(load["before"], load["after"]);
        assert_eq!(load["lap_time_before_s"], load["lap_time_after_s"]);
    }
    let text = unladen(&with(&here, &QUICK));
    assert!(text.quiet().contains(UNRESOLVED), "{}", text.out);
}

#[test]
fn end_to_end_move_an_item_of_the_ledger() {
    let args = ["move", CAR, TRACK, "--item", "battery", "--to", "-180,-420,760", "--stint", "40..10"];
    let json = unladen(&with(&with(&args, &QUICK), &["--json"])).json();
    assert_eq!(number(&json, "added_mass_kg"), 0.0);
    // 6.1 kg from 1900 to -180 mm, with 30 L aboard or none: Δx = −6.1 · 2.08/m.
    let load = &json["loads"][0];
    let shift = number(load, "after.cg_x_m") - number(load, "before.cg_x_m");
    assert!((shift + 6.1 * 2.08 / number(load, "before.mass_kg")).abs() < 1e-9, "{shift}");
    let text = unladen(&with(&args, &QUICK));
    assert!(text.quiet().contains("must hold in a crash") && !text.out.contains("bladder"), "{}", text.out);
}

#[test]
fn end_to_end_results_do_not_depend_on_threads() {
    let runs = ["1", "2"].map(|threads| {
        let tank = with(&with(&TANK, &QUICK), &["--json", "--steps", "2"]);
        let pair = with(&with(&["compare", CAR, REAR, TRACK], &QUICK), &["--json", "--map-power", "0.8..1.2:3"]);
        [tank, pair].map(|args| command(&args).env("RAYON_NUM_THREADS", threads).output().unwrap().stdout)
    });
    assert!(runs[0] == runs[1] && runs[0].iter().all(|out| out.len() > 1000));
}

#[test]
fn bad_input_move() {
    let tank = |more: &[&str]| unladen(&with(&with(&TANK, &QUICK), more));
    let item =
        |name: &str, more: &[&str]| unladen(&with(&["move", CAR, TRACK, "--item", name, "--to", "1000,0,300"], more));
    item("batery", &[]).refused(2, &["batery", "did you mean `battery`?"]);
    item("rear bench", &[]).refused(2, &["rear bench: not in the car by its ledger"]);
    item("battery", &["--box", "1,1,1"]).refused(2, &["of the fuel tank only"]);
    let away = ["move", CAR, TRACK, "--item", "fuel tank", "--to", "9000,0,210"];
    unladen(&away).refused(2, &["the new fuel box, x", "outside the car, which reaches from -1300 to 3870 mm"]);
    tank(&["--box", "500,3000,180"]).refused(2, &["the new fuel box, y", "outside the car"]);
    tank(&["--added-mass", "bulkhead=4kg@1650,0,9999"]).refused(2, &["bulkhead, z 9999 mm: outside the car"]);
    tank(&["--stint", "80L..5L"]).refused(2, &["do not fit a tank that holds"]);
    tank(&["--box", "500,750,60", "--stint", "40L..5L"]).refused(2, &["the new tank: 40 L do not fit"]);
    tank(&["--stint", "5L..40L"]).refused(2, &["from more fuel to less"]);
    tank(&["--stint", "5kg..4L"]).refused(2, &["no stint"]);
    tank(&["--box", "500,750"]).refused(2, &["inside of a box is three numbers"]);
    tank(&["--added-mass", "x=3 stone"]).refused(2, &["no mass (unknown unit `stone`)"]);
    tank(&["--empty-tank", "-3kg"]).refused(2, &["a tank weighs nothing or more"]);
    tank(&["--added-mass", "off=-5000kg"]).refused(2, &["leaves no mass"]);
    unladen(&["move", CAR, "tracks/none.toml", "--item", "fuel tank", "--to", "1950,0,210"])
        .refused(2, &["no such file"]);
    let bare = ["move", "vehicles/mid-engine", TRACK, "--item", "battery", "--to", "1000,0,300"];
    unladen(&bare).refused(2, &["ledger.csv: no such file"]);
}

#[test]
fn end_to_end_compare_all_wheel_with_rear_drive() {
    let folder = Folder::new();
    let [csv, map, plot] = ["c.csv", "map.csv", "c.svg"].map(|name| folder.path(name));
    let base = with(&with(&["compare", CAR, REAR, TRACK], &QUICK), &["--grip", "1.0,0.6", "--map-power", "0.8..1.2:3"]);
    let files = ["--map-grip", "0.4..1.0:4", "--csv", &csv, "--map-csv", &map, "--plot", &plot];
    let args = with(&base, &files);
    let json = unladen(&with(&args, &["--json"])).json();
    let days = json["days"].as_array().unwrap();
    assert_eq!(days.len(), 2);
    for day in days {
        // All of it is of the laps that count: re-tuned.
        let gain = number(day, "retuned.gain_s");
        let terms = day["terms"].as_array().unwrap();
        let sum: f64 = terms.iter().map(|t| number(t, "gain_s")).sum();
        assert!((sum - gain).abs() < 1e-9, "{sum} {gain}");
        let names: Vec<&str> = terms.iter().map(|t| t["term"].as_str().unwrap()).collect();
        assert_eq!(names, ["mass", "centre of gravity", "driveline loss", "rotating inertia", "traction", "chassis"]);
        let bends = day["tracks"][0]["bends"].as_array().unwrap();
        let along: f64 = bends.iter().map(|b| number(b, "gain_before_s") + number(b, "gain_after_s")).sum();
        assert!((along - gain).abs() < 1e-9, "{along} {gain}");
        assert!(number(day, "grip_factor_sd") > 0.005 && number(day, "power_factor_sd") == 0.0);
    }
    // Dry the lighter car is quicker; in the wet two driven wheels can't put it down.
    assert!(number(&days[0], "as_set.gain_s") > 0.0 && number(&days[1], "as_set.gain_s") < 0.0);
    let traction = |day: &Value| number(&day["terms"][4], "gain_s");
    assert!(traction(&days[1]) < traction(&days[0]) && traction(&days[1]) < -0.5);
    assert!((json["ledger"].as_array().unwrap().iter().map(|r| number(r, "mass_kg")).sum::<f64>() + 54.4).abs() < 1e-9);
    // A cell of the map is a lap with that grip, the cars set for the dry: there the engines as they are.
    let cells = json["crossover"]["cells"].as_array().unwrap();
    let at = |p: f64, g: f64| {
        cells
            .iter()
            .find(|c| (number(c, "power_factor") - p).abs() < 1e-9 && (number(c, "grip") - g).abs() < 1e-9)
            .unwrap()
    };
    let cell = at(1.0, 1.0);
    assert!((number(cell, "gain_s") - number(&days[0], "retuned.gain_s")).abs() < 1e-6, "{cell}");
    assert_eq!(json["crossover"]["over_grip"].as_array().unwrap().len(), 1);
    let text = unladen(&with(&args, &["--detail"]));
    for words in [
        "B's own ledger",
        "-54.4 in all, and -54.4 between",
        "least to most",
        "Where it turns",
        "centre or rear differential",
        "calibrated",
        "trusts",
    ] {
        assert!(text.quiet().split_whitespace().collect::<Vec<_>>().join(" ").contains(words), "{words}\n{}", text.out);
    }
    let lines = |path: &str| std::fs::read_to_string(path).unwrap().lines().count();
    assert_eq!(lines(&map), 1 + 12);
    assert!(lines(&csv) > 200);
    assert!(std::fs::read_to_string(&plot).unwrap().matches("<svg ").count() == 1 + 1 + 2 * 2);
}

#[test]
fn end_to_end_compare_a_car_with_itself() {
    let args =
        with(&with(&["compare", CAR, CAR, TRACK], &QUICK), &["--map-power", "0.8..1.2:3", "--map-grip", "0.6..1.0:3"]);
    let text = unladen(&with(&args, &["--detail"]));
    let flat = text.quiet().split_whitespace().collect::<Vec<_>>().join(" ");
    let alike = |day: &str| flat.contains(&format!("{day}, A and B are alike: {UNRESOLVED}"));
    assert!(alike("Dry") && alike("Wet"), "{flat}");
    assert!(
        flat.contains(&format!("over grip {UNRESOLVED}"))
            && !flat.contains("B is quicker")
            && !flat.contains("A is quicker"),
        "{flat}"
    );
    // One thing changed in the second car only.
    let json = unladen(&with(&args, &["--json", "--set-second", "driveline.efficiency=0.92"])).json();
    let terms = json["days"][0]["terms"].as_array().unwrap();
    assert!(terms.len() == 1 && terms[0]["term"] == "driveline loss" && number(&terms[0], "gain_s") > 0.1, "{terms:?}");
}

#[test]
fn bad_input_compare() {
    let run = |more: &[&str]| unladen(&with(&["compare", CAR, REAR, TRACK], more));
    run(&["--grip", "1.0,wet"]).refused(2, &["a list of grips is due"]);
    run(&["--grip", "0"]).refused(2, &["a list of grips is due"]);
    run(&["--map-grip", "1..0.3:5"]).refused(2, &["how many points are due", "0.3..1.2:10"]);
    run(&["--set-second", "driveline.efficency=0.9"]).refused(2, &["did you mean `driveline.efficiency`?"]);
    unladen(&["compare", CAR, "vehicles/none", TRACK]).refused(2, &["vehicles/none", "no such file"]);
    unladen(&["compare", "a.toml", "b.toml", TRACK]).refused(2, &["a.toml", "b.toml"]);
    unladen(&["compare", CAR, REAR, "tracks/none.toml"]).refused(2, &["tracks/none.toml", "no such file"]);
    let folder = Folder::new();
    let one = folder.path("x.csv");
    run(&["--csv", &one, "--map-csv", &one]).refused(2, &["two outputs can't go to one file"]);
    let ledger = format!("{}/ledger.csv", crate::common::root().join(REAR).display());
    run(&["--map-csv", &ledger]).refused(2, &["is no result that unladen wrote, and would be lost"]);
}
