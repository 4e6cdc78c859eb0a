//! What is endless, deep or hostile is refused with a word, within a gigabyte.
#![allow(clippy::unwrap_used)]

use std::fs;

use crate::common::{CAR, Folder, Run, TRACK, root, unladen};

/// With a gigabyte of memory, where a shell can say so.
fn within(args: &[&str]) -> Run {
    let script = "ulimit -v 1400000; exec \"$0\" \"$@\"";
    let mut command = std::process::Command::new("sh");
    command.args(["-c", script, env!("CARGO_BIN_EXE_unladen")]).args(args).current_dir(root());
    let output = command.stdin(std::process::Stdio::null()).output().unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    Run { code: output.status.code(), out: text(output.stdout), err: text(output.stderr) }
}

#[cfg(unix)]
#[test]
fn bad_input_files_without_an_end() {
    let folder = Folder::new();
    within(&["fit", CAR, TRACK, "/dev/zero"]).refused(2, &["/dev/zero: 65 MB; at most 64 MB are read"]);
    within(&["lap", "/dev/zero", TRACK]).refused(2, &["at most 1 MB are read"]);
    let log = folder.write("log.csv", "time,lat,lon\n0,52,-1\n");
    std::os::unix::fs::symlink("/dev/zero", folder.path("log.csv.columns.toml")).unwrap();
    within(&["course", "from", &log, "--out", &folder.path("t.toml")]).refused(2, &["at most 1 MB are read"]);
}

#[test]
fn bad_input_files_at_their_limits() {
    let folder = Folder::new();
    let check = |name: &str, text: String| within(&["check", &folder.write(name, text)]);
    for text in ["1,2\n".repeat(262_000), "[".repeat(1_040_000), "a = ".to_owned() + &"{b=".repeat(300_000)] {
        let run = check("big.toml", text);
        assert!(run.code == Some(2) && run.err.len() < 200_000, "{} bytes of message", run.err.len());
    }
    let head = "item,state,mass_before_kg,x_before_mm,y_before_mm,z_before_mm,mass_after_kg\n";
    check("ledger.csv", format!("{head}{}", "x,".repeat(4_000_000))).refused(2, &["fields where the header has 7"]);
    check("ledger.csv", "item,".repeat(1_600_000)).refused(2, &["more than 200 columns"]);
    let row = |i: usize| format!("part {i},idea,1,100,0,300,\n");
    check("ledger.csv", format!("{head}{}", (0..10_001).map(row).collect::<String>()))
        .refused(2, &["more than 10000 rows"]);
    let run = check("ledger.csv", format!("{head}{}", (0..10_000).map(row).collect::<String>()));
    assert_eq!(run.code, Some(0), "{}", &run.err[..run.err.len().min(2000)]);
    let head = "schema = 1\nname = \"t\"\nclosed = false\nstart_speed = \"0 m/s\"\n";
    folder.write("many.toml", format!("{head}segments = \"many.csv\"\n"));
    let rows = |n: usize| "length_m,curvature_start_1pm,curvature_end_1pm\n".to_owned() + &"1,0,0\n".repeat(n);
    check("many.csv", rows(1_000_001)).refused(2, &["more than 1000000 segments"]);
    folder.write("many.csv", rows(1_000_000));
    let drawn = within(&["course", "draw", &folder.path("many.toml"), "--plot", &folder.path("many.svg")]);
    assert_eq!(drawn.code, Some(0), "{}", drawn.err);
    // Each needs the next, all exclude the first, each has an area of its own.
    folder.write("car.toml", fs::read(root().join(CAR).join("car.toml")).unwrap());
    let head = "item,state,area,mass_before_kg,x_before_mm,y_before_mm,z_before_mm,mass_after_kg,needs,excludes\n";
    let row = |i: usize| format!("p{i},planned,a{i},0.01,100,0,300,,p{},{}\n", i + 1, if i > 0 { "p0" } else { "" });
    let last = "p9999,idea,a,0.01,100,0,300,,,\n";
    folder.write("ledger.csv", head.to_owned() + &(0..9999).map(row).collect::<String>() + last);
    let run = within(&["ledger", &folder.path("")]);
    assert_eq!(run.code, Some(0), "{}", &run.err[..run.err.len().min(2000)]);
    let course = |name: &str, text: String| {
        within(&["course", "from", &folder.write(name, text), "--out", &folder.path("t.toml")])
    };
    let gpx = format!("<?xml version=\"1.0\"?><gpx>{}", "<extensions>".repeat(100_000));
    course("deep.gpx", gpx).refused(2, &["within one another"]);
    let rows = "1,2,3\n".repeat(2_000_001);
    course("long.csv", format!("time,lat,lon\n{rows}")).refused(2, &["more than 2000000 rows"]);
}

