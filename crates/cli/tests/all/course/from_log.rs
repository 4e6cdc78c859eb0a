//! `course` and `fit` end to end: a synthetic log of known truth to a track, and a model brought back; and what is said
//! to bad input.

use std::fs;

use unladen_testkit::parts;

use crate::common::logged::{ROOT, number, said, unladen};

/// A circuit of two bends as a log of (t, x, y), 10 Hz at 20 m/s.
fn log(laps: f64) -> Vec<(f64, f64, f64)> {
    let (straight, radius) = (200.0, 50.0);
    let bend = std::f64::consts::PI * radius;
    let length = 2.0 * (straight + bend);
    let at = |s: f64| {
        let s = s.rem_euclid(length);
        let half = if s < straight + bend { 1.0 } else { -1.0 };
        let u = s.rem_euclid(straight + bend);
        let (x, y) = if u < straight {
            (u - 0.5 * straight, -radius)
        } else {
            let angle = (u - straight) / radius;
            (0.5 * straight + radius * angle.sin(), -radius * angle.cos())
        };
        (half * x, half * y)
    };
    let count = (laps * length / 2.0) as usize;
    (0..count).map(|i| (0.1 * i as f64, at(2.0 * i as f64 + 60.0))).map(|(t, (x, y))| (t, x, y)).collect()
}

fn text(rows: &[(f64, f64, f64)]) -> String {
    rows.iter().fold("time [s],x [m],y [m]\n".into(), |all, (t, x, y)| all + &format!("{t:.2},{x:.3},{y:.3}\n"))
}

#[test]
fn end_to_end_log_to_track_to_fit() {
    let dir = tempfile::tempdir().unwrap();
    let (car, track) = (format!("{ROOT}/vehicles/saloon-awd"), format!("{ROOT}/tracks/airfield.toml"));
    for turn in parts::seeds(0..2, 2) {
        let quirks = turn == 1;
        let mut args =
            vec!["course", "log", &car, &track, "--out", "day.csv", "--laps", "4", "--rate", "20", "--grip", "0.93"];
        args.extend(["--as", "weighed"]);
        if quirks {
            args.extend(["--quirks", "--dropouts", "0.02"]);
        }
        let _ = fs::remove_file(dir.path().join("day.csv.columns.toml"));
        let made = unladen(dir.path(), &args);
        assert!(made.status.success(), "{}", said(&made));
        let made = unladen(
            dir.path(),
            &[
                "course",
                "from",
                "day.csv",
                "--out",
                "home.toml",
                "--plot",
                "home.svg",
                "--json",
                "--car",
                &car,
                "--force",
            ],
        );
        assert!(made.status.success(), "{}", said(&made));
        // The airfield is 2438.7 m long.
        assert!((number(&made, "length_m") - 2438.7).abs() < 4.0);
        for file in ["home.toml", "home.csv", "home.svg", "day.csv.columns.toml"] {
            assert!(dir.path().join(file).is_file(), "{file}");
        }
        let lap = |track: &str| number(&unladen(dir.path(), &["lap", &car, track, "--json"]), "lap_time_s");
        let (truth, home) = (lap(&track), lap("home.toml"));
        let sd = number(&made, "lap_time_sd_s");
        // The log was driven with 93 % of the track's grip, which the course knows nothing of.
        assert!((number(&made, "lap_time_s") - home).abs() < 0.01 && sd > 0.02 && sd < 0.02 * home, "{sd}");
        // Of one seed no more than that ± is of the right size: how often it holds is counted in study's coverage.rs.
        assert!((home - truth).abs() < 3.0 * sd, "{truth} {home} ± {sd}");
        // One seed of 0.5 m noise and four laps; with quirks, a fifth of the positions.
        assert!((home / truth - 1.0).abs() < if quirks { 0.015 } else { 0.008 }, "{truth} {home}");
        let _ = fs::remove_file(dir.path().join("fitted.toml"));
        // The copy has no ledger beside it.
        let args =
            ["fit", &car, &track, "day.csv", "--as", "weighed", "--json", "--plot", "fit.svg", "--out", "fitted.toml"];
        let fit = unladen(dir.path(), &args);
        assert!(fit.status.success(), "{}", said(&fit));
        let json: serde_json::Value = serde_json::from_slice(&fit.stdout).unwrap();
        let factor = |key: &str| json["factors"][key]["factor"].as_f64().unwrap();
        // Only the product of grip and its use is known: 0.93.
        let product = factor("grip_lat") * factor("use_cornering");
        assert!((product - 0.93).abs() < 0.02, "{product}");
        let held = (number(&fit, "held_out_model_s"), number(&fit, "held_out_logged_s"));
        assert!((held.0 - held.1).abs() < 0.25, "{held:?}");
        // The copy is a car that laps as the log, and is not written over.
        let fitted = number(&unladen(dir.path(), &["lap", "fitted.toml", &track, "--json"]), "lap_time_s");
        assert!((fitted - held.1).abs() < 0.3, "{fitted} {held:?}");
        let own = fs::read_to_string(format!("{car}/car.toml")).unwrap();
        let copy = fs::read_to_string(dir.path().join("fitted.toml")).unwrap();
        let comments = own.lines().filter(|l| l.starts_with('#'));
        assert!(comments.into_iter().all(|l| copy.contains(l)) && copy.contains("not validated beyond"), "{copy}");
        let again = unladen(dir.path(), &args);
        assert!(again.status.code() == Some(2) && said(&again).contains("would be lost"), "{}", said(&again));
        let text = unladen(dir.path(), &["fit", &car, &track, "day.csv", "--detail"]);
        let text = String::from_utf8_lossy(&text.stdout).into_owned();
        for words in ["can't tell apart", "validate nothing", "held out", "log − model"] {
            assert!(text.contains(words), "{words}: {text}");
        }
    }
}

