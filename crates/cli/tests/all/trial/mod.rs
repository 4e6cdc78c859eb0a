//! `trial` end to end: planned, sealed, read, kept, learnt from, looked back on.

use std::fs;

use crate::common::{CAR, Folder, TRACK, root, unladen};

/// A copy of the demo car, and of the one beside it that a row of its ledger makes of it, to keep trials beside.
fn car() -> (Folder, String) {
    let folder = Folder::new();
    for name in ["saloon-awd", "saloon-rwd"] {
        fs::create_dir(folder.path(name)).unwrap();
        for file in fs::read_dir(root().join("vehicles").join(name)).unwrap().map(|e| e.unwrap().path()) {
            let to = format!("{name}/{}", file.file_name().unwrap().to_str().unwrap());
            folder.write(&to, fs::read(&file).unwrap());
        }
    }
    let path = folder.path("saloon-awd");
    (folder, path)
}

/// The one file in the folder of trials that ends so.
fn trial(folder: &Folder, end: &str) -> std::path::PathBuf {
    let all = fs::read_dir(folder.path("saloon-awd/trials")).unwrap().map(|e| e.unwrap().path());
    all.filter(|p| p.to_string_lossy().ends_with(end)).min_by_key(|p| p.as_os_str().len()).unwrap()
}

const TIMES: &str =
    "A out 95.0 76.1 76.3 76.0 76.2 in 99 | B 76.8 76.6 76.9 76.7 | B 76.7 76.8 81.0 76.6 76.8 | A 76.2 76.0 76.1 76.3";

#[test]
fn end_to_end_a_scale_test_from_plan_to_diary() {
    let (folder, car) = car();
    let sheet = folder.path("sheet.html");
    let plan = unladen(&["trial", "plan", &car, TRACK, "--ballast", "60kg", "--sheet", &sheet]);
    assert_eq!(plan.code, Some(0), "{}", plan.err);
    assert!(
        plan.out.contains("A day can show it: 60 kg of ballast") && plan.out.contains("s a lap slower"),
        "{}",
        plan.out
    );
    assert!(plan.out.lines().count() <= 45 && plan.out.lines().all(|l| l.chars().count() <= 80), "{}", plan.out);
    assert_eq!(plan.out.matches("SAFETY").count(), 1);
    let page = fs::read_to_string(&sheet).unwrap();
    assert!(page.contains("Run 3: ") && page.contains("fuel in, kg") && page.contains("traffic, mistake"));

    let sealed = unladen(&["trial", "seal", &car, TRACK, "--ballast", "60kg", "--name", "Scale test"]);
    assert_eq!(sealed.code, Some(0), "{}", sealed.err);
    let file = trial(&folder, "scale-test.toml");
    let again = unladen(&["trial", "seal", &car, TRACK, "--ballast", "60kg", "--name", "Scale test"]);
    again.refused(2, &["is sealed there already", "never replaced"]);

    let name = file.file_stem().unwrap().to_str().unwrap();
    let (plot, csv) = (folder.path("read.svg"), folder.path("laps.csv"));
    let read = unladen(&["trial", "read", &car, name, "--times", TIMES, "--plot", &plot, "--keep"]);
    assert_eq!(read.code, Some(0), "{}", read.err);
    assert!(read.out.contains("Confirmed: 60 kg of ballast"), "{}", read.out);
    for words in ["out-lap", "in-lap", "traffic or a mistake", "best against best"] {
        assert!(read.out.contains(words), "{words}: {}", read.out);
    }
    assert!(read.out.lines().count() <= 45 && read.out.lines().all(|l| l.chars().count() <= 80), "{}", read.out);
    assert!(fs::read_to_string(&plot).unwrap().contains("data-part=\"measured\""));

    // The same laps from a file say the same.
    let mut rows = String::from("run,fitted,lap_time_s,lap\n");
    for (i, run) in TIMES.split('|').enumerate() {
        let (mut words, mut mark) = (run.split_whitespace(), "");
        let side = words.next().unwrap();
        for word in words {
            if word == "out" || word == "in" {
                mark = word;
            } else {
                rows += &format!("{},{side},{word},{mark}\n", i + 1);
                mark = "";
            }
        }
    }
    fs::write(&csv, rows).unwrap();
    let typed = unladen(&["trial", "read", &car, name, "--times", TIMES, "--json"]);
    let from_file = unladen(&["trial", "read", &car, name, "--laps", &csv, "--json"]);
    assert_eq!(typed.quiet(), from_file.quiet());
    assert_eq!(typed.json()["verdict"], "confirmed");

    let diary = unladen(&["trial", "diary", &car, "--plot", &folder.path("diary.svg")]);
    assert!(diary.quiet().contains("Of 1 prediction 1 held"), "{}", diary.out);
    let page = folder.path("report.html");
    let report = unladen(&["report", &car, TRACK, "--out", &page, "--trial", name]);
    assert_eq!(report.code, Some(0), "{}", report.err);
    let page = fs::read_to_string(page).unwrap();
    assert!(page.contains("Trial: Scale test") && page.contains("confirmed"));

    // A later edit is seen, by the reading and by the diary.
    let text = fs::read_to_string(&file).unwrap();
    fs::write(&file, text.replacen("A-B", "B-A", 1)).unwrap();
    let edited = unladen(&["trial", "read", &car, name, "--times", TIMES]);
    edited.refused(2, &["changed after it was sealed", "seal a new trial"]);
    let diary = unladen(&["trial", "diary", &car]);
    assert!(diary.quiet().contains("Not counted") && diary.out.contains("Nothing was read yet"), "{}", diary.out);
}

