//! What is read from the demo files, and what `--set` does to it.

use crate::common::{CIRCLE, CIRCUIT, COURSE, car, cars, root, saloon, text, track, tracks};
use unladen_garage::{CarFile, Caution, Checked, Overrides, Source, check, parse_car, read_car, read_track};
use unladen_vehicle::car::{AntiLock, Layout, Number};

fn set(arguments: &[&str]) -> CarFile {
    parse_car(&Source::new("car.toml", saloon()), &Overrides::parse(arguments).unwrap()).unwrap()
}

#[test]
fn property_every_demo_file_reads_without_a_warning() {
    let files: Vec<_> = cars().into_iter().chain(tracks()).collect();
    for (path, result) in check(&files) {
        let checked = result.unwrap_or_else(|e| panic!("{}: {e}", path.display()));
        assert!(checked.warnings().is_empty(), "{}: {:?}", path.display(), checked.warnings());
        assert_eq!(matches!(checked, Checked::Car(_)), path.ends_with("car.toml"));
    }
    let csv = check([root().join("tracks/valley.csv")]);
    assert!(matches!(csv[0].1, Ok(Checked::Segments(n)) if n > 40));
}

/// The file's own numbers, converted by hand; fuel from 20 L to 30 L in a tank 0.42 × 0.70 m in plan.
#[test]
fn closed_form_the_saloon_in_si() {
    let file = read_car(root().join("vehicles/saloon-awd/car.toml"), &Overrides::none()).unwrap();
    let car = &file.car;
    assert_eq!(car.chassis.l, 2.57);
    assert_eq!((car.front.mu_y0, car.front.k_y, car.front.r), (1.18, -0.14, 0.31));
    assert!((1.0 / car.front.inv_c_alpha - 1050.0 * 180.0 / std::f64::consts::PI).abs() < 1e-9);
    assert_eq!(car.engine.torque.len(), 6);
    assert!((car.engine.torque[2].0 - 4000.0 * std::f64::consts::PI / 30.0).abs() < 1e-12);
    assert_eq!((car.driveline.layout, car.driveline.front_share, car.driveline.rear_bias), (Layout::All, 0.4, 2.0));
    assert_eq!((car.brakes.anti_lock, car.brakes.rear_limiter), (AntiLock::FourChannel, None));
    assert_eq!((car.driver.cornering, car.engine.power), (0.96, 1.0));
    let (off, on) = (0.745 * 20.0, 0.745 * 30.0);
    let level = |litres: f64| 0.39 + 0.5 * litres * 1e-3 / (0.42 * 0.7);
    let m = 1284.0 - off + on;
    assert!((car.mass.m - m).abs() < 1e-9);
    assert!((car.mass.a - (1284.0 * 1.13 + (on - off) * 2.65) / m).abs() < 1e-12);
    assert!((car.mass.h - (1284.0 * 0.492 - off * level(20.0) + on * level(30.0)) / m).abs() < 1e-12);
}

/// ±2 kg of total mass, ±15 mm of CG height: what they move, against differences of the reading itself.
#[test]
fn property_uncertainties_move_what_a_changed_file_moves() {
    let arguments = ["fuel.on_track=45 ± 3 L", "fuel.tank.height=240 ± 2 mm", "driver.on_track=60 ± 1 kg"];
    let base = set(&arguments);
    let keys = ["mass.total", "mass.cg_x", "mass.cg_height", "fuel.on_track", "driver.on_track", "aero.drag_area"];
    for key in keys {
        let u = base.uncertainties.iter().find(|u| u.key == key).unwrap_or_else(|| panic!("{key}"));
        let (unit, value, step) = match key {
            "mass.total" => ("kg", 1284.0, 1.0),
            "mass.cg_x" => ("mm", 1130.0, 1e-3),
            "mass.cg_height" => ("mm", 492.0, 1e-3),
            "fuel.on_track" => ("L", 45.0, 1e-3),
            "driver.on_track" => ("kg", 60.0, 1.0),
            _ => ("m2", 0.7, 1.0),
        };
        let small = 1e-4 * value;
        let at = |x: f64| {
            let mut all: Vec<String> = arguments.iter().map(ToString::to_string).collect();
            all.push(format!("{key}={x} {unit}"));
            let overrides = Overrides::parse(&all).unwrap();
            parse_car(&Source::new("car.toml", saloon()), &overrides).unwrap().car
        };
        let (mut above, mut below) = (at(value + small), at(value - small));
        for number in Number::all(&base.car) {
            let difference =
                (*above.number_mut(number).unwrap() - *below.number_mut(number).unwrap()) / (2.0 * small * step);
            let told = u.onto.iter().find(|o| o.0 == number).map_or(0.0, |o| o.1);
            assert!(
                (difference - told).abs() < 1e-6 * told.abs() + 1e-9,
                "{key} {}: {difference} {told}",
                number.key()
            );
        }
    }
    // The roof of the tank moves nothing, and says so.
    assert!(!base.uncertainties.iter().any(|u| u.key == "fuel.tank.height"));
    assert!(base.warnings.iter().any(|w| w.what == Caution::MovesNothing { key: "fuel.tank.height".into() }));
    assert_eq!(base.uncertainties.iter().find(|u| u.key == "mass.total").map(|u| (u.sd, u.unit)), Some((2.0, "kg")));
}

