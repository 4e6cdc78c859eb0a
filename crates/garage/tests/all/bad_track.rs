//! Bad tracks and bad files: each fault is found, at its place, and the message says what would be right.

use std::path::PathBuf;

use crate::common::{CIRCLE, CIRCUIT, COURSE, track};
use unladen_garage::{Explain, FileErrors, Finding, Overrides, Style, read_car, read_track};

const HEAD: &str = "length_m,curvature_start_1pm,curvature_end_1pm";

fn first(toml: &str, csv: &str) -> (Finding, FileErrors) {
    let errors = match track(toml, csv) {
        Err(errors) => errors,
        Ok(_) => panic!("read: {csv:?}"),
    };
    assert!(errors.render(Style::PLAIN).contains(".csv") || errors.render(Style::PLAIN).contains(".toml"));
    (errors.faults[0].clone(), errors)
}

/// (columns after the first three, rows, underlined, message, hint).
const ROWS: &[(&str, &str, &str, &str, &str)] = &[
    ("", "100,0\n", "100,0", "2 fields where the header has 3", ""),
    ("", "100,0,0,0\n", "100,0,0,0", "4 fields where the header has 3", "270.88"),
    ("", "270,88,0,0\n", "270,88,0,0", "4 fields where the header has 3", "a decimal comma splits a number"),
    ("", "\"270,88\",0,0\n", "270,88", "length_m: a decimal comma", "write 270.88"),
    ("", "0,0,0\n", "0", "length_m: 0 is outside 0 … 100000", ""),
    ("", "-5,0,0\n", "-5", "length_m: -5 is outside", ""),
    ("", "100,nan,0\n", "nan", "curvature_start_1pm: not a finite number", ""),
    ("", "100,0,inf\n", "inf", "curvature_end_1pm: not a finite number", ""),
    ("", "100,1e999,0\n", "1e999", "curvature_start_1pm: not a finite number", ""),
    ("", "100,,0\n", "", "curvature_start_1pm: not a number", ""),
    ("", "100,left,0\n", "left", "curvature_start_1pm: not a number", ""),
    // A kink of 180° over a centimetre.
    ("", "0.01,314.16,314.16\n", "314.16", "curvature_start_1pm: 314.16 is outside -1 … 1", ""),
    ("", "100,0,\"0\n", "100,0,\"0", "a quote that is opened and never closed", ""),
    ("", "", "", "no segments", "one row a segment"),
    (
        ",grade_start_pct,grade_end_pct",
        "100,0,0,0,2\n100,0,0,2.5,0\n",
        "100,0,0,2.5,0",
        "grade steps from 2.0000 % to 2.5000 %",
        "a kink in the road",
    ),
    (",grade_start_pct,grade_end_pct", "100,0,0,0,200\n", "200", "grade_end_pct: 200 is outside -100 … 100", ""),
    (",bank_start_deg,bank_end_deg", "100,0,0,0,80\n", "80", "bank_end_deg: 80 is outside -75 … 75", ""),
    (",grip", "100,0,0,0\n", "0", "grip: 0 is outside 0.05 … 5", ""),
    (",grade_start_pct", "100,0,0,0\n", "length_m", "column `grade_end_pct` is missing", "come in pairs"),
    (",bank_end_deg", "100,0,0,0\n", "length_m", "column `bank_start_deg` is missing", "come in pairs"),
    (",gripp", "100,0,0,1\n", "gripp", "unknown column `gripp`", "did you mean `grip`?"),
    (",weather", "100,0,0,1\n", "weather", "unknown column `weather`", "known: length_m"),
    (",length_m", "100,0,0,1\n", "length_m", "column `length_m` twice", ""),
];

#[test]
fn bad_input_one_fault_in_the_segments() {
    for (columns, rows, underlined, message, hint) in ROWS {
        let (fault, errors) = first(COURSE, &format!("# invented\n{HEAD}{columns}\n{rows}"));
        assert!(fault.what.to_string().contains(message), "{rows:?}: {errors}");
        let place = fault.place.as_ref().unwrap();
        assert_eq!(place.source.name, "track.csv");
        let shown = place.text();
        assert!(shown.starts_with(underlined), "{rows:?}: {shown:?}");
        assert!(fault.what.hint().unwrap_or_default().contains(hint), "{rows:?}: {:?}", fault.what.hint());
    }
}

#[test]
fn bad_input_every_row_with_a_fault() {
    let csv = format!(
        "{HEAD},grade_start_pct,grade_end_pct\n100,x,0,0,0\n\n100,0,0,0,3\n# so\n100,0,0,0,0\nnan,0,0,0,0\n5\n"
    );
    let (_, errors) = first(COURSE, &csv);
    let found: Vec<(usize, usize)> =
        errors.faults.iter().map(|f| f.place.as_ref().map(|p| (p.line(), p.column())).unwrap()).collect();
    assert_eq!(found, [(2, 5), (6, 1), (7, 1), (8, 1)], "{errors}");
}

#[test]
fn bad_input_no_header() {
    for csv in ["100,0,0\n", "# only a comment\n", "\u{feff}", ",,\n", "\n\n\n", ";;;"] {
        let (fault, _) = first(COURSE, csv);
        assert!(fault.what.to_string().contains("column"), "{csv:?}: {fault}");
    }
}

