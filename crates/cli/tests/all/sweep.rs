//! `sweep` end to end: threads, stopping and going on, cells without a lap, bad input.

use std::fs;
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

use crate::common::{CAR, Folder, OPEN, Run, TRACK, command, unladen};

const COLUMNS: &str = "mass_kg,cg_height_mm,front_share,lap_time_s,delta_s,s_per_kg,s_per_mm_height,s_per_mm_rearward,\
                       lap_time_error_s,fuel_l,grip,status,reason";

/// Coarse stations: these tests are of the sweep, not of its laps.
fn sweep<'a>(more: &[&'a str]) -> Vec<&'a str> {
    ["sweep", CAR, TRACK, "--step", "20"].into_iter().chain(more.iter().copied()).collect()
}

fn run(more: &[&str]) -> Run {
    unladen(&sweep(more))
}

#[test]
fn end_to_end_the_bytes_are_the_same_for_any_number_of_threads() {
    let folder = Folder::new();
    let on = |threads: &str| {
        let path = folder.path(&format!("{threads}.csv"));
        let axes = ["--mass", "1000kg..1300kg:4", "--cg-height", "420mm..560mm:3", "--front-share", "0.45..0.60:4"];
        let more = ["--fuel", "5L..60L:2", "--grip", "0.6..1:2", "--csv", &path];
        let args = sweep(&[&axes[..], &more[..]].concat());
        let output = command(&args).env("RAYON_NUM_THREADS", threads).stdin(Stdio::null()).output().unwrap();
        assert!(output.status.success() && output.stderr.is_empty(), "{}", String::from_utf8_lossy(&output.stderr));
        (fs::read_to_string(&path).unwrap(), output.stdout)
    };
    let one = on("1");
    assert_eq!(one, on("2"));
    assert_eq!(one, on("5"));
    let lines: Vec<&str> = one.0.lines().collect();
    assert_eq!((lines[0], lines.len()), (COLUMNS, 1 + 4 * 3 * 4 * 2 * 2));
    assert_eq!(folder.names(), ["1.csv", "2.csv", "5.csv"], "nothing else is left");
    let text = String::from_utf8(one.1).unwrap().split_whitespace().collect::<Vec<_>>().join(" ");
    for words in ["192 cells", "mass 1000 to 1300 kg in 4", "fastest", "slowest", "as it stands"] {
        assert!(text.contains(words), "{words} in {text}");
    }
}

/// What was typed comes out as it was typed, and a cell of the car as it stands is no faster and no slower.
#[test]
fn end_to_end_a_few_cells_are_printed_whole() {
    let folder = Folder::new();
    let path = folder.path("out.csv");
    let out = run(&["--cg-height", "0.42 m..560mm:3", "--csv", &path]);
    assert_eq!(out.quiet().lines().filter(|l| l.contains("1217.8  ")).count(), 4, "{}", out.out);
    let rows = fs::read_to_string(&path).unwrap();
    let heights: Vec<&str> = rows.lines().skip(1).map(|l| l.split(',').nth(1).unwrap()).collect();
    assert_eq!(heights, ["420", "490", "560"]);
    let json = run(&["--grip", "1", "--json"]).json();
    assert_eq!(json["rows"][0]["delta_s"], 0.0);
    assert_eq!((&json["cells"], &json["without_lap"]), (&1.into(), &0.into()));
    assert_eq!(json["as_it_stands"]["lap_time_s"], json["fastest"]["lap_time_s"]);
}

const MANY: [&str; 4] = ["--mass", "1000kg..1300kg:40", "--cg-height", "420mm..560mm:30"];

fn spawn(path: &str, more: &[&str]) -> Child {
    let args = sweep(&[&MANY[..], &["--csv", path], more].concat());
    let mut run = command(&args);
    run.stdin(Stdio::null()).stdout(Stdio::null()).stderr(Stdio::piped()).spawn().unwrap()
}

/// Waits until this many lines are written.
fn lines(path: &Path, least: usize, child: &mut Child) {
    let start = Instant::now();
    while fs::read_to_string(path).map_or(0, |t| t.lines().count()) < least {
        assert!(child.try_wait().unwrap().is_none(), "it ended before {least} lines were there");
        assert!(start.elapsed() < Duration::from_secs(300));
        std::thread::sleep(Duration::from_millis(5));
    }
}

