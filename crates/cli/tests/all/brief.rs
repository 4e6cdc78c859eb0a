//! The answer first: what every command prints without `--detail`, as a newcomer reads it.

use crate::common::{CAR, Folder, TRACK, cars, unladen};
use unladen_testkit::parts;

const LINES: usize = 45;
const COLUMNS: usize = 80;

/// Short enough to be seen at once, the verdict in the first three lines with its interval, and nothing that a table would have
/// pushed aside.
#[track_caller]
fn brief(args: &[&str], interval: bool) -> String {
    let run = unladen(args);
    assert_eq!(run.code, Some(0), "{args:?}: {}", run.err);
    let (text, lines) = (run.out, |text: &str| text.lines().count());
    assert!(lines(&text) <= LINES, "{} lines of {args:?}:\n{text}", lines(&text));
    let wide: Vec<&str> = text.lines().filter(|line| line.chars().count() > COLUMNS).collect();
    assert!(wide.is_empty(), "{args:?}: {wide:?}\n{text}");
    let top: Vec<&str> = text.lines().take(3).collect();
    let verdict = top.join(" ");
    assert!(!interval || verdict.contains("(90 %: "), "{args:?}: {verdict}");
    assert!(verdict.contains('.') && !verdict.trim_start().starts_with("Club saloon"), "{verdict}");
    assert!(text.ends_with("All of it: the same command with --detail.\n"), "{text}");
    // All of it is longer, and holds what isn't modelled in full wherever laps stand behind it.
    let whole = unladen(&[args, &["--detail"]].concat());
    assert_eq!(whole.code, Some(0), "{}", whole.err);
    assert!(!text.contains("not modelled") || whole.out.contains("Not modelled: transients"), "{}", whole.out);
    // Warnings of safety are never cut.
    for line in whole.out.lines().filter(|line| line.starts_with("SAFETY:")) {
        assert!(text.contains(line), "{args:?}: {line}\n{text}");
    }
    text
}

#[test]
fn end_to_end_laps_and_kilograms_in_short() {
    let all = cars();
    // Each car on one of the tracks, another at the next commit.
    let tracks = ["tracks/airfield.toml", "tracks/valley.toml", "tracks/hillclimb.toml"];
    for turn in parts::seeds(0..3, 3) {
        for (i, car) in all.iter().enumerate() {
            let text = brief(&["lap", car, tracks[(i + turn as usize) % 3]], true);
            assert!(text.starts_with("A lap of ") && text.contains("10 mm up"), "{text}");
        }
    }
    let turn = parts::seeds(0..all.len() as u64, all.len() as u64);
    for car in &all[turn.start as usize..turn.end as usize] {
        let text =
            brief(&["worth", car, "tracks/airfield.toml", "tracks/valley.toml=2", "tracks/hillclimb.toml"], true);
        assert!(text.contains("ms a lap (90 %: ") && text.contains("Driver's seat"), "{text}");
        assert!(text.contains("25 % ") && text.contains("50 % "), "{text}");
    }
}

/// By worth the same places, the dearest first.
#[test]
fn end_to_end_places_by_worth() {
    let rows = |sort: &str| -> Vec<String> {
        let text = brief(&["lap", CAR, TRACK, "--sort", sort], true);
        let table = text.split("\n\n").nth(1).unwrap().to_owned();
        table.lines().skip(1).map(str::to_owned).collect()
    };
    let (road, mut worth) = (rows("road"), rows("worth"));
    assert!(
        road[0].starts_with("Runway") && worth[0].starts_with("Runway") && worth[1].starts_with("Perimeter straight")
    );
    let mut road = road;
    road.sort();
    worth.sort();
    assert_eq!(road, worth);
}