/// A track's file looked over and drawn.
#[test]
fn end_to_end_check_and_draw() {
    let dir = tempfile::tempdir().unwrap();
    let track = format!("{ROOT}/tracks/airfield.toml");
    let check = unladen(dir.path(), &["course", "check", &track]);
    let text = String::from_utf8_lossy(&check.stdout).into_owned();
    assert!(check.status.success() && text.contains("Windsock") && text.contains("Curvature jumps"), "{text}");
    for file in ["t.svg", "t.png"] {
        let draw = unladen(dir.path(), &["course", "draw", &track, "--plot", file]);
        assert!(draw.status.success() && dir.path().join(file).is_file(), "{}", said(&draw));
    }
    let none = unladen(dir.path(), &["course", "check", "none.toml"]);
    assert!(none.status.code() == Some(2) && said(&none).contains("none.toml"), "{}", said(&none));
    let bad = unladen(dir.path(), &["course", "draw", &track, "--plot", "t.gif"]);
    assert_eq!(bad.status.code(), Some(2), "{}", said(&bad));
}

/// Names from the command line and from a file's points go into the segments; the width columns bound the line.
#[test]
fn end_to_end_names_and_widths() {
    let dir = tempfile::tempdir().unwrap();
    let rows = &log(1.2)[..356];
    let wide: String = rows.iter().fold("x [m],y [m],width left [m],width right [m]\n".into(), |all, r| {
        all + &format!("{:.3},{:.3},5,3\n", r.1, r.2)
    });
    fs::write(dir.path().join("wide.csv"), wide).unwrap();
    let args = ["course", "from", "wide.csv", "--closed", "--place", "East bend=150,0", "--place", "Far=900,0"];
    let made = unladen(dir.path(), &[&args[..], &["--out", "plain.toml"]].concat());
    assert!(made.status.success() && said(&made).contains("names no place"), "{}", said(&made));
    assert!(fs::read_to_string(dir.path().join("plain.csv")).unwrap().contains("East bend"));
    let line = unladen(dir.path(), &[&args[..], &["--out", "line.toml", "--line", "columns"]].concat());
    assert!(line.status.success(), "{}", said(&line));
    let squared = |name: &str| {
        let text = fs::read_to_string(dir.path().join(name)).unwrap();
        let row = |l: &str| -> f64 {
            let n: Vec<f64> = l.split(',').take(3).map(|x| x.parse().unwrap()).collect();
            n[0] * (n[1] * n[1] + n[1] * n[2] + n[2] * n[2]) / 3.0
        };
        text.lines().skip(1).map(row).sum::<f64>()
    };
    // ∫κ² ds of the middle is 2π/50 m; a line with 6 m of road to choose from has at least a tenth less.
    let (plain, line) = (squared("plain.csv"), squared("line.csv"));
    assert!((plain - 2.0 * std::f64::consts::PI / 50.0).abs() < 0.002 && line < 0.9 * plain, "{plain} {line}");
    fs::write(dir.path().join("bare.csv"), text(&log(3.2))).unwrap();
    let none = unladen(dir.path(), &["course", "from", "bare.csv", "--out", "b.toml", "--line", "columns"]);
    assert!(none.status.code() == Some(2) && said(&none).contains("no widths in it"), "{}", said(&none));
}