/// Learnt: only what the laps speak about moves, to what they say, and nothing without being told to.
#[test]
fn end_to_end_laps_teach_what_they_speak_about() {
    let (folder, car) = car();
    let grip = ["tyres.front.peak_friction_lat=1.25", "tyres.rear.peak_friction_lat=1.25"];
    let day = ["--order", "A-B-B-A", "--laps", "5", "--name", "rubber"];
    let seal = [&["trial", "seal", &car, TRACK, "--with", grip[0], "--with", grip[1]], &day[..]].concat();
    assert_eq!(unladen(&seal).code, Some(0));
    let file = trial(&folder, "rubber.toml");
    let times = "A 76.11 76.14 76.09 76.12 76.13 | B 75.10 75.14 75.08 75.11 75.12 | B 75.12 75.09 75.15 75.10 75.11 | \
                 A 76.13 76.08 76.12 76.14 76.11";
    let read =
        |more: &[&str]| unladen(&[&["trial", "read", &car, file.to_str().unwrap(), "--times", times], more].concat());
    let before = fs::read_to_string(folder.path("saloon-awd/car.toml")).unwrap();
    let told = read(&[]);
    assert!(told.quiet().contains("Nothing is written unless you say --into"), "{}", told.out);
    assert_eq!(fs::read_to_string(folder.path("saloon-awd/car.toml")).unwrap(), before);
    let learnt = read(&["--json"]).json();
    let learnt = learnt["learnt"].as_array().unwrap();
    assert!(learnt.iter().any(|l| l["key"] == "tyres.front.peak_friction_lat"), "{learnt:?}");
    assert_eq!(read(&["--into", &car]).code, Some(0));
    let after = fs::read_to_string(folder.path("saloon-awd/car.toml")).unwrap();
    let changed: Vec<&str> = before.lines().zip(after.lines()).filter(|(a, b)| a != b).map(|(_, b)| b).collect();
    assert!(changed.len() == learnt.len() && before.lines().count() == after.lines().count(), "{changed:?}");
    for (line, moved) in changed.iter().zip(learnt) {
        assert!(line.contains(moved["after"].as_str().unwrap()) || learnt.len() > 1, "{line}");
    }
}

/// Four invented logs, 60 kg more in the middle two: as much as predicted, and on each stretch near what was.
#[test]
fn end_to_end_logs_say_where_on_the_lap() {
    let (folder, car) = car();
    assert_eq!(
        unladen(&["trial", "seal", &car, TRACK, "--with", "mass.total=1344 kg", "--name", "heavy"]).code,
        Some(0)
    );
    let file = trial(&folder, "heavy.toml");
    let log = |number: &str, side: &str| {
        let path = folder.path(&format!("{number}.csv"));
        let mass = if side == "B" { "mass.total=1344kg" } else { "mass.total=1284kg" };
        let made = unladen(&["course", "log", &car, TRACK, "--out", &path, "--seed", number, "--set", mass]);
        assert_eq!(made.code, Some(0), "{}", made.err);
        format!("{path}={side}")
    };
    let logs = [log("1", "A"), log("2", "B"), log("3", "B"), log("4", "A")];
    let mut args = vec!["trial", "read", &car, file.to_str().unwrap(), "--track", TRACK, "--json"];
    logs.iter().for_each(|log| args.extend(["--log", log]));
    let json = unladen(&args).json();
    assert_eq!(json["verdict"], "confirmed", "{json}");
    let gain = |value: &serde_json::Value, key: &str| value[key].as_f64().unwrap();
    let along = json["along"].as_array().unwrap();
    let whole: f64 = along.iter().map(|s| gain(s, "gain_s")).sum();
    assert!((whole - gain(&json["measured"], "gain_s")).abs() < 0.03, "{whole}");
    // Half a metre of noise at 10 Hz: 0.05 s of a stretch's ends.
    for s in along {
        assert!((gain(s, "gain_s") - gain(s, "predicted_s")).abs() < 0.05, "{s}");
    }
}

#[test]
fn end_to_end_a_change_that_no_day_shows_gets_a_scale_test() {
    let json =
        unladen(&["trial", "plan", CAR, TRACK, "--change", "bonnet", "--change", "bonnet pins", "--json"]).json();
    let number = |path: &str| json.pointer(path).and_then(serde_json::Value::as_f64).unwrap();
    assert!(number("/prediction/gain_s") > 0.0 && number("/shows") < 0.8);
    assert!(number("/scale_test/costs_s") > number("/smallest_shown_s"));
    let words = json["words"].as_str().unwrap();
    assert!(words.starts_with("A day can't show it") && words.contains("well tied down"), "{words}");
}

