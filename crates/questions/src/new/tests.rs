use unladen_garage::{CAR, CarFile, Kind as Written, Need, Overrides, Source as Text, parse_car};
use unladen_vehicle::powertrain::peak_power;

use super::{entries, files};
use crate::error::AskError;
use crate::estimate::given::WISHES;
use crate::estimate::{Class, Given, RULES, engine};

fn typed(more: &[(&'static str, &str)]) -> Vec<(&'static str, String)> {
    let mut all: Vec<(&'static str, String)> =
        WISHES.iter().filter(|wish| wish.due).map(|wish| (wish.option, wish.example.to_owned())).collect();
    for (option, text) in more {
        all.retain(|(known, _)| known != option);
        all.push((option, (*text).to_owned()));
    }
    all
}

fn class(more: &[(&'static str, &str)]) -> Class {
    Class::of(Given::read(&typed(more)).unwrap())
}

fn file(class: &Class) -> CarFile {
    let text = files("mine", class).into_iter().find(|(name, _)| *name == "car.toml").unwrap().1;
    parse_car(&Text::new("car.toml", text.as_str()), &Overrides::none())
        .unwrap_or_else(|e| panic!("{}\n{text}", e.render(unladen_garage::Style::PLAIN)))
}

const FULL: &[(&str, &str)] = &[
    ("--front-share", "61%"),
    ("--track", "1450mm"),
    ("--torque", "165Nm@4500rpm"),
    ("--top-speed", "195km/h"),
    ("--driver", "78 ± 1 kg"),
    ("--fuel", "20L"),
];

/// Whatever the layout, the tyres and what is left out: a whole car without a warning, every key that a car needs in
/// it; what is assumed carries a ± but for words and the final drive.
#[test]
fn property_every_class_is_a_whole_car() {
    for layout in ["front", "rear", "all"] {
        for tyres in ["road", "track-day", "slick"] {
            for full in [&[][..], FULL] {
                let more: Vec<_> = full.iter().copied().chain([("--layout", layout), ("--tyres", tyres)]).collect();
                let class = class(&more);
                let file = file(&class);
                // On slicks a car as high as this rolls over first: that is so, and said.
                let odd = file.warnings.iter().find(|w| tyres != "slick" || !w.what.to_string().contains("rolls over"));
                assert!(odd.is_none(), "{layout} {tyres}: {odd:?}");
                let here = entries(&class);
                for key in CAR.keys().filter(|key| matches!(key.need, Need::Always) && key.number.is_some()) {
                    let both = key.path.replace("tyres.front.", "tyres.").replace("tyres.rear.", "tyres.");
                    assert!(here.iter().any(|e| e.key == key.path || e.key == both), "{}", key.path);
                }
                for entry in &here {
                    assert!(!entry.says.is_empty(), "{}", entry.key);
                    let number = matches!(CAR.find(entry.key).unwrap().kind, Written::Quantity(_));
                    let exact = entry.key == "driveline.final_drive";
                    assert!(
                        !number || exact || !entry.value.contains("assumed") || entry.value.contains('±'),
                        "{entry:?}"
                    );
                }
                assert!(file.assumed.len() > 30, "{}", file.assumed.len());
            }
        }
    }
}

/// The table has rows of the file's keys only, each once, and a source each.
#[test]
fn property_rules_are_of_keys() {
    for (i, rule) in RULES.iter().enumerate() {
        assert!(CAR.find(rule.key).is_some(), "{}", rule.key);
        assert!(RULES[..i].iter().all(|other| other.key != rule.key), "{} twice", rule.key);
        assert!(!rule.source.to_string().is_empty());
    }
}

/// What was given comes back from the file as it was given.
#[test]
fn closed_form_what_was_given_is_in_the_car() {
    let file = file(&class(FULL));
    let (car, loads) = (&file.car, &file.loads);
    assert_eq!((loads.weighed.m, car.chassis.l, car.chassis.t_f), (980.0, 2.51, 1.45));
    assert!((1.0 - loads.weighed.x / car.chassis.l - 0.61).abs() < 1e-3);
    assert!((car.mass.m - 1058.0).abs() < 1e-9, "with the driver, the fuel as weighed: {}", car.mass.m);
    let power = peak_power(&car.engine.torque, car.engine.limit);
    assert!((power - 96e3).abs() < 0.03 * 96e3, "{power}");
    let torque = car.engine.torque.iter().map(|p| p.1).fold(0.0, f64::max);
    assert!((torque - 165.0).abs() < 0.5, "{torque}");
    let assumed = |key: &str| file.assumed.contains(&key);
    assert!(!assumed("mass.total") && !assumed("mass.cg_x") && !assumed("chassis.track_front"));
    assert!(assumed("mass.cg_height") && assumed("tyres.peak_friction_lat") && assumed("driveline.gears"));
    let sd = |key: &str| file.uncertainties.iter().find(|u| u.key == key).unwrap().sd;
    assert!((sd("mass.total") - 9.8).abs() < 1e-9 && (sd("driver.on_track") - 1.0).abs() < 1e-9);
}

/// A car that does 195 km/h with 96 kW: the drag area balances, and power, drag and gears say that speed again.
#[test]
fn closed_form_top_speed_gives_drag_and_gears() {
    let class = class(FULL);
    let v: f64 = 195.0 / 3.6;
    let drive = 0.92 * 96e3 / v;
    let by_hand = (drive - 0.013 * 1058.0 * 9.80665) / (0.5 * 1.225 * v * v);
    assert!((class.drag_area.value - by_hand).abs() < 1e-9, "{} {by_hand}", class.drag_area.value);
    assert!((class.reaches(class.drag_area.value) - v).abs() < 1e-6);
    let gears = engine::gears(&class);
    let top = class.given.power_at * class.radius / (gears[4].value * engine::FINAL_DRIVE);
    assert!((top - v).abs() < 1e-9);
    // 3 % of power, 2 % of 0.92, 2 % of the speed, three times: 7.1 %, by 1.1 for the rolling resistance.
    let off = class.drag_area.sd / class.drag_area.value;
    assert!((0.065..0.085).contains(&off), "{off}");
    assert!(gears.windows(3).all(|g| g[0].value / g[1].value > g[1].value / g[2].value), "steps widen downwards");
}

/// By hand from the table: a car of 1430 mm is 557.7 mm high at its CG.
#[test]
fn published_heydinger_height_from_memory() {
    let file = file(&class(&[]));
    assert!((file.loads.weighed.z - 0.558).abs() < 1e-9);
    let u = file.uncertainties.iter().find(|u| u.key == "mass.cg_height").unwrap();
    assert!((u.sd - 0.029).abs() < 1e-9);
}

/// The load slopes are those of two published tyres, -0.145 (App. 3) and -0.0884 (1987) per 4000 N, and between them.
#[test]
fn published_pacejka_bakker_load_slopes() {
    let rule = RULES.iter().find(|rule| rule.key == "tyres.load_slope_lat").unwrap();
    let class = class(&[]);
    let slope = (rule.of)(&class);
    let per_newton = |x: f64| x / class.reference_load();
    for tyre in [-0.145 / 4000.0, -0.0221 / 1000.0] {
        assert!((per_newton(slope.value) - tyre).abs() < per_newton(slope.sd), "{tyre}");
    }
}

#[test]
fn bad_input_each_option() {
    for (option, text, said) in [
        ("--mass", "980", "a unit is due"),
        ("--mass", "980 mm", "a length where a mass is due"),
        ("--mass", "9 kg", "outside 150"),
        ("--mass", "-980kg", "outside 150"),
        ("--mass", "nan kg", "not a finite number"),
        ("--front-share", "61", "outside 20"),
        ("--front-share", "61kg", "a mass where a pure number is due"),
        ("--wheelbase", "2510 m", "outside 1200"),
        ("--height", "x", "not a number"),
        ("--track", "1450 kg", "a mass where a length is due"),
        ("--power", "96kW", "no engine speed where a value at its engine speed is due"),
        ("--power", "96@6200rpm", "a unit is due"),
        ("--power", "96Nm@6200rpm", "a torque where a power is due"),
        ("--power", "96kW@6200", "a unit is due"),
        ("--power", "96kW@62rpm", "outside 1000"),
        ("--torque", "300Nm@6000rpm", "is 188 kW, more than the 96 kW"),
        ("--torque", "100Nm@4000rpm", "is 148 Nm already"),
        ("--torque", "165Nm@7000rpm", "above the engine speed of most power"),
        ("--layout", "rwd", "not a word"),
        ("--layout", "al", "not a word"),
        ("--tyres", "trackday", "not a word"),
        ("--top-speed", "300km/h", "96 kW reach about"),
        ("--top-speed", "90km/h", "96 kW reach about"),
        ("--top-speed", "195", "a unit is due"),
        ("--driver", "8 kg", "outside 30"),
        ("--fuel", "200 L", "outside 0"),
    ] {
        let error = Given::read(&typed(&[(option, text)])).unwrap_err();
        let AskError::Files(errors) = &error else { panic!("{error}") };
        let shown: String = errors.iter().map(|e| e.render(unladen_garage::Style::PLAIN)).collect();
        let flat = shown.replace('│', " ").split_whitespace().collect::<Vec<_>>().join(" ");
        if said == "not a word" {
            assert!(flat.contains("one of") || flat.contains("did you mean"), "{option} {text}: {flat}");
        } else {
            assert!(flat.contains(said), "{option} {text}: {flat}");
        }
        assert!(flat.contains(option) && errors.len() == 1, "{flat}");
    }
}

/// All that is missing and all that is wrong, at once.
#[test]
fn bad_input_all_at_once() {
    let error = Given::read(&[("--mass", "x".to_owned()), ("--layout", "x".into())]).unwrap_err().to_string();
    for option in ["--mass", "--layout", "--wheelbase", "--height", "--power", "--tyres"] {
        assert!(error.contains(option), "{option}: {error}");
    }
    assert!(!error.contains("--track"), "{error}");
}
