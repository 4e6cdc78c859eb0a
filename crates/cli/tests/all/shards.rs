//! `sweep --shard` and `--join`: parts computed apart make the bytes of a sweep in one go.

use std::fs;

use crate::common::{CAR, Folder, Run, TRACK, unladen};

const AXES: [&str; 6] = ["--mass", "1000kg..1300kg:7", "--cg-height", "420mm..560mm:5", "--grip", "0.6..1:2"];

/// Coarse stations: these tests are of the parts, not of their laps.
fn sweep(more: &[&str]) -> Run {
    unladen(&[&["sweep", CAR, TRACK, "--step", "20"], &AXES[..], more].concat())
}

/// Of CSV and of Parquet where this build has it.
fn endings() -> Vec<&'static str> {
    if cfg!(feature = "parquet") { vec!["csv", "parquet"] } else { vec!["csv"] }
}

#[test]
fn end_to_end_parts_in_any_order_make_the_same_bytes() {
    for ending in endings() {
        let folder = Folder::new();
        let (whole, table) = (folder.path(&format!("whole.{ending}")), folder.path(&format!("out.{ending}")));
        let text = sweep(&["--csv", &whole]).quiet().to_owned();
        for k in [3, 1, 4, 2] {
            let said = sweep(&["--csv", &table, "--shard", &format!("{k}/4")]).quiet().to_owned();
            assert!(said.contains(&format!("Part {k} of 4")) && said.contains("of 70"), "{said}");
            let part = fs::read(folder.path(&format!("out.{k}-of-4.{ending}"))).unwrap();
            assert!(!part.is_empty());
        }
        assert!(!fs::exists(&table).unwrap());
        let joined = sweep(&["--csv", &table, "--join"]).quiet().to_owned();
        assert_eq!(fs::read(&table).unwrap(), fs::read(&whole).unwrap(), "{ending}");
        assert_eq!(joined, text);
        assert_eq!(folder.names().len(), 2 + 2 * 4, "{:?}", folder.names());
        // Joined again, it is the same; a picture may be made of it.
        let picture = folder.path("out.svg");
        sweep(&["--csv", &table, "--join", "--contours", &picture]).quiet();
        assert_eq!(fs::read(&table).unwrap(), fs::read(&whole).unwrap(), "{ending}");
    }
}

#[test]
fn bad_input_parts_that_are_missing_or_anothers() {
    let folder = Folder::new();
    let table = folder.path("out.csv");
    sweep(&["--csv", &table, "--join"]).refused(2, &["no part of it is here", "--shard 1/8"]);
    for k in ["1/4", "4/4"] {
        sweep(&["--csv", &table, "--shard", k]).quiet();
    }
    sweep(&["--csv", &table, "--join"]).refused(2, &["parts 2/4, 3/4 are missing", "--shard"]);
    for k in ["2/4", "3/4"] {
        sweep(&["--csv", &table, "--shard", k]).quiet();
    }
    assert!(!fs::exists(&table).unwrap());
    // Another step is another sweep, and so is a part that was copied over another's.
    let other = ["sweep", CAR, TRACK, "--step", "21"];
    unladen(&[&other[..], &AXES, &["--csv", &table, "--join"]].concat())
        .refused(2, &["out.1-of-4.csv", "of another sweep"]);
    let path = |k: u32| folder.path(&format!("out.{k}-of-4.csv"));
    let second = fs::read(path(2)).unwrap();
    fs::copy(path(3), path(2)).unwrap();
    sweep(&["--csv", &table, "--join"]).refused(2, &["out.2-of-4.csv", "--shard 2/4"]);
    // A number that somebody changed, and a row that is lost.
    let text = String::from_utf8(second.clone()).unwrap();
    let rows: Vec<&str> = text.lines().collect();
    fs::write(path(2), rows[..rows.len() - 1].join("\n") + "\n").unwrap();
    sweep(&["--csv", &table, "--join"]).refused(2, &["out.2-of-4.csv", "--shard 2/4"]);
    fs::write(path(2), "nonsense\n").unwrap();
    sweep(&["--csv", &table, "--join"]).refused(2, &["out.2-of-4.csv", "columns"]);
    fs::write(path(2), &second).unwrap();
    fs::remove_file(folder.path("out.4-of-4.csv.json")).unwrap();
    sweep(&["--csv", &table, "--join"]).refused(2, &["out.4-of-4.csv.json", "which question"]);
    assert!(!fs::exists(&table).unwrap());
    sweep(&["--csv", &table, "--shard", "4/4"]).quiet();
    sweep(&["--csv", &table, "--shard", "1/3"]).quiet();
    sweep(&["--csv", &table, "--join"]).refused(2, &["a table in 3 and of one in 4"]);
    assert!(!folder.names().iter().any(|name| name.contains("partial")), "{:?}", folder.names());
}

