//! Bad cars: each fault is found, at its place, and the message says what would be right.

use crate::common::{car, saloon};
use unladen_garage::{Explain, Overrides, Source, Style, parse_car};

/// The saloon with one text in it replaced.
fn edited(from: &str, to: &str) -> String {
    let text = saloon();
    assert!(text.contains(from), "the demo file no longer says {from:?}");
    text.replacen(from, to, 1)
}

/// One edit gives one fault: (from, to, underlined, message, hint).
const EDITS: &[(&str, &str, &str, &str, &str)] = &[
    (
        "roll_stiffness_front_share_most  = 0.68",
        "roll_stiffness_front_share_most = 0.38",
        "0.38",
        "limits.roll_stiffness_front_share_most: out of order",
        "",
    ),
    (
        "roll_stiffness_front_share_most  = 0.68",
        "brake_front_share_most = 0.7\nroll_stiffness_front_share_most = 0.68",
        "[limits]",
        "limits.brake_front_share_least is missing",
        "limits.brake_front_share_most is there",
    ),
    ("\"1284 ± 2 kg\"", "1284", "1284", "mass.total: a unit is due", "write \"1284 kg\""),
    ("1284 ± 2 kg", "1284 ± 2 mm", "mm", "mass.total: a length where a mass is due", ""),
    ("1284 ± 2 kg", "1284 ± 2 Kg", "Kg", "mass.total: unknown unit `Kg`", "did you mean `kg`?"),
    ("492 ± 15 mm", "492 mn", "mn", "mass.cg_height: unknown unit `mn`", "did you mean `mm`?"),
    ("492 ± 15 mm", "492 ± 15 mm ± 1", "± 1", "mass.cg_height: more than a value, ± and a unit", ""),
    ("492 ± 15 mm", "492 mm ± 1.5 cm", "cm", "mass.cg_height: value and uncertainty in different units", "in one unit"),
    ("492 ± 15 mm", "492 ± -15 mm", "-15", "mass.cg_height: a negative uncertainty", ""),
    ("492 ± 15 mm", "half a metre", "half a metre", "mass.cg_height: not a number", ""),
    ("1284 ± 2 kg", "1,284 kg", "1,284", "mass.total: a decimal comma", "or 1284 without a separator"),
    ("0.745 kg/L", "0,745 kg/L", "0,745", "fuel.density: a decimal comma", "write 0.745 with a decimal point"),
    ("1284 ± 2 kg", "-1284 kg", "\"-1284 kg\"", "mass.total: -1284 kg is outside 50 … 50000 kg", ""),
    ("\"1284 ± 2 kg\"", "nan", "nan", "mass.total: not a finite number", ""),
    ("\"1284 ± 2 kg\"", "\"NaN kg\"", "NaN kg", "mass.total: not a finite number", ""),
    ("\"1284 ± 2 kg\"", "\"inf kg\"", "\"inf kg\"", "mass.total: inf kg is outside 50 … 50000 kg", ""),
    (
        "\"1284 ± 2 kg\"",
        "[\"1284 kg\"]",
        "[\"1284 kg\"]",
        "mass.total: a list where a text with its unit is due",
        "total = \"… kg\"",
    ),
    ("2570 mm", "2570 m", "\"2570 m\"", "chassis.wheelbase: 2570000 mm is outside 500 … 10000 mm", ""),
    ("wheelbase  ", "wheelbass  ", "wheelbass", "unknown key chassis.wheelbass", "did you mean `wheelbase`?"),
    ("[chassis]", "[chasis]", "chasis", "unknown key chasis", "did you mean `chassis`?"),
    (
        "[chassis]\n",
        "[chassis]\nfinal_drive = 4\n",
        "final_drive",
        "unknown key chassis.final_drive",
        "`driveline.final_drive`?",
    ),
    (
        "[chassis]\n",
        "[chassis]\ncolour = 4\n",
        "colour",
        "unknown key chassis.colour",
        "known here: wheelbase, track_front",
    ),
    ("schema = 1", "schema = 2", "2", "schema: schema 2 is not known to this version", ""),
    ("schema = 1", "", "", "schema is missing: the file's format, 1", "add schema = 1"),
    ("layout      = \"all\"", "layout = \"awd\"", "\"awd\"", "driveline.layout: `awd` is none of front, rear, all", ""),
    (
        "layout      = \"all\"",
        "layout = 4",
        "4",
        "driveline.layout: a number where a word is due",
        "layout = \"front\"",
    ),
    (
        "anti_lock   = \"4-channel\"",
        "anti_lock = \"4-chanel\"",
        "\"4-chanel\"",
        "brakes.anti_lock: `4-chanel` is none of",
        "did you mean `4-channel`?",
    ),
    ("front_share = 0.40", "front_share = 1", "1", "driveline.front_share: 1 is outside 0 … 1, both excluded", ""),
    ("front_share = 0.40\n", "", "[driveline]", "driveline.front_share is missing", "driveline.layout is \"all\""),
    ("rear_bias   = 2.0", "rear_bias = 0.5", "0.5", "driveline.rear_bias: 0.5 is outside 1 … inf", ""),
    ("3.40, 2.20", "2.20, 3.40", "[2.20, 3.40, 1.60, 1.22, 0.97]", "driveline.gears: out of order", ""),
    ("[3.40, 2.20, 1.60, 1.22, 0.97]", "[]", "[]", "driveline.gears: too few entries: 0, at least 1", ""),
    (
        "[\"1500 rpm\", \"190 Nm\"]",
        "[\"1500 rpm\"]",
        "[\"1500 rpm\"]",
        "engine.torque: a list of another length where a pair is due",
        "[[",
    ),
    (
        "[\"1500 rpm\", \"190 Nm\"]",
        "[\"190 Nm\", \"1500 rpm\"]",
        "Nm",
        "engine.torque: a torque where a rotational speed is due",
        "",
    ),
    ("\"2500 rpm\"", "\"1500 rpm\"", "[[\"1500 rpm\"", "engine.torque: out of order: engine speeds must rise", ""),
    (
        "launch  = \"4000 rpm\"",
        "launch = \"8000 rpm\"",
        "\"8000 rpm\"",
        "the clutch slips at 8000 rpm, above the limiter at 7200 rpm",
        "",
    ),
    (
        "on_track   = \"30 L\"",
        "on_track = \"80 L\"",
        "\"80 L\"",
        "fuel.on_track: 80 L do not fit a tank that holds 70.56 L",
        "",
    ),
    (
        "as_weighed = \"20 L\"",
        "as_weighed = \"25 L\"",
        "\"25 L\"",
        "mass.weighed_with and fuel.as_weighed disagree",
        "25 L, or what the list says",
    ),
    ("name   = \"Club saloon, all-wheel drive (invented)\"", "name = ' '", "' '", "name: empty", ""),
    ("[aero]", "[aero", "\n", "not TOML", ""),
    ("[aero]", "[aero]\ndrag_area = \"1 m2\"\n", "drag_area", "not TOML: duplicate key", ""),
];

