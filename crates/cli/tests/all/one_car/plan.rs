//! What a ledger plans: rows that can't be alone, a row that makes another car of it, moves with what goes along.

use serde_json::Value;

use crate::common::{Run, root, unladen};

const CAR: &str = "vehicles/saloon-awd";
const TRACK: &str = "tracks/carpark.toml";

fn number(json: &Value, path: &str) -> f64 {
    json.pointer(path).and_then(Value::as_f64).unwrap_or_else(|| panic!("{path} in {json}"))
}

fn json(args: &[&str]) -> Value {
    let run: Run = unladen(&[args, &["--json"]].concat());
    assert_eq!(run.code, Some(0), "{args:?}: {}", run.err);
    run.json()
}

fn names<'a>(list: &'a Value, key: &str) -> Vec<&'a str> {
    list.as_array().unwrap().iter().map(|item| item[key].as_str().unwrap()).collect()
}

/// A copy of the demo car whose ledger has these rows more.
fn with_rows(rows: &str) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    let from = root().join(CAR);
    for name in ["car.toml", "areas.csv"] {
        std::fs::copy(from.join(name), folder.path().join(name)).unwrap();
    }
    let ledger = std::fs::read_to_string(from.join("ledger.csv")).unwrap();
    std::fs::write(folder.path().join("ledger.csv"), ledger + rows).unwrap();
    folder
}

/// The tank out is no candidate of its own; each tank takes it along, and the best set has one of them or none.
#[test]
fn end_to_end_what_a_car_must_have_one_of() {
    let found = json(&[
        "rank",
        CAR,
        TRACK,
        "--as-set",
        "--samples",
        "32",
        "--item",
        "tank of 45 L",
        "--item",
        "tank of 60 L",
        "--item",
        "boot lid",
        "--budget",
        "3000",
    ]);
    let items = names(&found["items"], "name");
    assert!(
        items.contains(&"tank of 45 L") && items.contains(&"tank of 60 L") && !items.contains(&"tank"),
        "{items:?}"
    );
    let of = |name: &str| found["items"].as_array().unwrap().iter().find(|i| i["name"] == name).unwrap();
    assert!(of("tank of 45 L")["rows"].as_array().unwrap().contains(&"steel tank and straps".into()));
    assert!((number(of("tank of 45 L"), "/change_kg") - (9.6 - 13.2)).abs() < 1e-9);
    assert_eq!(found["comes_with"][0]["one_of"], serde_json::json!(["tank of 45 L", "tank of 60 L"]));
    for set in found["best"]["sets"].as_array().unwrap() {
        let of = |name: &str| set["items"].as_array().unwrap().contains(&name.into());
        assert!(!(of("tank of 45 L") && of("tank of 60 L")));
        assert_eq!(of("tank"), of("tank of 45 L") || of("tank of 60 L"), "{set}");
    }
    let lap = |args: &[&str]| unladen(&[&["lap", CAR, TRACK][..], args].concat());
    lap(&["--with", "steel tank and straps"]).refused(2, &["can't be without `tank of 45 L` or `tank of 60 L`"]);
    lap(&["--with", "tank of 45 L", "--with", "tank of 60 L"]).refused(2, &["can't be in the car together"]);
    assert_eq!(lap(&["--with", "tank of 60 L"]).code, Some(0));
    let folder = with_rows("gearbox,driveline,planned,40,900,0,300,,,,,,weighed,,,,0,1,,,,,gearbox,,\n");
    unladen(&["lap", folder.path().to_str().unwrap(), TRACK])
        .refused(2, &["gearbox takes out the car's `gearbox`", "no open row puts one in"]);
}

/// The front driveline out is lapped as the rear-drive sister, which was weighed so.
#[test]
fn end_to_end_a_row_that_makes_another_car_of_it() {
    let lap = |args: &[&str]| json(&[&["lap"][..], args].concat());
    let as_row = lap(&[CAR, TRACK, "--with", "rear drive"]);
    let as_car = lap(&["vehicles/saloon-rwd", TRACK]);
    // Places in the sister's file are rounded to 0.1 mm.
    assert!((number(&as_row, "/lap_time_s") - number(&as_car, "/lap_time_s")).abs() < 1e-3);
    assert!((number(&as_row, "/state/mass_kg") - number(&as_car, "/state/mass_kg")).abs() < 1e-9);
    let found = json(&["rank", CAR, TRACK, "--as-set", "--samples", "32", "--item", "rear drive"]);
    let gain = number(&found, "/items/0/gain_s");
    assert_eq!(gain, number(&lap(&[CAR, TRACK]), "/lap_time_s") - number(&as_row, "/lap_time_s"));
    assert!(number(&found, "/items/0/from/becomes_s").abs() > 0.01, "{found}");
    let parts = ["mass_s", "height_s", "split_s", "turning_s", "becomes_s", "together_s"];
    let sum: f64 = parts.iter().map(|part| number(&found, &format!("/items/0/from/{part}"))).sum();
    assert!((sum - gain).abs() < 1e-9);
    let folder = with_rows("");
    unladen(&["lap", folder.path().to_str().unwrap(), TRACK, "--with", "rear drive"])
        .refused(2, &["saloon-rwd", "there is no car.toml in"]);
}