#[test]
fn bad_input_names_and_numbers_that_make_no_track() {
    let folder = Folder::new();
    let point = |i: usize, h: &str| {
        let a = i as f64 * std::f64::consts::TAU / 100.0;
        let (lat, lon) = (52.0 + 0.001 * a.sin(), -1.0 + 0.002 * a.cos());
        format!("<trkpt lat=\"{lat:.7}\" lon=\"{lon:.7}\"><ele>{h}</ele></trkpt>")
    };
    let gpx = |name: &str, h: &str| {
        let points: String = (0..101).map(|i| point(i, h)).collect();
        format!(
            "<?xml version=\"1.0\"?><gpx version=\"1.1\" creator=\"t\" xmlns=\"http://www.topografix.com/GPX/1/1\">\
            <wpt lat=\"52.001\" lon=\"-1\"><name>{name}</name></wpt><trk><name>{name}</name><trkseg>{points}</trkseg></trk></gpx>"
        )
    };
    let names =
        ["Copse, T1", "a\n100,0,0,0,0,0,0,1,b", "=cmd|x", "say &quot;go&quot;", "# x", "&#x202e;x", "'", " ", "'=x"];
    let mut times = Vec::new();
    for (i, (name, h)) in names.iter().map(|n| (*n, "50")).chain([("x", "-9999"), ("x", "99999")]).enumerate() {
        let file = folder.write(&format!("{i}.gpx"), gpx(name, h));
        let out = folder.path(&format!("{i}.toml"));
        let made = unladen(&["course", "from", &file, "--out", &out, "--closed"]);
        assert_eq!(made.code, Some(0), "{name:?} {h}: {}", made.err);
        assert_eq!(unladen(&["check", &out, &folder.path(&format!("{i}.csv"))]).code, Some(0), "{name:?}");
        let lap = unladen(&["lap", CAR, &out, "--json"]);
        assert_eq!(lap.code, Some(0), "{name:?} {h}: {}", lap.err);
        times.push(lap.json()["lap_time_s"].as_f64().unwrap());
    }
    // No name adds a segment.
    assert!(times.iter().take(names.len()).all(|t| (t - times[0]).abs() < 1e-9), "{times:?}");
    let file = folder.write("x.gpx", gpx("x", "50"));
    for more in [
        ["--noise=-1"],
        ["--noise=nan"],
        ["--tolerance=nan"],
        ["--start=nan,nan"],
        ["--name="],
        ["--place=a\nb=52,1"],
        ["--name=a\u{1b}b"],
    ] {
        let run = unladen(&[&["course", "from", &file, "--out", &folder.path("y.toml")][..], &more].concat());
        assert!(run.code == Some(2) && !run.err.contains('\u{1b}'), "{more:?}: {:?}", run.err);
    }
    assert!(!folder.names().contains(&"y.toml".to_owned()));
}

#[test]
fn bad_input_arguments_outside_their_ranges() {
    let track = |w: &str| format!("{TRACK}={w}");
    for weight in ["1e308", "-1", "nan", "0"] {
        unladen(&["worth", CAR, &track(weight)]).refused(2, &["a weight is due"]);
    }
    let moved = |more: &str| unladen(&["move", CAR, TRACK, "--item", "fuel tank", "--to", "1950,0,210", more]);
    moved("--added-mass=1e308kg").refused(2, &["possible: 0 … 50000 kg"]);
    moved("--added-mass=nankg").refused(2, &["no mass"]);
    moved("--box=1e9,1,1").refused(2, &["the inside of a box"]);
    moved("--stint=1e300L..5L").refused(2, &["no stint"]);
    unladen(&["compare", CAR, CAR, TRACK, "--apart", "nope"]).refused(2, &["--apart nope", "mass."]);
    for more in ["--noise=-1", "--wander=nan", "--dropouts=1", "--rate=0"] {
        let folder = Folder::new();
        let run = unladen(&["course", "log", CAR, TRACK, "--out", &folder.path("l.csv"), more]);
        assert!(run.code == Some(2) && folder.names().is_empty(), "{more}: {}", run.err);
    }
}