/// What its columns are is kept beside a log, and the command line goes before it.
#[test]
fn end_to_end_columns_are_remembered_and_overruled() {
    let dir = tempfile::tempdir().unwrap();
    let rows: String =
        log(3.2).iter().fold("t,a,b,v\n".into(), |all, (t, x, y)| all + &format!("{t:.2},{x:.3},{y:.3},44.7\n"));
    fs::write(dir.path().join("day.csv"), rows).unwrap();
    let from = |more: &[&str]| {
        unladen(dir.path(), &[&["course", "from", "day.csv", "--out", "t.toml", "--force"], more].concat())
    };
    assert_eq!(from(&[]).status.code(), Some(2));
    let told = from(&["--column", "x=a", "--column", "y=b", "--unit", "speed=mph"]);
    assert!(told.status.success(), "{}", said(&told));
    let kept = fs::read_to_string(dir.path().join("day.csv.columns.toml")).unwrap();
    assert!(kept.contains("x = \"a\"") && kept.contains("speed = \"mph\""), "{kept}");
    assert!(from(&[]).status.success());
    let wrong = from(&["--column", "x=c"]);
    assert!(wrong.status.code() == Some(2) && said(&wrong).contains("no such column"), "{}", said(&wrong));
}

/// A figure of eight is kept, with a word.
#[test]
fn bad_input_a_line_that_crosses_itself_is_said() {
    let dir = tempfile::tempdir().unwrap();
    let at = |i: i32| {
        let t = f64::from(i) / 300.0 * 2.0 * std::f64::consts::PI + 0.4;
        (f64::from(i), 200.0 * t.sin(), 200.0 * t.sin() * t.cos())
    };
    let points = (0..300).map(at).fold("x [m],y [m]\n".to_string(), |all, (_, x, y)| all + &format!("{x:.3},{y:.3}\n"));
    fs::write(dir.path().join("eight.csv"), points).unwrap();
    let made = unladen(dir.path(), &["course", "from", "eight.csv", "--closed", "--out", "loop.toml"]);
    assert!(made.status.success() && said(&made).contains("crosses itself"), "{}", said(&made));
    let check = unladen(dir.path(), &["course", "check", "loop.toml"]);
    assert!(String::from_utf8_lossy(&check.stdout).contains("It crosses itself"), "{}", said(&check));
}

#[test]
fn bad_input_is_said_in_words_and_writes_nothing() {
    let dir = tempfile::tempdir().unwrap();
    let rows = log(3.2);
    let half = &rows[..rows.len() / 8];
    let walk: Vec<_> = rows.iter().map(|(t, x, y)| (20.0 * t, *x, *y)).collect();
    let twice: String = rows[..713].iter().fold("x [m],y [m]\n".into(), |a, r| a + &format!("{:.3},{:.3}\n", r.1, r.2));
    let back = text(&rows[..60]) + "0.1,5,5\n0.2,6,6\n";
    let cases: [(&str, String, &[&str], &str); 7] = [
        ("nothing.csv", "time,oil\n1,2\n2,3\n3,4\n4,5\n".into(), &[], "neither positions nor speed"),
        ("speed.csv", "time,speed\n1,20\n2,30\n3,40\n4,50\n".into(), &[], "no positions; a course needs"),
        ("half.csv", text(half), &["--closed"], "no whole lap"),
        ("walk.csv", text(&walk), &[], "a walk in the paddock"),
        ("fix.csv", "time,lat,lon\n1,0,0\n2,0,0\n3,0,0\n4,0,0\n".into(), &[], "no fix"),
        ("twice.csv", twice, &["--closed"], "times round"),
        ("back.csv", back, &[], "time goes back"),
    ];
    for (name, text, more, words) in cases {
        fs::write(dir.path().join(name), text).unwrap();
        let mut args = vec!["course", "from", name, "--out", "t.toml"];
        args.extend(more);
        let output = unladen(dir.path(), &args);
        assert_eq!(
            output.status.code(),
            Some(2),
            "{name}: {}{}",
            said(&output),
            String::from_utf8_lossy(&output.stdout)
        );
        assert!(said(&output).contains(words), "{name}: {}", said(&output));
    }
    let mut names: Vec<_> =
        fs::read_dir(dir.path()).unwrap().map(|e| e.unwrap().file_name().into_string().unwrap()).collect();
    names.sort();
    assert!(names.iter().all(|n| n.ends_with(".csv")) && names.len() == 7, "{names:?}");
}