#[test]
fn closed_form_set_changes_one_value() {
    let base = set(&[]).car;
    let mut expected = base.clone();
    expected.chassis.t_f = 1.6;
    assert_eq!(set(&["chassis.track_front=1600mm"]).car, expected);
    let changed = set(&["engine.torque[2]=400 ± 10 Nm", "driveline.gears[0]=3.5", "driveline.rear_bias=inf"]);
    assert_eq!((changed.car.engine.torque[2].1, changed.car.driveline.gears[0]), (400.0, 3.5));
    assert_eq!(changed.car.driveline.rear_bias, f64::INFINITY);
    assert_eq!(
        changed.uncertainties.iter().find(|u| u.key == "engine.torque[2]").unwrap().onto,
        [(Number::Torque(2), 1.0)]
    );
    let whole =
        set(&["engine.torque=[[\"1000 rpm\", \"200 Nm\"], [\"7000 rpm\", \"240 Nm\"]]", "brakes.anti_lock=none"]);
    assert_eq!((whole.car.engine.torque.len(), whole.car.brakes.anti_lock), (2, AntiLock::None));
    // The last one of a key counts; a table that was not there is made.
    let made = set(&[
        "mass.total=1000kg",
        "mass.total=1100kg",
        "brakes.rear_limiter.knee=2200N",
        "brakes.rear_limiter.slope=0.3",
    ]);
    assert_eq!(made.loads.weighed.m, 1100.0);
    assert_eq!(made.car.brakes.rear_limiter.map(|l| (l.knee, l.slope)), Some((2200.0, 0.3)));
    let scale = |arguments: &[&str]| set(arguments).shop.scales.into_iter().find(|s| s.name == "bench");
    assert_eq!(scale(&["scales.bench.bias=50 g"]).map(|s| s.bias), Some(0.05));
    // What is set is as uncertain as what it stands in for, unless it says so itself.
    let sd = |set_to: &str| set(&[set_to]).uncertainties.iter().find(|u| u.key == "mass.total").map(|u| u.sd);
    assert_eq!((sd("mass.total=1200kg"), sd("mass.total=1200 ± 0 kg")), (Some(2.0), None));
}

/// What may be left out: on_track is as weighed, no stiffness is no cornering drag, no driver uses all of the grip.
#[test]
fn closed_form_what_is_left_out() {
    let without = |keys: &[&str]| {
        let kept: Vec<_> =
            saloon().lines().filter(|l| !keys.iter().any(|k| l.starts_with(k))).map(String::from).collect();
        car(&kept.join("\n")).unwrap().car
    };
    let left = without(&["on_track", "cornering_stiffness", "use_", "cg_y", "downforce_"]);
    assert!((left.mass.m - 1284.0).abs() < 1e-9);
    assert_eq!((left.front.inv_c_alpha, left.rear.inv_c_alpha), (0.0, 0.0));
    assert_eq!((left.driver.cornering, left.driver.traction, left.driver.braking), (1.0, 1.0, 1.0));
    assert_eq!((left.aero.cf_a, left.aero.cr_a), (0.0, 0.0));
    assert!(left.mass.y_cg.abs() < 1e-12);
}

#[test]
fn closed_form_lists_and_locked_differentials_of_another_layout() {
    let rear = set(&["driveline.layout=rear"]).car;
    assert_eq!(rear.driveline.layout, Layout::Rear);
    let text = saloon().replace("front_share = 0.40", "").replace("centre_bias = 2.5", "");
    assert!(car(&text).is_err());
    let rear = car(&text.replace("layout      = \"all\"", "layout = \"rear\"")).unwrap().car;
    assert_eq!((rear.driveline.front_share, rear.driveline.centre_bias), (0.5, 1.0));
}

