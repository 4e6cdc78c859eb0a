//! No output goes over what this program did not write; what it wrote it may write again.
#![allow(clippy::unwrap_used)]

use std::fs;
use std::process::Stdio;
use std::time::Duration;

use unladen_testkit::parts;
use unladen_testkit::random::Rng;

use crate::common::{CAR, Folder, TRACK, command, root, unladen};

/// Every option that names an output, with what makes the run short.
fn outputs() -> Vec<(&'static str, Vec<&'static str>, &'static str)> {
    let quick = ["--step", "20"];
    let two = ["--map-power", "0.9..1.1:2", "--map-grip", "0.9..1:2", "--grip", "1", "--samples", "16"];
    let with = |args: &[&'static str], more: &[&'static str]| [args, more].concat();
    vec![
        ("--csv", with(&["lap", CAR, TRACK], &quick), "csv"),
        ("--plot", with(&["lap", CAR, TRACK], &quick), "svg"),
        ("--gg", with(&["lap", CAR, TRACK], &quick), "png"),
        ("--csv", with(&["worth", CAR, TRACK], &quick), "csv"),
        ("--plot", with(&["worth", CAR, TRACK], &quick), "svg"),
        ("--map", with(&["worth", CAR, TRACK], &quick), "svg"),
        ("--csv", with(&["sweep", CAR, TRACK, "--mass", "1100kg..1300kg:2"], &quick), "csv"),
        ("--csv", with(&["sweep", CAR, TRACK, "--mass", "1100kg..1300kg:2"], &quick), "parquet"),
        ("--plot", with(&["sweep", CAR, TRACK, "--mass", "1100kg..1300kg:2"], &quick), "svg"),
        ("--csv", with(&["rank", CAR, TRACK, "--item", "bonnet pins", "--samples", "32"], &quick), "csv"),
        (
            "--csv",
            with(&["move", CAR, TRACK, "--item", "fuel tank", "--to", "1950,0,210", "--samples", "16"], &quick),
            "csv",
        ),
        ("--csv", with(&["compare", CAR, "vehicles/saloon-rwd", TRACK], &[&two[..], &quick].concat()), "csv"),
        ("--map-csv", with(&["compare", CAR, "vehicles/saloon-rwd", TRACK], &[&two[..], &quick].concat()), "csv"),
        ("--csv", vec!["ledger", CAR], "csv"),
        ("--waterfall", vec!["ledger", CAR], "svg"),
        ("--plot", vec!["reset", CAR], "svg"),
        ("--plot", vec!["weigh", "vehicles/saloon-awd/readings.toml"], "png"),
        ("--plot", vec!["course", "draw", TRACK], "png"),
        ("--out", vec!["course", "log", CAR, TRACK, "--laps", "1"], "csv"),
        ("--out", vec!["course", "log", CAR, TRACK, "--laps", "1", "--quirks"], "csv"),
        ("--out", with(&["report", CAR, TRACK, "--plan", "none"], &quick), "html"),
    ]
}

#[test]
fn end_to_end_no_output_goes_over_a_file_that_is_not_ours() {
    let all = outputs();
    let turn = parts::seeds(0..all.len() as u64, 3);
    for (option, args, ending) in &all[turn.start as usize..turn.end as usize] {
        let folder = Folder::new();
        let mine = folder.write(&format!("mine.{ending}"), "length_m,mine\n1,2\n");
        unladen(&[&args[..], &[option, &mine]].concat()).refused(2, &["would be lost", "--force"]);
        assert_eq!(fs::read_to_string(&mine).unwrap(), "length_m,mine\n1,2\n", "{args:?}");
        let forced = unladen(&[&args[..], &[option, &mine, "--force"]].concat());
        assert_eq!(forced.code, Some(0), "{args:?}: {}", forced.err);
        let first = fs::read(&mine).unwrap();
        let again = unladen(&[&args[..], &[option, &mine]].concat());
        assert_eq!(again.code, Some(0), "its own again: {args:?} {option}: {}", again.err);
        // A page tells the command that made it.
        if *ending != "html" {
            assert!(fs::read(&mine).unwrap() == first, "{args:?}");
        }
        assert_eq!(folder.names().len(), 1, "{:?}", folder.names());
    }
}

#[test]
fn bad_input_names_are_refused_before_the_run() {
    let folder = Folder::new();
    let long = folder.path(&("x".repeat(300) + ".csv"));
    let lap = |out: &str| unladen(&["lap", CAR, TRACK, "--csv", out]);
    lap(&folder.path("out.csv/")).refused(2, &["names no file"]);
    lap(&long).refused(1, &["can't use this name"]);
    let read_only = folder.write("out.csv", "s_m,t_s,v_mps,\n");
    let mut only = fs::metadata(&read_only).unwrap().permissions();
    only.set_readonly(true);
    fs::set_permissions(&read_only, only).unwrap();
    lap(&read_only).refused(2, &["read-only"]);
    unladen(&["lap", CAR, TRACK, "--force", "--csv", &read_only]).refused(2, &["read-only"]);
    #[cfg(unix)]
    {
        let link = folder.path("link.csv");
        std::os::unix::fs::symlink(folder.path("gone.csv"), &link).unwrap();
        lap(&link).refused(2, &["a link to a file that isn't there"]);
        assert!(fs::symlink_metadata(&link).unwrap().is_symlink());
    }
}