/// Points at 0°, 0°, repeated times and a jump are left out with a word, and the track is the same.
#[test]
fn bad_input_stray_positions_do_not_bend_the_track() {
    let dir = tempfile::tempdir().unwrap();
    let clean = log(3.2);
    let mut dirty = text(&clean[..300]);
    dirty += "29.95,9000,9000\n";
    dirty += &text(&clean[300..]).lines().skip(1).map(|l| format!("{l}\n")).collect::<String>();
    dirty = dirty.replace("\n20.00,", "\n19.90,");
    fs::write(dir.path().join("clean.csv"), text(&clean)).unwrap();
    fs::write(dir.path().join("dirty.csv"), dirty).unwrap();
    let length = |name: &str, out: &str| {
        let output = unladen(dir.path(), &["course", "from", name, "--out", out, "--json"]);
        assert!(output.status.success(), "{}", said(&output));
        number(&output, "length_m")
    };
    assert!((length("clean.csv", "a.toml") - length("dirty.csv", "b.toml")).abs() < 0.05);
    let output = unladen(dir.path(), &["course", "from", "dirty.csv", "--out", "c.toml"]);
    assert!(said(&output).contains("jumps that no car makes"), "{}", said(&output));
    assert!(said(&output).contains("without a time of their own"), "{}", said(&output));
}

/// A log is never written over, and a fit needs its own track.
#[test]
fn bad_input_the_log_is_kept_and_other_tracks_are_refused() {
    let dir = tempfile::tempdir().unwrap();
    fs::write(dir.path().join("day.csv"), text(&log(3.2))).unwrap();
    let output = unladen(dir.path(), &["course", "from", "day.csv", "--out", "day.toml"]);
    assert!(output.status.code() == Some(2) && said(&output).contains("go over a file"), "{}", said(&output));
    let (car, track) = (format!("{ROOT}/vehicles/saloon-awd"), format!("{ROOT}/tracks/valley.toml"));
    let output = unladen(dir.path(), &["fit", &car, &track, "day.csv"]);
    assert!(output.status.code() == Some(2) && said(&output).contains("another track"), "{}", said(&output));
}

/// A log without positions: laps by speed and yaw rate, closed, give the same lap time.
#[test]
fn end_to_end_a_log_without_positions() {
    let dir = tempfile::tempdir().unwrap();
    let (car, track) = (format!("{ROOT}/vehicles/saloon-awd"), format!("{ROOT}/tracks/airfield.toml"));
    let made = unladen(dir.path(), &["course", "log", &car, &track, "--out", "day.csv", "--laps", "5"]);
    assert!(made.status.success(), "{}", said(&made));
    let all = fs::read_to_string(dir.path().join("day.csv")).unwrap();
    let keep = |line: &str| {
        let f: Vec<&str> = line.split(',').collect();
        format!("{},{},{}\n", f[0], f[4], f[7])
    };
    fs::write(dir.path().join("bare.csv"), all.lines().map(keep).collect::<String>()).unwrap();
    let from = unladen(dir.path(), &["course", "from", "bare.csv", "--out", "home.toml", "--plot", "home.svg"]);
    assert!(from.status.success() && said(&from).contains("reckoned from speed and turning"), "{}", said(&from));
    let lap = |track: &str| number(&unladen(dir.path(), &["lap", &car, track, "--json"]), "lap_time_s");
    let (truth, home) = (lap(&track), lap("home.toml"));
    // The airfield has jumps of curvature, which no log resolves.
    assert!((home / truth - 1.0).abs() < 0.01, "{truth} {home}");
    // One lap and a half: nothing comes again.
    let short: String = all.lines().take(900).map(keep).collect();
    fs::write(dir.path().join("short.csv"), short).unwrap();
    let none = unladen(dir.path(), &["course", "from", "short.csv", "--out", "s.toml"]);
    assert!(none.status.code() == Some(2) && said(&none).contains("never comes again"), "{}", said(&none));
}