/// Killed in the middle, a part goes on to the bytes of one that was left alone.
#[cfg(unix)]
#[test]
fn end_to_end_an_interrupted_part_goes_on() {
    let folder = Folder::new();
    let (table, alone) = (folder.path("out.csv"), folder.path("alone.csv"));
    sweep(&["--csv", &alone, "--shard", "2/2"]).quiet();
    sweep(&["--csv", &table, "--shard", "2/2"]).quiet();
    let part = folder.path("out.2-of-2.csv");
    // As it stands while it is computed: some rows, the last one torn, beside it what they answer.
    let rows = fs::read_to_string(&part).unwrap();
    fs::write(folder.path("out.2-of-2.csv.partial"), &rows[..rows.len() / 2]).unwrap();
    fs::rename(folder.path("out.2-of-2.csv.json"), folder.path("out.2-of-2.csv.partial.json")).unwrap();
    fs::remove_file(&part).unwrap();
    sweep(&["--csv", &table, "--shard", "1/2"]).quiet();
    sweep(&["--csv", &table, "--join"]).refused(2, &["part 2/2 is missing", "--resume: 2/2"]);
    sweep(&["--csv", &table, "--shard", "2/2"]).refused(2, &["add --resume"]);
    let out = sweep(&["--csv", &table, "--shard", "2/2", "--resume"]);
    assert!(out.code == Some(0) && out.err.contains("of 35 cells were done already"), "{}", out.err);
    assert_eq!(fs::read(&part).unwrap(), fs::read(folder.path("alone.2-of-2.csv")).unwrap());
    sweep(&["--csv", &table, "--join"]).quiet();
}

#[test]
fn bad_input_of_parts() {
    let folder = Folder::new();
    let table = folder.path("out.csv");
    for (more, words) in [
        (&["--shard", "1/2"][..], &["--csv"][..]),
        (&["--csv", &table, "--shard", "0/2"], &["K/N is due"]),
        (&["--csv", &table, "--shard", "3/2"], &["K/N is due"]),
        (&["--csv", &table, "--shard", "half"], &["K/N is due"]),
        (&["--csv", &table, "--shard", "1/71"], &["a part of no cells", "70 parts at most"]),
        (&["--csv", &table, "--shard", "1/2", "--join"], &["--join"]),
        (&["--csv", &table, "--shard", "1/2", "--json"], &["--json"]),
        (&["--join"], &["--csv"]),
    ] {
        sweep(more).refused(2, words);
    }
    assert!(folder.names().is_empty());
    // What is too much for one run is not too much for a part of it.
    let many =
        ["--mass", "1000kg..1300kg:1000", "--cg-height", "420mm..560mm:1000", "--front-share", "0.45..0.60:1000"];
    let words =
        |shard| [&["sweep", CAR, TRACK, "--step", "20"], &many[..], &["--csv", &table, "--shard", shard]].concat();
    unladen(&words("1/2")).refused(2, &["a sweep of 500000000 cells", "at most 10000000"]);
    unladen(&words("1000000000/1000000000")).quiet();
    assert_eq!(fs::read_to_string(folder.path("out.1000000000-of-1000000000.csv")).unwrap().lines().count(), 2);
}