/// The car's file, its ledger and a file of the user's beside the track: each is in the way.
#[test]
fn bad_input_a_course_goes_over_nobody_s_files() {
    let folder = Folder::new();
    let log = folder.path("log.csv");
    assert_eq!(unladen(&["course", "log", CAR, TRACK, "--out", &log, "--laps", "3"]).code, Some(0));
    for name in ["car.toml", "ledger.csv"] {
        folder.write(name, fs::read(root().join(CAR).join(name)).unwrap());
    }
    folder.write("session.csv", "mine\n");
    let all = |names: &[&str]| names.iter().map(|n| fs::read(folder.path(n)).unwrap()).collect::<Vec<_>>();
    let names = ["car.toml", "ledger.csv", "session.csv"];
    let before = all(&names);
    for out in ["car.toml", "ledger.toml", "session.toml"] {
        unladen(&["course", "from", &log, "--out", &folder.path(out)]).refused(2, &["would be lost"]);
    }
    assert_eq!(all(&names), before);
    unladen(&["course", "from", &log, "--out", &folder.path("log.toml"), "--force"]).refused(2, &["made from"]);
}

/// Killed at any moment while a track is made anew, its two files belong together.
#[cfg(unix)]
#[test]
fn end_to_end_a_track_that_is_made_anew_is_one_or_the_other() {
    let folder = Folder::new();
    let out = folder.path("home.toml");
    let logs = [("a.csv", TRACK), ("b.csv", "tracks/valley.toml")].map(|(name, track)| {
        let path = folder.path(name);
        assert_eq!(unladen(&["course", "log", CAR, track, "--out", &path, "--laps", "3"]).code, Some(0));
        path
    });
    let looked = || unladen(&["course", "check", &out]).out;
    let mut known = Vec::new();
    let mut took = Duration::ZERO;
    for log in &logs {
        let start = std::time::Instant::now();
        assert_eq!(unladen(&["course", "from", log, "--out", &out, "--force"]).code, Some(0));
        took = start.elapsed();
        known.push(looked());
    }
    assert_ne!(known[0], known[1]);
    for i in parts::seeds(0..12, 3) {
        let args = ["course", "from", &logs[i as usize % 2], "--out", &out, "--force"];
        let mut child = command(&args).stdout(Stdio::null()).stderr(Stdio::null()).spawn().unwrap();
        // Around the end, where files change.
        std::thread::sleep(took.mul_f64(Rng::new(i).range(0.7, 1.14)));
        let _ = child.kill();
        child.wait().unwrap();
        let now = looked();
        assert!(known.contains(&now), "{now}");
    }
    assert_eq!(unladen(&["course", "from", &logs[0], "--out", &out, "--force"]).code, Some(0));
    assert!(!folder.names().iter().any(|n| n.contains("remade")), "{:?}", folder.names());
}

/// Two sweeps on one file: the second leaves the first's card alone; rows that are another car's are not gone on with.
#[cfg(unix)]
#[test]
fn end_to_end_two_sweeps_do_not_mix() {
    let folder = Folder::new();
    let out = folder.path("out.csv");
    let sweep = |car: &'static str| {
        [
            "sweep",
            car,
            TRACK,
            "--mass",
            "1000kg..1300kg:600",
            "--cg-height",
            "420mm..560mm:400",
            "--step",
            "20",
            "--csv",
        ]
        .map(str::to_owned)
        .into_iter()
        .chain([out.clone()])
        .collect::<Vec<_>>()
    };
    let mut first = command(&sweep(CAR)).stdout(Stdio::null()).stderr(Stdio::null()).spawn().unwrap();
    let rows = || fs::read_to_string(folder.path("out.csv.partial")).map_or(0, |t| t.lines().count());
    while rows() < 10 {
        std::thread::sleep(Duration::from_millis(5));
    }
    let card = || fs::read(folder.path("out.csv.partial.json")).unwrap();
    let before = card();
    unladen(&sweep("vehicles/saloon-rwd")).refused(2, &["another run is writing it"]);
    assert_eq!(card(), before);
    first.kill().unwrap();
    first.wait().unwrap();
    let other = |more: &str| unladen(&[sweep("vehicles/saloon-rwd"), vec![more.to_owned()]].concat());
    other("--resume").refused(2, &["another run"]);
    // Even with a card that says so: the rows are another's, and stay.
    let own = Folder::new();
    let mut child = command(&{
        let mut args = sweep("vehicles/saloon-rwd");
        *args.last_mut().unwrap() = own.path("out.csv");
        args
    });
    let mut child = child.stdout(Stdio::null()).stderr(Stdio::null()).spawn().unwrap();
    while !std::path::Path::new(&own.path("out.csv.partial.json")).exists() {
        std::thread::sleep(Duration::from_millis(5));
    }
    child.kill().unwrap();
    child.wait().unwrap();
    fs::copy(own.path("out.csv.partial.json"), folder.path("out.csv.partial.json")).unwrap();
    let there = fs::read(folder.path("out.csv.partial")).unwrap();
    other("--resume").refused(2, &["another run"]);
    assert!(fs::read(folder.path("out.csv.partial")).unwrap() == there);
}
