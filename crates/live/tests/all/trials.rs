//! Trials of the demo car.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use serde_json::{Value, json};
use unladen_garage::{Disk, Files, Memory};
use unladen_live::bench::Bench;
use unladen_live::page::{MODULE, pack, section};
use unladen_live::trial::{Ask, Trial};
use unladen_questions::stands::state::{Moved, State};
use unladen_questions::{Scene, lap};

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..").canonicalize().unwrap()
}

fn scene() -> Scene {
    Scene { step_m: 5.0, ..Scene::new(root().join("vehicles/saloon-awd"), [root().join("tracks/airfield.toml")]) }
}

fn bench(scene: &Scene) -> Bench {
    Bench::open(&serde_json::to_string(&pack(&Disk, scene, (0.3, 20)).unwrap()).unwrap()).unwrap()
}

fn ask(trial: &Trial) -> Ask {
    Ask { trial: trial.clone(), ..Ask::default() }
}

fn moved(item: &str, mm: [f64; 3]) -> Trial {
    Trial { moved: BTreeMap::from([(item.to_owned(), mm)]), ..Trial::default() }
}

fn number(answer: &Value, key: &str) -> f64 {
    answer[key].as_f64().unwrap()
}

#[test]
fn end_to_end_a_trial_laps_as_the_questions_do() {
    let mut bench = bench(&scene());
    let lapped = |scene: Scene| lap::Question { scene }.ask(&Disk).unwrap()[0].time_s;
    let still = bench.frame(&ask(&Trial::default())).unwrap();
    assert_eq!((number(&still, "time_s"), number(&still, "gain_s")), (lapped(scene()), 0.0));
    assert_eq!(still["says"], "The car as it is");

    let by = [-0.25, 0.1, 0.05];
    let of = State { moved: vec![Moved { item: "battery".into(), by }], ..State::default() };
    let answer = bench.frame(&ask(&moved("battery", [-250.0, 100.0, 50.0]))).unwrap();
    assert_eq!(number(&answer, "time_s"), lapped(Scene { state: of, ..scene() }));
    assert!(answer["cautions"].to_string().contains("SAFETY"));

    let turned = BTreeMap::from([("mass".to_owned(), -12.0), ("power".to_owned(), 3.0)]);
    let with = vec!["bonnet".to_owned()];
    let answer = bench.frame(&ask(&Trial { turned, with: with.clone(), ..Trial::default() })).unwrap();
    let set = vec!["mass.total-=12kg".into(), "engine.torque*=1.03".into()];
    let state = State { with, ..State::default() };
    assert_eq!(number(&answer, "time_s"), lapped(Scene { set, state, ..scene() }));
    // And back again to the digit.
    assert_eq!(bench.frame(&ask(&Trial::default())).unwrap(), still);
}

#[test]
fn end_to_end_somebodys_own_numbers_go_into_both() {
    let mut bench = bench(&scene());
    let own = BTreeMap::from([("mass".to_owned(), 60.0), ("day".to_owned(), 0.7)]);
    let answer = bench.frame(&ask(&Trial { own, ..Trial::default() })).unwrap();
    let set = vec!["mass.total+=60kg".into()];
    let lapped = lap::Question { scene: Scene { set, grip: Some(0.7), ..scene() } }.ask(&Disk).unwrap()[0].time_s;
    assert_eq!((number(&answer, "time_s"), number(&answer, "was_s")), (lapped, lapped));
}

#[test]
fn end_to_end_a_command_says_the_same() {
    let mut bench = bench(&scene());
    let trial = Trial { with: vec!["bonnet pins".into()], ..moved("driver's seat", [-40.0, 0.0, 0.0]) };
    let answer = bench.frame(&ask(&trial)).unwrap();
    let command = answer["command"].as_str().unwrap();
    assert!(command.starts_with("unladen compare saloon-awd saloon-awd 1-tracks/airfield.toml --step 5"));
    assert!(command.contains("--with-second 'bonnet pins' --moved-second 'driver'\\''s seat=-40,0,0'"), "{command}");
}

#[test]
fn end_to_end_pictures_have_handles_where_things_are() {
    let mut bench = bench(&scene());
    let ask = Ask { trial: moved("battery", [-300.0, 0.0, 0.0]), widths_px: [Some(600.0), Some(336.0)], track: 9 };
    let answer = bench.frame(&ask).unwrap();
    let handles = answer["handles"].as_array().unwrap();
    assert_eq!(handles[0]["name"], "fuel tank");
    let battery = handles.iter().find(|h| h["name"] == "battery").unwrap();
    let [at, was] = ["at", "was"].map(|key| battery[key][0].as_f64().unwrap());
    assert_eq!(at - was, -300.0);
    for svg in answer["car_svg"].as_array().unwrap().iter().chain([&answer["laps_svg"]]) {
        assert!(svg.as_str().unwrap().starts_with("<svg "));
    }
}