#[test]
fn closed_form_a_track_in_si() {
    let csv = "length_m,curvature_start_1pm,curvature_end_1pm,grade_start_pct,grade_end_pct,bank_start_deg,bank_end_deg,grip,place\n\
               # a comment\n\n100,0,0.02,2,-3,0,1.5,0.97,\"Gate, upper\"\n50,0.02,0.02,-3,-3,1.5,1.5,,\n";
    let file = track(COURSE, csv).unwrap();
    let [a, b] = &file.track.segments[..] else { panic!() };
    assert_eq!((a.length, a.kappa, a.q, a.gamma), (100.0, [0.0, 0.02], [0.02, -0.03], 0.97));
    assert!((a.phi[1] - 1.5 * std::f64::consts::PI / 180.0).abs() < 1e-16);
    assert_eq!((a.place.as_deref(), b.place.as_deref(), b.gamma), (Some("Gate, upper"), None, 1.0));
    // ISO 2533 at sea level.
    assert!((file.track.rho - 1.225).abs() < 1e-6 && file.day().gamma_0 == 1.0 && file.closure.is_none());
}

/// What a spreadsheet makes of it elsewhere: semicolons, decimal commas, a byte-order mark, CRLF, a spare column.
#[test]
fn property_dialects_of_one_table() {
    let plain = track(COURSE, "length_m,curvature_start_1pm,curvature_end_1pm,place\n100.5,0.25,0,Gate\n").unwrap();
    for other in [
        "\u{feff}length_m;curvature_start_1pm;curvature_end_1pm;place;\r\n100,5;0,25;0;Gate;\r\n;;;;\r\n",
        "length_m\tcurvature_start_1pm\tcurvature_end_1pm\tplace\n100.5\t0.25\t0\tGate",
        "place, curvature_end_1pm, curvature_start_1pm, length_m\n Gate , 0, 2.5e-1, 100.50 \n",
        "\"length_m\",\"curvature_start_1pm\",\"curvature_end_1pm\",\"place\"\r\"100.5\",\"0.25\",\"0\",\"Gate\"\r",
    ] {
        assert_eq!(track(COURSE, other).unwrap().track, plain.track, "{other:?}");
    }
}

#[test]
fn closed_form_day_of_the_tracks() {
    let valley = root().join("tracks/valley.toml");
    let dry = read_track(&valley, &Overrides::none(), None).unwrap();
    let wet = read_track(&valley, &Overrides::none(), Some(0.6)).unwrap();
    assert_eq!((dry.day().gamma_0, wet.day().gamma_0), (1.0, 0.6));
    // ISO 2533 at 320 m: 97 538 Pa (table: 97 773 Pa at 300 m, −11.75 Pa/m); 20 °C.
    assert!((dry.day().rho - 97_538.0 / (287.05287 * 293.15)).abs() < 2e-4, "{}", dry.day().rho);
    let hot = Overrides::parse(["air.temperature=35 ± 2 °C", "grip=0.9 ± 0.05", "mass.total=1000kg"]).unwrap();
    let hot = read_track(&valley, &hot, None).unwrap();
    assert_eq!(hot.track.grip, 0.9);
    // dρ/dT = −ρ/T.
    let (number, slope) = hot.uncertainties.iter().find(|u| u.key == "air.temperature").unwrap().onto[0];
    assert_eq!(number, Number::RHO);
    assert!((slope + hot.track.rho / 308.15).abs() < 1e-8);
    assert_eq!(hot.uncertainties.iter().find(|u| u.key == "grip").unwrap().onto, [(Number::GAMMA_0, 1.0)]);
}

#[test]
fn property_a_circuit_that_was_measured_so() {
    assert!(track(CIRCUIT, CIRCLE).unwrap().closure.unwrap().is_closed());
    let open = CIRCLE.replace("628.3185307", "600");
    assert!(track(CIRCUIT, &open).is_err());
    let measured = track(&format!("{CIRCUIT}closure = \"as measured\"\n"), &open).unwrap();
    assert!(matches!(measured.warnings[..], [unladen_garage::Located { what: Caution::NotClosed { .. }, .. }]));
    assert!((measured.closure.unwrap().heading + 0.283_185).abs() < 1e-5);
    let needless = track(&format!("{CIRCUIT}closure = \"as measured\"\n"), CIRCLE).unwrap();
    assert_eq!(needless.warnings[0].what, Caution::ClosesAnyway);
}

#[test]
fn property_a_million_rows_are_read() {
    let mut csv = String::from("length_m,curvature_start_1pm,curvature_end_1pm,grade_start_pct,grade_end_pct,place\n");
    for i in 0..1_000_000 {
        csv += if i % 2 == 0 { "0.5,0.001,-0.001,1.5,-1.5,Up\n" } else { "0.5,-0.001,0.001,-1.5,1.5,Down\n" };
    }
    let file = track(COURSE, &csv).unwrap();
    assert_eq!(file.track.segments.len(), 1_000_000);
    assert!((file.track.length() - 5e5).abs() < 1e-6);
    let broken = csv.replace("0.001,-0.001", "x,-0.001");
    let errors = track(COURSE, &broken).unwrap_err();
    assert_eq!(errors.faults.len() + errors.more, 500_000);
    assert!(text(&root().join("tracks/valley.toml")).contains("valley.csv"));
}
