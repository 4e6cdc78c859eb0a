//! Ten questions that owners ask, each by one command and answered in its first three lines, as laps by themselves have
//! it.

use serde_json::Value;

use crate::common::unladen;

const CAR: &str = "vehicles/saloon-awd";
const REAR: &str = "vehicles/saloon-rwd";
const TRACK: &str = "tracks/carpark.toml";

/// The first three lines that say something, as one.
#[track_caller]
fn answer(args: &[&str]) -> String {
    let run = unladen(args);
    assert_eq!(run.code, Some(0), "{args:?}: {}", run.err);
    let lines: Vec<&str> = run.out.lines().filter(|line| !line.is_empty()).take(3).collect();
    lines.join(" ")
}

fn json(args: &[&str]) -> Value {
    let run = unladen(&[args, &["--json"]].concat());
    assert_eq!(run.code, Some(0), "{args:?}: {}", run.err);
    run.json()
}

fn time(args: &[&str]) -> f64 {
    json(&[&["lap"], args].concat())["lap_time_s"].as_f64().unwrap()
}

/// The demo car and the same one with `second`: who is quicker as two laps have it, and about by how much; re-tuned it
/// may be half as much more or less.
#[track_caller]
fn changed(second: &[&str]) {
    let quick = ["--grip", "0.92", "--map-power", "0.9..1.1:2", "--map-grip", "0.9..1.1:2"];
    let said = answer(&[&["compare", CAR, CAR, TRACK], &quick[..], second].concat());
    let own: Vec<String> = second.iter().map(|word| word.replace("-second", "")).collect();
    let own: Vec<&str> = own.iter().map(String::as_str).collect();
    let gain = time(&[CAR, TRACK]) - time(&[&[CAR, TRACK], &own[..]].concat());
    let who = if gain > 0.0 { "B" } else { "A" };
    assert!(said.contains(&format!("take {who}:")) || said.contains(&format!("; {who} is:")), "{said} {gain}");
    let number = said.split(": ").find_map(|part| part.split_once(" s quicker").map(|(number, _)| number));
    let number: f64 = number.and_then(|n| n.parse().ok()).unwrap_or_else(|| panic!("{said}"));
    assert!((number / gain.abs() - 1.0).abs() < 0.5 && said.contains("(90 %: "), "{said} {gain}");
}

#[test]
fn end_to_end_the_tank_forward_with_brackets() {
    let asked =
        ["move", CAR, TRACK, "--item", "fuel tank", "--by", "-600,0,0", "--added-mass", "brackets=6kg@2000,0,300"];
    let said = answer(&asked);
    assert!(said.starts_with("Leave the fuel tank where it is: a sure loss"), "{said}");
    let number = said.split(": ").find_map(|part| part.split_once(" s slower (90 %").map(|(number, _)| number));
    let loss: f64 = number.and_then(|n| n.parse().ok()).unwrap_or_else(|| panic!("{said}"));
    // The place alone is worth little: it is about what six kilograms cost.
    let weigh = 6.0 * json(&["worth", CAR, TRACK])["mix"]["s_per_kg"].as_f64().unwrap();
    assert!((0.5..1.5).contains(&(loss / weigh)), "{loss} {weigh}");
}

#[test]
fn end_to_end_what_next_with_so_much_money_and_time() {
    let said = answer(&["rank", CAR, TRACK, "--budget", "2000", "--hours", "40"]);
    assert!(said.starts_with("Do the ") && said.contains("s quicker (90 %: "), "{said}");
    let numbers: Vec<f64> =
        said.split_whitespace().filter_map(|word| word.trim_end_matches(':').parse().ok()).collect();
    // So many changes, money.
    assert!(numbers[0] >= 1.0 && numbers[1] > 1000.0 && numbers[1] <= 2000.0, "{said}");
}

#[test]
fn end_to_end_all_wheels_or_two_dry_and_wet() {
    let said = answer(&["compare", CAR, REAR, TRACK, "--grip", "1.0,0.6"]);
    let quicker =
        |grip: &str| if time(&[CAR, TRACK, "--grip", grip]) < time(&[REAR, TRACK, "--grip", grip]) { 'A' } else { 'B' };
    for (day, grip) in [("1", "1.0"), ("0.6", "0.6")] {
        let who = quicker(grip);
        let part = said.split_once(&format!("Grip {day}, ")).unwrap_or_else(|| panic!("{said}")).1;
        let part = part.split("Grip").next().unwrap();
        assert!(part.starts_with(&format!("take {who}")) || part.contains(&format!("; {who} is")), "{said} {who}");
    }
}

#[test]
fn end_to_end_lighter_but_higher() {
    changed(&["--set-second", "mass.total-=100kg", "--set-second", "mass.cg_height+=30mm"]);
}

#[test]
fn end_to_end_more_grip() {
    let keys =
        ["front.peak_friction_lat", "front.peak_friction_long", "rear.peak_friction_lat", "rear.peak_friction_long"];
    let set: Vec<String> = keys.iter().map(|key| format!("tyres.{key}*=1.05")).collect();
    changed(&set.iter().flat_map(|set| ["--set-second", set]).collect::<Vec<_>>());
}

#[test]
fn end_to_end_with_a_passenger() {
    changed(&["--with-second", "instructor"]);
}

#[test]
fn end_to_end_half_a_tank() {
    changed(&["--set-second", "fuel.on_track=15L"]);
}

#[test]
fn end_to_end_a_season_of_three_tracks() {
    let tracks = ["tracks/carpark.toml", "tracks/bowl.toml", "tracks/hillclimb.toml"];
    let said = answer(&["worth", CAR, "tracks/carpark.toml=3", tracks[1], "tracks/hillclimb.toml=2"]);
    let ms = |track: &str| 1e3 * json(&["worth", CAR, track])["mix"]["s_per_kg"].as_f64().unwrap();
    let mean = (3.0 * ms(tracks[0]) + ms(tracks[1]) + 2.0 * ms(tracks[2])) / 6.0;
    let number =
        said.split(" costs ").nth(1).and_then(|part| part.split(" ms").next()).and_then(|n| n.parse::<f64>().ok());
    assert!((number.unwrap_or_else(|| panic!("{said}")) - mean).abs() < 0.06, "{said} {mean}");
}

#[test]
fn end_to_end_which_corner_costs_most() {
    let said = answer(&["lap", CAR, TRACK, "--sort", "worth"]);
    let lap = json(&["lap", CAR, TRACK]);
    let most = lap["sectors"]
        .as_array()
        .unwrap()
        .iter()
        .max_by(|a, b| a["s_per_kg"].as_f64().unwrap().total_cmp(&b["s_per_kg"].as_f64().unwrap()));
    let place = most.unwrap()["place"].as_str().unwrap();
    assert!(said.contains(&format!("10 kg cost most at {place}, ")), "{said} {place}");
}

#[test]
fn end_to_end_can_a_stopwatch_see_it() {
    let said = answer(&["trial", "plan", CAR, TRACK, "--change", "wheels"]);
    assert!(said.contains("A day can't show it: wheels should make the car"), "{said}");
    // Five standard deviations of a lap apart, it can.
    let plain = answer(&["trial", "plan", CAR, TRACK, "--change", "wheels", "--lap-spread", "0.004"]);
    assert!(!plain.contains("can't show it"), "{plain}");
}