#[test]
fn bad_input_circuits() {
    let (fault, _) = first(CIRCUIT, &CIRCLE.replace("628.3185307", "600"));
    let text = fault.to_string();
    assert!(
        text.starts_with("track.toml:3:") && text.contains("does not close: heading -16.23° (1° allowed)"),
        "{text}"
    );
    assert!(fault.what.hint().unwrap().contains("closure = \"as measured\""));
    let uphill = format!("{HEAD},grade_start_pct,grade_end_pct\n628.3185307,0.01,0.01,0.1,0.1\n");
    assert!(first(CIRCUIT, &uphill).0.to_string().contains("height +0.63 m (0.5 m allowed)"));
    let step = format!("{HEAD},grade_start_pct,grade_end_pct\n628.3185307,0.01,0.01,0.1,-0.1\n");
    assert!(first(CIRCUIT, &step).0.to_string().contains("grade steps across the line"));
    let moving = format!("{CIRCUIT}start_speed = \"50 km/h\"\n");
    assert!(first(&moving, CIRCLE).0.to_string().contains("a circuit has no start speed"));
}

#[test]
fn bad_input_courses() {
    let standing = COURSE.replace("start_speed = \"0 km/h\"\n", "");
    let (fault, _) = first(&standing, CIRCLE);
    assert!(fault.to_string().contains("start_speed is missing"), "{fault}");
    for (from, to, message) in [
        ("0 km/h", "-5 km/h", "start_speed: -5 km/h is outside 0 … 1000 km/h"),
        ("0 km/h", "5 km", "a length where a speed is due"),
        ("closed = false", "closed = \"no\"", "closed: a text where true or false is due"),
        ("closed = false\n", "", "closed is missing"),
        ("segments = \"track.csv\"\n", "", "segments is missing"),
        ("schema", "closure = \"as measured\"\nschema", "an open course needs no closure"),
        ("schema", "closure = \"yes\"\nschema", "closure: `yes` is not `as measured`"),
        ("schema", "grip = 0\nschema", "grip: 0 is outside 0.05 … 5"),
        ("schema", "air.altitude = \"20 km\"\nschema", "air.altitude: 20000 m is outside -2000 … 11000 m"),
        ("schema", "air.temperature = \"18\"\nschema", "air.temperature: a unit is due"),
        ("schema", "air.presure = \"18\"\nschema", "unknown key air.presure"),
    ] {
        let toml = COURSE.replacen(from, to, 1);
        let (_, errors) = first(&toml, CIRCLE);
        assert!(errors.to_string().contains(message), "{to}: {errors}");
    }
}

#[test]
fn bad_input_faults_of_both_files_together() {
    let (_, errors) = first(&COURSE.replace("schema = 1", "schema = 3"), &CIRCLE.replace("0.01", "x"));
    let names: Vec<_> = errors.faults.iter().map(|f| f.place.as_ref().unwrap().source.name.as_str()).collect();
    assert_eq!(names, ["track.toml", "track.csv", "track.csv"], "{errors}");
}

fn folder() -> PathBuf {
    let folder = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join("bad_track");
    std::fs::create_dir_all(&folder).unwrap();
    folder
}

#[test]
fn bad_input_files_that_are_no_text() {
    let folder = folder();
    // Wide enough that no folder's name, however long, breaks the message's line.
    let wide = Style { width: 10_000, ..Style::PLAIN };
    let long = folder.join("long.toml");
    std::fs::File::create(&long).unwrap().set_len((64 << 20) + 1).unwrap();
    for (name, bytes, message) in [
        ("empty.toml", &b""[..], "empty"),
        ("blank.toml", b"\xef\xbb\xbf \r\n\t", "empty"),
        ("junk.toml", b"a = 1\n\xff\xfe\x00", "not text: byte 6 of the file (line 2) is not UTF-8"),
        ("nul.toml", b"a = \"\0\"", "not text: byte 5"),
        ("utf16.toml", b"\xff\xfea\0=\0", "not text: byte 0"),
    ] {
        let path = folder.join(name);
        std::fs::write(&path, bytes).unwrap();
        for errors in
            [read_car(&path, &Overrides::none()).unwrap_err(), read_track(&path, &Overrides::none(), None).unwrap_err()]
        {
            assert!(errors.to_string().ends_with(message) || errors.to_string().contains(message), "{name}: {errors}");
            assert!(errors.render(wide).contains(message), "{name}: {}", errors.render(wide));
        }
    }
    for (path, message) in [
        (folder.clone(), "a directory, not a file"),
        (folder.join("absent.toml"), "no such file"),
        (folder.join("blank.toml/x"), "blank.toml/x: "),
        (long, "65 MB; at most 1 MB are read"),
    ] {
        let errors = read_car(&path, &Overrides::none()).unwrap_err();
        assert!(errors.to_string().contains(message), "{errors}");
    }
}

#[test]
fn bad_input_segments_that_are_not_there() {
    let path = folder().join("lonely.toml");
    std::fs::write(&path, COURSE.replace("track.csv", "lonely.csv")).unwrap();
    let errors = read_track(&path, &Overrides::none(), Some(-1.0)).unwrap_err();
    let text = errors.to_string();
    assert!(text.contains("lonely.csv: no such file") && text.contains("--grip:1:1: grip: -1 is outside"), "{text}");
    let rendered = errors.render(Style::PLAIN);
    assert!(rendered.contains("segments = \"lonely.csv\""), "{rendered}");
}