#[test]
fn bad_input_one_fault_one_message() {
    for (from, to, underlined, message, hint) in EDITS {
        let Err(errors) = car(&edited(from, to)) else { panic!("{to:?} was read") };
        let fault = &errors.faults[0];
        let syntax = message.starts_with("not TOML");
        let several = syntax || message.contains("a rotational speed is due");
        assert!(several || errors.faults.len() == 1, "{to}: {errors}");
        assert!(fault.what.to_string().contains(message), "{to}: {errors}");
        let place = fault.place.as_ref().unwrap();
        assert!(syntax || place.text().starts_with(underlined), "{to}: {:?} underlined", place.text());
        assert!(fault.what.hint().unwrap_or_default().contains(hint), "{to}: {:?}", fault.what.hint());
        let rendered = errors.render(Style::PLAIN);
        assert!(rendered.contains(&format!("car.toml:{}:{}", place.line(), place.column())), "{rendered}");
    }
}

/// Faults of every kind in one file: all are told, in the order of the text.
#[test]
fn bad_input_all_faults_at_once() {
    let mut text = saloon();
    let singles = EDITS.iter().filter(|e| !e.3.contains("TOML") && !e.0.is_empty());
    let mut made = 0;
    for (from, to, ..) in singles {
        if text.matches(from).count() > 0 && !to.contains("chasis") && !from.contains("3.40") {
            text = text.replacen(from, to, 1);
            made += 1;
        }
    }
    let errors = car(&text).unwrap_err();
    // An edit may hide what an earlier one changed, or be judged only when other values are sound.
    assert!(made >= 18 && errors.faults.len() >= made - 6, "{made} made, {} found:\n{errors}", errors.faults.len());
    let lines: Vec<usize> = errors.faults.iter().map(|f| f.place.as_ref().unwrap().line()).collect();
    assert!(lines.is_sorted(), "{lines:?}");
}

/// What a newcomer sees, whole.
#[test]
fn regression_how_a_message_looks() {
    let errors = car("schema = 1\n[mass]\ncg_height = \"492 ± 15 mn\"\n").unwrap_err();
    let expected = "  × mass.cg_height: unknown unit `mn`
   ╭─[car.toml:3:23]
 3 │ cg_height = \"492 ± 15 mn\"
   ·                       ─┬
   ·                        ╰── a length: mm, cm, m, km, in, ft, mi
   ╰────
  help: did you mean `mm`?
";
    assert!(errors.render(Style::PLAIN).contains(expected), "{}", errors.render(Style::PLAIN));
    let ascii = Style { unicode: false, ..Style::PLAIN };
    assert!(errors.render(ascii).contains("did you mean") && !errors.render(ascii).contains('─'));
    assert!(errors.render(Style { colour: true, ..Style::PLAIN }).contains("\u{1b}["));
}

#[test]
fn bad_input_of_a_set_is_shown_in_the_set() {
    let refuse = |argument: &str| {
        let overrides = Overrides::parse([argument]).unwrap();
        parse_car(&Source::new("car.toml", saloon()), &overrides).unwrap_err().to_string()
    };
    assert_eq!(refuse("mass.total=1200"), "--set:1:12: mass.total: a unit is due");
    assert_eq!(refuse("mass.total=1200mm"), "--set:1:16: mass.total: a length where a mass is due");
    assert_eq!(refuse("mass.total="), "--set:1:12: mass.total: not a number");
    assert!(refuse("engine.torque[9]=300Nm").contains("a text where a list is due"));
    assert!(refuse("engine.torque[0]=300").contains("a unit is due"));
    assert!(refuse("fuel.on_track=200 L").contains("do not fit"));
    assert!(refuse("driveline.gears=3.4").contains("a number where a list is due"));
    assert!(refuse("brakes.rear_limiter.knee=2200N").contains("brakes.rear_limiter.slope is missing"));
}

#[test]
fn bad_input_nothing_like_a_car() {
    for text in
        ["", "\u{feff}", "[", "=", "\"", "[[mass]]", "mass = 5", "a.b.c = {", "\u{1}\u{2}", "length_m,curv\n1,2\n"]
    {
        let errors = car(text).unwrap_err();
        assert!(!errors.faults.is_empty() && !errors.render(Style::PLAIN).is_empty(), "{text:?}");
    }
}