/// By so much is to there; the tank goes along with its fuel; the parts add up; and with as much as comes out even, even.
#[test]
fn end_to_end_a_move_by_so_much_and_what_it_may_weigh() {
    let quick = ["--samples", "16", "--steps", "1"];
    let moved = |more: &[&str]| json(&[&["move", CAR, TRACK, "--item", "fuel tank"], more, &quick].concat());
    let by = moved(&["--by", "-600,0,-60", "--added-mass", "6kg"]);
    let to = moved(&["--to", "2050,0,330", "--added-mass", "6kg"]);
    assert_eq!(by["stint"], to["stint"]);
    assert_eq!(
        (by["empty_tank"]["row"].as_str(), number(&by, "/empty_tank/before_kg")),
        (Some("steel tank and straps"), 13.2)
    );
    for way in ["as_set", "retuned"] {
        let of = |path: &str| number(&by["stint"][way], path);
        assert!((of("/split/moved/gain_s") + of("/split/added/gain_s") - of("/gain_s")).abs() < 1e-9);
        assert!(of("/split/added/gain_s") < 0.0, "six kilograms cost");
    }
    let even = number(&by, "/stint/as_set/break_even/kg");
    let at_even = if even > 0.0 { format!("{even:.6}kg") } else { "0kg".into() };
    let level = number(&moved(&["--by", "-600,0,-60", "--added-mass", &at_even]), "/stint/as_set/gain_s");
    assert!(even <= 0.0 || level.abs() < 1e-4, "{even} kg: {level} s");
    let none = unladen(&["move", "vehicles/mid-engine", TRACK, "--item", "fuel tank", "--by", "-100,0,0"]);
    none.refused(2, &["nobody says what it weighs", "--empty-tank"]);
    unladen(&["move", CAR, TRACK, "--item", "battery", "--by", "0,0,0", "--to", "1,2,3"]).refused(2, &["--by"]);
    unladen(&["move", CAR, TRACK, "--item", "battery"]).refused(2, &["--to"]);
}

/// A plan over months: what is spent fits them, what a step needs comes with it, and the last step is the whole set.
#[test]
fn end_to_end_a_plan_over_months() {
    let found = json(&[
        "rank",
        CAR,
        TRACK,
        "--as-set",
        "--samples",
        "32",
        "--item",
        "bonnet",
        "--item",
        "wheels",
        "--item",
        "boot lid",
        "--item",
        "brake discs",
        "--budget",
        "2500",
        "--month-budget",
        "600",
        "--month-hours",
        "6",
    ]);
    let order = found["best"]["order"].as_array().unwrap();
    let (mut cost, mut hours, mut month) = (0.0, 0.0, 1.0);
    for step in order {
        (cost, hours) = (cost + number(step, "/cost"), hours + number(step, "/hours"));
        let own = number(step, "/month");
        assert!(own >= month && cost <= 600.0 * own + 1e-9 && hours <= 6.0 * own + 1e-9, "{order:?}");
        let items = step["items"].as_array().unwrap();
        assert!(!items.contains(&"bonnet".into()) || items.contains(&"bonnet pins".into()), "{step}");
        month = own;
    }
    let so_far = number(order.last().unwrap(), "/gain_so_far_s");
    let [best, second] = [0, 1].map(|i| &found["best"]["sets"][i]);
    assert!((so_far - number(best, "/gain_s")).abs() < 1e-9, "{so_far} {best}");
    // The other one differs by a change that counts.
    let only = |a: &Value, b: &Value| {
        let b = b["items"].as_array().unwrap();
        a["items"].as_array().unwrap().iter().filter(|i| !b.contains(i) && **i != "bonnet pins").count()
    };
    assert!(only(best, second) + only(second, best) >= 1, "{best} {second}");
}

/// Re-tuned, the front lets go first by the margin, and what that costs is said; where it can't, so is that.
#[test]
fn end_to_end_re_tuned_is_drivable() {
    let tuned = |set: &str| {
        let args = ["compare", CAR, CAR, TRACK, "--grip", "0.92", "--samples", "16", "--map-power", "0.9..1.1:2"];
        json(&[&args[..], &["--map-grip", "0.9..1.1:2", "--set", set]].concat())["days"][0]["tuning"]["first"].clone()
    };
    let usual = tuned("limits.front_first_margin=0.03");
    let ahead = number(&usual, "/front_first/retuned/cornering");
    assert!(ahead >= 0.03 - 1e-6 && usual["front_first"]["kept"] == true, "{usual}");
    let free = tuned("limits.front_first_margin=-0.5");
    let (margin, cost) = (number(&usual, "/gain_s"), number(&usual, "/front_first/costs_s"));
    assert!((number(&free, "/gain_s") - margin - cost).abs() < 1e-4, "{free} {usual}");
    let never = tuned("limits.front_first_margin=0.5");
    assert_eq!(never["front_first"]["kept"], false, "{never}");
    // `reset` names the shares and the cost for the car as it stands: the same as every re-tuned answer's.
    let reset = json(&["reset", CAR, TRACK, "--set", "limits.front_first_margin=0.03"]);
    let compared = json(&[
        "compare",
        CAR,
        CAR,
        TRACK,
        "--samples",
        "16",
        "--map-power",
        "0.9..1.1:2",
        "--map-grip",
        "0.9..1.1:2",
        "--set",
        "limits.front_first_margin=0.03",
    ]);
    let stages = reset["set_for"]["stages"].as_array().cloned().unwrap_or_default();
    let now = stages.iter().find(|stage| stage["stage"] == "now").map(|stage| stage["tuning"].clone());
    assert_eq!(now, Some(compared["days"][0]["tuning"]["first"].clone()), "{reset}");
    assert!(unladen(&["reset", CAR, TRACK]).quiet().contains("front"));
    let reset = json(&["reset", CAR]);
    assert!(reset["set_for"].is_null());
    let worth = json(&["worth", CAR, TRACK]);
    assert!(worth["measure_next"]["of"].is_string(), "{worth}");
    assert!(number(&reset, "/stages/0/front_first/cornering").is_finite());
}