#[test]
fn bad_input_plans_and_seals() {
    let (_folder, car) = car();
    let plan = |args: &[&str]| unladen(&[&["trial", "plan", &car, TRACK], args].concat());
    plan(&[]).refused(2, &["--change <ROW>"]);
    plan(&["--change", "bonet"]).refused(2, &["no row of the ledger has that name"]);
    plan(&["--change", "bonnet"]).refused(2, &["it needs `bonnet pins` as well"]);
    plan(&["--change", "none"]).refused(2, &["changes nothing of the car"]);
    plan(&["--with", "mass.total=1284 kg"]).refused(2, &["changes nothing of the car"]);
    plan(&["--with", "mass.totl=1284 kg"]).refused(2, &["did you mean"]);
    plan(&["--ballast", "60mm"]).refused(2, &["no mass"]);
    plan(&["--ballast", "0"]).refused(2, &["more than 0"]);
    plan(&["--ballast", "60", "--at", "9000,0,0"]).refused(2, &["ballast"]);
    plan(&["--ballast", "60", "--hours", "0.2"]).refused(2, &["has no time for three runs"]);
    plan(&["--ballast", "60", "--order", "A-A"]).refused(2, &["A-B-B-A"]);
    plan(&["--ballast", "60", "--order", "A-B"]).refused(2, &["three runs at least"]);
    plan(&["--ballast", "60", "--lap-spread", "0"]).refused(2, &["seconds are due"]);
    plan(&["--ballast", "60", "--spread-from", TRACK]).refused(2, &["no table in it"]);
    unladen(&["trial", "seal", &car, TRACK, "--ballast", "60", "--name", "x", "--date", "2020-01-01"])
        .refused(2, &["before the laps", "is over"]);
    unladen(&["trial", "seal", &car, TRACK, "--ballast", "60", "--name", "x", "--date", "soon"])
        .refused(2, &["2026-03-14"]);
}

#[test]
fn bad_input_laps_and_trials() {
    let (folder, car) = car();
    let to_come = ["trial", "seal", &car, TRACK, "--ballast", "60", "--name", "later", "--date", "2999-01-01"];
    assert_eq!(unladen(&to_come).code, Some(0));
    unladen(&["trial", "read", &car, "2999-01-01-later", "--times", TIMES]).refused(2, &["a day to come"]);
    assert_eq!(unladen(&["trial", "seal", &car, TRACK, "--ballast", "60", "--name", "now"]).code, Some(0));
    let file = trial(&folder, "now.toml");
    let name = file.to_str().unwrap();
    let read = |args: &[&str]| unladen(&[&["trial", "read", &car, name], args].concat());
    read(&["--times", ""]).refused(2, &["no laps"]);
    read(&["--times", "76.1 76.2"]).refused(2, &["A or B is due"]);
    read(&["--times", "A 76.1 | B 76.2"]).refused(2, &["1 and 1 flying laps", "too few"]);
    read(&["--times", "A 76.1 76.2 76.3 76.1"]).refused(2, &["no laps with the change"]);
    read(&["--times", "A 76 76 76 | B 76 76 76 | A 76 76 76"]).refused(2, &["equal to the last digit"]);
    read(&["--times", "A 0 76.1 | B 76.2"]).refused(2, &["shorter than 5 s"]);
    read(&["--times", "A 4000 76.1 | B 76.2"]).refused(2, &["longer than half an hour"]);
    read(&["--laps", "nowhere.csv"]).refused(2, &["no such file"]);
    read(&["--log", "one.csv"]).refused(2, &["what was fitted"]);
    let csv = |rows: &str| folder.write("laps.csv", rows);
    read(&["--laps", &csv("fitted,lap_time_s\nA,76.1\n")]).refused(2, &["column `run` is missing"]);
    read(&["--laps", &csv("run,fitted,lap_time_s\n1,A,76.1\n2,B,76.4\n1,A,76.2\n")]).refused(2, &["out of order"]);
    read(&["--laps", &csv("run,fitted,lap_time_s,date\n1,A,76.1,2999-02-01\n")]).refused(2, &["a day to come"]);
    read(&["--laps", &csv("run,fitted,lap_time_s,date\n1,A,76.1,2020-02-01\n")]).refused(2, &["before the seal's day"]);
    let many = "run,fitted,lap_time_s\n".to_owned() + &"1,A,76.1\n".repeat(100_000);
    read(&["--laps", &csv(&many)]).refused(2, &["10000"]);
    // Another car's.
    unladen(&["trial", "read", "vehicles/saloon-rwd", name, "--times", TIMES]).refused(2, &["a trial of another car"]);
    unladen(&["trial", "read", &car, "nothing", "--times", TIMES]).refused(2, &["no such file"]);
    // Nothing lost: a result is never replaced.
    assert_eq!(read(&["--times", TIMES, "--keep"]).code, Some(0));
    read(&["--times", TIMES, "--keep"]).refused(2, &["has a result already"]);
    let diary = unladen(&["trial", "diary", &car]);
    assert!(diary.quiet().contains("to come"), "{}", diary.out);
}