/// Killed in the middle, twice, and stopped by Ctrl-C once: no file until the end, and then the one that an undisturbed
/// run writes.
#[cfg(unix)]
#[test]
fn end_to_end_stopped_it_goes_on_to_the_same_bytes() {
    let folder = Folder::new();
    let (whole, path) = (folder.path("whole.csv"), folder.path("out.csv"));
    assert!(spawn(&whole, &[]).wait().unwrap().success());
    let partial = folder.path("out.csv.partial");
    let mut resume: &[&str] = &[];
    for least in [257, 513] {
        let mut child = spawn(&path, resume);
        lines(Path::new(&partial), least, &mut child);
        child.kill().unwrap();
        child.wait().unwrap();
        assert!(!Path::new(&path).exists());
        resume = &["--resume"];
    }
    // A line that was torn while it was written.
    let mut torn = fs::read(&partial).unwrap();
    torn.truncate(torn.len() - 7);
    fs::write(&partial, &torn).unwrap();
    // Started anew by mistake, nothing is lost.
    let again = run(&[&MANY[..], &["--csv", &path]].concat());
    again.refused(2, &["add --resume", "out.csv.partial"]);
    // With another step it is another question.
    let args: Vec<&str> = ["sweep", CAR, TRACK, "--step", "21"].into_iter().chain(MANY).collect();
    unladen(&[&args[..], &["--csv", &path, "--resume"]].concat()).refused(2, &["another run"]);
    assert_eq!(fs::read(&partial).unwrap(), torn);

    let mut child = spawn(&path, &["--resume"]);
    lines(Path::new(&partial), 769, &mut child);
    assert!(Command::new("kill").args(["-INT", &child.id().to_string()]).status().unwrap().success());
    let output = child.wait_with_output().unwrap();
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    assert_eq!(output.status.code(), Some(1), "{said}");
    assert!(said.contains("of 1200 cells were done already") && said.contains("with --resume goes on"), "{said}");
    assert!(fs::read(&partial).unwrap().ends_with(b"\n"));
    assert!(!Path::new(&path).exists());

    assert!(spawn(&path, &["--resume"]).wait().unwrap().success());
    assert_eq!(fs::read(&path).unwrap(), fs::read(&whole).unwrap());
    assert_eq!(folder.names(), ["out.csv", "whole.csv"]);
}

/// A hill that a low-geared car climbs and one with the weight off its driven wheels does not.
#[test]
fn end_to_end_a_cell_without_a_lap_is_a_row_that_says_why() {
    let folder = Folder::new();
    let hill = folder.course(OPEN, "60,0,0,34,34,0,0\n");
    let path = folder.path("out.csv");
    let args = ["sweep", "vehicles/saloon-rwd", &hill, "--grip", "0.3..1.2:4", "--csv", &path];
    let out = unladen(&args);
    assert_eq!(out.code, Some(0), "{}", out.err);
    assert!(out.out.contains("no lap") && out.out.contains("cells. The first: "), "{}", out.out);
    let text = fs::read_to_string(&path).unwrap();
    let rows: Vec<Vec<&str>> = text.lines().skip(1).map(|l| l.split(',').collect()).collect();
    assert_eq!(rows.len(), 4);
    assert_eq!((rows[0][3], rows[0][11]), ("", "no lap"));
    assert!(rows[0][12].contains("cannot move off"), "{text}");
    assert_eq!((rows[3][11], rows[3][12]), ("ok", ""));
}

#[cfg(feature = "parquet")]
#[test]
fn end_to_end_parquet_by_its_name() {
    let folder = Folder::new();
    let path = folder.path("out.parquet");
    run(&["--mass", "1000kg..1300kg:3", "--csv", &path]).quiet();
    let bytes = fs::read(&path).unwrap();
    assert!(bytes.starts_with(b"PAR1") && bytes.ends_with(b"PAR1"));
    assert_eq!(folder.names(), ["out.parquet"]);
}

#[cfg(not(feature = "parquet"))]
#[test]
fn bad_input_parquet_is_another_build() {
    let folder = Folder::new();
    run(&["--csv", &folder.path("out.parquet")]).refused(2, &["cargo build --release --features parquet", "write CSV"]);
    assert!(folder.names().is_empty());
}

