//! Where results go: whole files or none, pipes that close, and nothing written over that is not a result.

use std::io::Read;
use std::process::Stdio;

use crate::common::{CAR, Folder, OPEN, TRACK, command, root, unladen};

#[test]
fn bad_input_destinations_are_refused_before_the_run() {
    let folder = Folder::new();
    let (nowhere, pdf) = (folder.path("no/x.svg"), folder.path("x.pdf"));
    let (a, same) = (folder.path("a.svg"), folder.path("./a.svg"));
    // The track is missing too, and yet it is the output that is complained about.
    for (args, words) in [
        (&["--plot", &pdf][..], "must end in .svg or .png"),
        (&["--plot", &nowhere], "there is no folder"),
        (&["--csv", &nowhere], "there is no folder"),
        (&["--csv", &folder.path("")], "is a folder"),
        (&["--csv", &a, "--plot", &same], "two outputs can't go to one file"),
    ] {
        for command in ["lap", "worth"] {
            let mut all = vec![command, CAR, "no-such-track.toml"];
            all.extend(args);
            unladen(&all).refused(2, &[words]);
        }
    }
    assert!(folder.names().is_empty());
}

/// A slip of the tongue must not cost a surveyed track.
#[test]
fn bad_input_a_file_that_unladen_reads_is_not_written_over() {
    let folder = Folder::new();
    let track = folder.course(OPEN, "300,0,0,0,0,0,0\n");
    let car = folder.write("car.toml", std::fs::read(root().join(CAR).join("car.toml")).unwrap());
    for (path, what) in
        [(folder.path("t.csv"), "a track's segments"), (track.clone(), "a track"), (car.clone(), "a car")]
    {
        let before = std::fs::read(&path).unwrap();
        unladen(&["lap", &car, &track, "--csv", &path]).refused(2, &[&format!("is a file of {what}")]);
        assert_eq!(std::fs::read(&path).unwrap(), before);
    }
    // An earlier result may go.
    let out = folder.path("lap.csv");
    for _ in 0..2 {
        unladen(&["lap", &car, &track, "--csv", &out]).quiet();
    }
}

#[test]
fn bad_input_a_run_that_fails_leaves_no_file_and_keeps_an_old_one() {
    let folder = Folder::new();
    let (csv, plot) = (folder.write("old.csv", "old"), folder.path("new.svg"));
    let args = ["lap", CAR, "tracks/hillclimb.toml", "--csv", &csv, "--plot", &plot];
    let mut args = args.to_vec();
    args.extend(["--set", "driveline.final_drive=0.05"]);
    unladen(&args).refused(1, &["cannot move off"]);
    assert_eq!((folder.names(), std::fs::read_to_string(&csv).unwrap()), (vec!["old.csv".into()], "old".into()));
}

/// A reader that goes away is no error, and no panic.
#[test]
fn end_to_end_a_closed_pipe_is_no_error() {
    for args in [&["lap", CAR, TRACK][..], &["worth", CAR, TRACK, "--json"], &["schema", "car"], &["check", CAR, TRACK]]
    {
        let mut child =
            command(args).stdin(Stdio::null()).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
        drop(child.stdout.take());
        let mut err = String::new();
        child.stderr.take().unwrap().read_to_string(&mut err).unwrap();
        assert_eq!((child.wait().unwrap().code(), err.as_str()), (Some(0), ""), "{args:?}");
    }
}

/// To a pipe, no colours; `NO_COLOR` or not.
#[test]
fn end_to_end_messages_in_a_pipe_are_plain() {
    let run = unladen(&["lap", CAR, TRACK, "--set", "mass.total=-5kg"]);
    assert!(!run.err.contains('\u{1b}'), "{}", run.err);
}

#[cfg(target_os = "linux")]
#[test]
fn end_to_end_a_full_disk_is_a_failure() {
    let output = command(&["lap", CAR, TRACK, "--json"])
        .stdout(std::fs::OpenOptions::new().write(true).open("/dev/full").unwrap())
        .output()
        .unwrap();
    assert_eq!(output.status.code(), Some(1));
    assert!(String::from_utf8_lossy(&output.stderr).contains("can't write the result"));
    let run = unladen(&["lap", CAR, TRACK, "--csv", "/dev/full"]);
    run.refused(1, &["/dev/full: can't write"]);
}