#[test]
fn end_to_end_a_trial_that_rolls_over_says_so() {
    let mut bench = bench(&scene());
    let as_it_is = bench.frame(&ask(&Trial::default())).unwrap();
    assert_eq!(as_it_is["unlikely"], json!([]));
    let turned = BTreeMap::from([("height".to_owned(), 80.0), ("grip".to_owned(), 20.0)]);
    let answer = bench.frame(&ask(&Trial { turned, ..Trial::default() })).unwrap();
    assert!(answer["unlikely"][0].as_str().unwrap().starts_with("rolls over at 1."), "{}", answer["unlikely"]);
    assert_eq!(bench.frame(&ask(&Trial::default())).unwrap(), as_it_is);
}

/// w is linear in x, y and z (`docs/model.md` §8): each view lacks one of them, and the other view says how much that adds.
#[test]
fn closed_form_what_a_kilogram_costs_under_the_pointer() {
    let mut bench = bench(&scene());
    let answer = bench.frame(&Ask { widths_px: [Some(600.0), None], ..Ask::default() }).unwrap();
    let n = |x: &Value| x.as_f64().unwrap();
    let (views, things) = (answer["costs"].as_array().unwrap(), answer["handles"].as_array().unwrap());
    // (what a thing's place costs beyond what the view says of it, where it is in the third direction, mm)
    let beyond = |thing: &Value, i: usize| {
        let (view, px) = (&views[i], &thing["px"][i]);
        let said = [0, 1].map(|k| n(&view["ms"][k + 1]) * (n(&px[k]) - n(&view["corner"][k])));
        (n(&thing["ms"]) - n(&view["ms"][0]) - said[0] - said[1], n(&thing["at"][i + 1]))
    };
    for i in [0, 1] {
        let per_mm = -n(&views[1 - i]["ms"][2]) * number(&answer, "px_per_mm");
        let (ms_0, mm_0) = beyond(&things[0], i);
        for thing in things {
            let (ms, mm) = beyond(thing, i);
            // Places are said to the millimetre.
            assert!((ms - ms_0 - per_mm * (mm - mm_0)).abs() < per_mm.abs() + 1e-9, "{thing} {ms} {ms_0}");
        }
    }
}

#[test]
fn bad_input_what_can_not_be_tried() {
    let mut bench = bench(&scene());
    let with = |name: &str| Trial { with: vec![name.to_owned()], ..Trial::default() };
    let turned = |id: &str, x| Trial { turned: BTreeMap::from([(id.to_owned(), x)]), ..Trial::default() };
    for (trial, word) in [
        (moved("battery", [9000.0, 0.0, 0.0]), "outside the car"),
        (moved("batery", [1.0, 0.0, 0.0]), "batery"),
        (with("none such"), "none such"),
        (turned("mass", 1e9), "outside"),
        (turned("mass", f64::NAN), "outside"),
        (turned("colour", 1.0), "colour"),
    ] {
        let said = bench.frame(&ask(&trial)).unwrap_err().to_string();
        assert!(said.contains(word), "{said}");
        assert!(bench.settled(&trial).is_err());
    }
    assert!(bench.frame(&ask(&Trial::default())).is_ok());
    for text in ["", "{}", "7", "{\"files\": [[\"a\", \"!\"]]}"] {
        assert!(Bench::open(text).is_err(), "{text}");
    }
    assert!(serde_json::from_value::<Trial>(json!({ "unknown": 1 })).is_err());
}

/// Nothing of the folders of whoever made the page, and no text of a file that ends a script.
#[test]
fn property_a_page_carries_no_paths_and_no_markup() {
    let data = pack(&Disk, &scene(), (0.3, 20)).unwrap();
    let names: Vec<&str> = data.files.iter().map(|(name, _)| name.as_str()).collect();
    assert!(names.contains(&"saloon-awd/car.toml") && names.contains(&"saloon-rwd/car.toml"), "{names:?}");
    assert!(names.iter().all(|name| name.matches('/').count() == 1 && !name.contains("..")), "{names:?}");

    let text = |path: &str| String::from_utf8(std::fs::read(root().join(path)).unwrap()).unwrap();
    let mut files = Memory::default();
    let car = text("vehicles/saloon-awd/car.toml");
    files.put("car.toml", car.replace("Club saloon, all-wheel drive (invented)", "</script><script>alert(1)</script>"));
    files.put("t.toml", text("tracks/airfield.toml"));
    files.put("airfield.csv", text("tracks/airfield.csv"));
    let own = Scene::new("car.toml", ["t.toml"]);
    assert!(files.is_file(Path::new("airfield.csv")));
    let own = Scene { set: vec!["</script>".into()], ..own };
    assert!(pack(&files, &own, (0.3, 20)).is_err());
    let html = section(&pack(&files, &Scene { set: Vec::new(), ..own }, (0.3, 20)).unwrap()).into_string();
    assert_eq!(html.matches("<script").count(), 4);
    assert!(!html.contains("alert(1)"));
}

#[test]
fn property_the_module_is_one() {
    assert_eq!(&MODULE[..3], [0x1f, 0x8b, 8], "gzip");
}