#[test]
fn end_to_end_a_picture_of_one_or_two_axes() {
    let folder = Folder::new();
    let path = folder.path("out.svg");
    let words = |axes: &[&str]| {
        run(&[axes, &["--plot", &path]].concat()).quiet();
        fs::read_to_string(&path).unwrap()
    };
    let two = words(&["--mass", "1000kg..1300kg:4", "--cg-height", "420mm..560mm:15"]);
    for text in ["mass, kg", "420 mm", "560 mm", "as it stands"] {
        assert!(two.contains(&format!(">{text}</text>")), "{text}");
    }
    assert!(words(&["--grip", "0.6..1:3"]).contains(">grip</text>"));
    let three = ["--mass", "1t..2t:2", "--cg-height", "0.4m..0.5m:2", "--grip", "0.6..1:2", "--plot", &path];
    run(&three).refused(2, &["draws one or two axes that change", "has 3 of 8 cells"]);
    run(&["--mass", "1t", "--plot", &path]).refused(2, &["has 0 of 1 cells"]);
    run(&["--mass", "1t..2t:2", "--plot", &path, "--csv", &path]).refused(2, &["two outputs can't go to one file"]);
}

#[test]
fn end_to_end_rows_to_a_pipe() {
    let out = run(&["--mass", "1000kg..1300kg:3", "--csv", "/dev/stdout"]);
    assert!(out.quiet().starts_with(COLUMNS), "{}", out.out);
}

#[test]
fn bad_input_of_a_sweep() {
    let folder = Folder::new();
    let there = folder.path("none/out.csv");
    for (more, words) in [
        (&[][..], &["nothing is swept", "--mass 1000kg..1300kg:21"][..]),
        (&["--mass", "1000..1300kg:3"], &["a unit is due", "write \"1000 kg\""]),
        (&["--mass", "1000kg..1300kg"], &["FROM..TO:COUNT is due", "for example 1000kg..1300kg:21"]),
        (&["--mass", "1000kg..1300kg:x"], &["`x` is no count"]),
        (&["--mass", "1000kg..1300kg:1"], &["one value, but two ends"]),
        (&["--mass=-5kg..1300kg:3"], &["-5kg is outside"]),
        (&["--mass", "1000kg..1300mm:3"], &["a length where a mass is due"]),
        (&["--front-share", "0..1:3"], &["outside 0 … 1, both excluded"]),
        (&["--front-share", "0.5kg..0.6:3"], &["a mass where"]),
        (&["--grip", "0.5..nan:3"], &["not a finite number"]),
        (&["--fuel", "0L..500L:3"], &["--fuel: 500 L do not fit"]),
        (&["--mass", "x", "--grip", "y"], &["--mass: not a number", "--grip: not a number"]),
        (
            &["--mass", "1000kg..1300kg:1000", "--cg-height", "420mm..560mm:1000", "--front-share", "0.45..0.60:1000"],
            &["a sweep of 1000000000 cells would take about", "at most 10000000 are swept"],
        ),
        (
            &["--mass", "1000kg..1300kg:9999999999", "--cg-height", "420mm..560mm:9999999999"],
            &["a sweep of more than can be counted cells"],
        ),
        (&["--mass", "1000kg..1300kg:3", "--csv", &there], &["make it first"]),
        (&["--mass", "1000kg..1300kg:3", "--csv", "vehicles/saloon-awd/ledger.csv"], &["would be lost"]),
        (&["--mass", "1000kg..1300kg:3", "--resume"], &["--csv"]),
        (&["--mass", "1000kg..1300kg:3", "--set", "mass.totl=5kg"], &["did you mean `mass.total`?"]),
    ] {
        run(more).refused(2, words);
    }
    // A car without a tank.
    let car = fs::read_to_string(crate::common::root().join(CAR).join("car.toml")).unwrap();
    let (before, after) = (car.split("[fuel]").next().unwrap(), car.split("[driver]").nth(1).unwrap());
    let bare = folder.write(
        "car.toml",
        format!("{before}[driver]{after}").replace(", fuel 20 L", "").replace("fuel   = \"20 L\"", "fuel   = \"0 L\""),
    );
    unladen(&["sweep", &bare, TRACK, "--fuel", "0L..5L:2"]).refused(2, &["no [fuel]"]);
    assert_eq!(folder.names(), ["car.toml"]);
}