#[test]
fn bad_input_clocks_and_speeds_that_are_none() {
    let folder = Folder::new();
    let at = |i: usize| {
        let a = i as f64 / 60.0;
        format!("{:.7},{:.7}", 52.0 + 0.001 * a.sin(), -1.0 + 0.002 * a.cos())
    };
    let log = |row: &dyn Fn(usize) -> String| {
        let rows: String = (0..6000).map(|i| row(i) + "\n").collect();
        let file = folder.write("log.csv", format!("time,lat,lon,speed (m/s)\n{rows}"));
        unladen(&["course", "from", &file, "--out", &folder.path("t.toml")])
    };
    log(&|i| format!("5,{},20", at(i))).refused(2, &["the clock stands still", "--column time=NAME"]);
    log(&|i| format!("{:.1},{},0", 0.1 * i as f64, at(i)))
        .refused(2, &["speed is never above 0", "--column speed=NAME"]);
    log(&|i| format!("{:.1},{},-20", 0.1 * i as f64, at(i))).refused(2, &["speed is never above 0"]);
    let head = "item,state,mass_before_kg,x_before_mm,y_before_mm,z_before_mm,mass_after_kg\n";
    folder.write("car.toml", fs::read(root().join(CAR).join("car.toml")).unwrap());
    folder.write("ledger.csv", format!("{head}seat,idea,\"1,200\",100,0,300,\n"));
    unladen(&["ledger", &folder.path("")]).refused(2, &["a decimal sign or a thousands separator"]);
}

#[cfg(unix)]
#[test]
fn bad_input_of_a_file_elsewhere_nothing_is_quoted() {
    let folder = Folder::new();
    let head = "schema = 1\nname = \"t\"\nclosed = false\nstart_speed = \"0 m/s\"\n";
    let run = unladen(&["check", &folder.write("t.toml", format!("{head}segments = \"/etc/passwd\"\n"))]);
    run.refused(2, &["/etc/passwd", "outside the track's folder"]);
    assert!(!run.err.contains("root:"), "{}", run.err);
    std::os::unix::fs::symlink("/etc/passwd", folder.path("link.csv")).unwrap();
    let run = unladen(&["check", &folder.write("t.toml", format!("{head}segments = \"link.csv\"\n"))]);
    assert!(run.code == Some(2) && !run.err.contains("root:"), "{}", run.err);
    let run = unladen(&["check", &folder.write("e.toml", "schema = 1\nname = \"a\\u001b[31m\"\nn\u{1b}[31mb = 3\n")]);
    assert!(run.code == Some(2) && !run.err.contains('\u{1b}'), "{:?}", run.err);
}

/// A pipe is read once: a page tells the hash of what was read, and one without a writer is waited for aloud.
#[cfg(unix)]
#[test]
fn end_to_end_pipes() {
    let folder = Folder::new();
    let (pipe, out) = (folder.path("pipe.toml"), folder.path("r.html"));
    assert!(std::process::Command::new("mkfifo").arg(&pipe).status().unwrap().success());
    let car = fs::read(root().join(CAR).join("car.toml")).unwrap();
    let (path, bytes) = (pipe.clone(), car.clone());
    let writer = std::thread::spawn(move || {
        std::thread::sleep(std::time::Duration::from_millis(1500));
        fs::write(path, bytes).unwrap();
    });
    let run = unladen(&["report", &pipe, TRACK, "--out", &out, "--step", "20"]);
    writer.join().unwrap();
    assert_eq!(run.code, Some(0), "{}", run.err);
    assert!(run.err.contains("waiting for whoever writes to it"), "{}", run.err);
    let sum = std::process::Command::new("sha256sum").arg(folder.write("car.toml", car)).output().unwrap();
    let hash = String::from_utf8(sum.stdout).unwrap()[..64].to_owned();
    assert!(fs::read_to_string(&out).unwrap().contains(&hash));
}