#[test]
fn end_to_end_the_garage_in_short() {
    let text = brief(&["ledger", CAR], true);
    assert!(text.contains("Not at the target yet, but what is planned gets there; to go 60.4 kg"), "{text}");
    let text = brief(&["weigh", "vehicles/saloon-awd/readings.toml"], true);
    assert!(text.starts_with("The car weighs 1284.6 kg") && text.contains("can fall or roll"), "{text}");
    let text = brief(&["weigh", "vehicles/saloon-awd/reweigh.toml", "--against", CAR], true);
    assert!(text.starts_with("The ledger does not explain the scales: they show more by"), "{text}");
    let text = brief(&["reset", CAR], false);
    assert!(text.starts_with("Have the brakes set first") && text.contains("0.660 → 0.764\nor more"), "{text}");
    let car = "vehicles/saloon-rwd";
    brief(&["ledger", car], true);
    brief(&["reset", car], false);
    let sound = unladen(&["check", CAR, TRACK, "vehicles/saloon-awd/ledger.csv"]);
    assert!(sound.quiet().starts_with("All ") && sound.out.contains(" files are sound.\n"), "{}", sound.out);
}

#[test]
fn end_to_end_decisions_in_short() {
    let sweep = ["sweep", CAR, TRACK, "--mass", "1100kg..1300kg:5", "--cg-height", "450mm..520mm:5"];
    let text = brief(&sweep, false);
    assert!(text.starts_with("Quickest is 1100 kg"), "{text}");
    let text = brief(&["rank", CAR, TRACK, "--budget", "2000", "--hours", "40"], true);
    assert!(text.starts_with("Do ") && text.contains("runner-up"), "{text}");
    let text = brief(&["move", CAR, TRACK, "--item", "fuel tank", "--to", "1950,0,210", "--box", "500,750,180"], true);
    assert!(text.contains("fuel tank") && text.contains("SAFETY: a fuel tank"), "{text}");
    let text = brief(&["compare", CAR, "vehicles/saloon-rwd", TRACK], true);
    assert!(text.starts_with("Dry, take B: ") && text.contains("Wet, take A: "), "{text}");
    // Nothing of a driveline where none differs.
    let same = unladen(&["compare", CAR, CAR, TRACK, "--set-second", "mass.total=1250kg", "--grip", "1"]);
    assert!(!same.out.contains("changed driveline"), "{}", same.out);
}

/// A synthetic log, the track that it makes, and the fit to it.
#[test]
fn end_to_end_a_drive_in_short() {
    let folder = Folder::new();
    let (log, made) = (folder.path("log.csv"), folder.path("made.toml"));
    assert_eq!(unladen(&["course", "log", CAR, TRACK, "--out", &log, "--laps", "4"]).code, Some(0));
    brief(&["course", "from", &log, "--out", &made, "--car", CAR, "--force"], true);
    brief(&["course", "check", TRACK], false);
    let text = brief(&["fit", CAR, TRACK, &log], true);
    assert!(text.contains("held out") && text.contains("one standard deviation"), "{text}");
    // A car whose power is far from the log's: the fit helps, and says so.
    let text = brief(&["fit", CAR, TRACK, &log, "--set", "aero.drag_area=1.0 m2"], true);
    assert!(text.starts_with("The fit helps: "), "{text}");
}

/// The readings of an axle mixed up: no car's centre of gravity is there, and that is said at once.
#[test]
fn bad_input_a_height_that_no_car_has_is_said_first() {
    let folder = Folder::new();
    let text = std::fs::read_to_string(crate::common::root().join(CAR).join("readings.toml")).unwrap();
    let lifts: Vec<&str> = text.lines().filter(|line| line.trim_start().starts_with("height")).collect();
    assert!(!lifts.is_empty(), "{text}");
    let mut changed = text.clone();
    for line in lifts {
        let (key, value) = line.split_once('=').unwrap();
        let mm: f64 = value.trim().trim_matches('"').split_whitespace().next().unwrap().parse().unwrap();
        changed = changed.replace(line, &format!("{key}= \"{:.0} mm\"", mm / 4.0));
    }
    let path = folder.write("readings.toml", changed);
    let run = unladen(&["weigh", &path]);
    assert_eq!(run.code, Some(0), "{}", run.err);
    assert!(run.out.starts_with("Something is wrong with these readings: higher than any car's"), "{}", run.out);
}
