//! Values that nobody has measured, and values that both axles' tyres have.

use unladen_garage::{CarFile, Overrides, Source, car_schema, fitted_copy, parse_car, set_values};
use unladen_vehicle::Number;

use crate::common::{car, saloon};

/// The demo saloon with one `[tyres]` for both axles.
fn of_both() -> String {
    let text = saloon();
    let (start, end) = (text.find("[tyres.front]").unwrap(), text.find("[aero]").unwrap());
    let tyres = "[tyres]\nreference_load = \"3500 N\"\npeak_friction_long = \"1.22 ± 0.05\"\n\
                 peak_friction_lat = \"assumed 1.18 ± 0.05\"   # from memory\nload_slope_long = -0.12\nload_slope_lat = -0.14\n\
                 cornering_stiffness = \"assumed 1050 ± 90 N/deg\"\nrolling_radius = \"310 mm\"\nwheel_inertia = \"1.1 kg m2\"\n\n";
    format!("{}{tyres}{}", &text[..start], &text[end..])
}

fn with(text: &str, set: &[&str]) -> CarFile {
    parse_car(&Source::new("car.toml", text), &Overrides::parse(set).unwrap()).unwrap()
}

#[test]
fn closed_form_both_axles_have_what_is_said_once() {
    let file = car(&of_both()).unwrap();
    assert_eq!(file.car.front, file.car.rear);
    assert_eq!((file.car.front.mu_y0, file.car.rear.n_0), (1.18, 3500.0));
    let one = |key: &str| file.uncertainties.iter().find(|u| u.key == key).unwrap();
    assert_eq!(one("tyres.peak_friction_lat").onto, [(Number::MU_Y_F, 1.0), (Number::MU_Y_R, 1.0)]);
    let stiff = one("tyres.cornering_stiffness");
    let per: Vec<Number> = stiff.onto.iter().map(|(number, _)| *number).collect();
    assert_eq!(per, [Number::INV_C_ALPHA_F, Number::INV_C_ALPHA_R]);
    let (inverse, slope) = (file.car.front.inv_c_alpha, stiff.onto[0].1);
    assert!((slope + inverse * inverse).abs() < 1e-12 * inverse * inverse);
    assert_eq!(file.assumed, ["tyres.peak_friction_lat", "tyres.cornering_stiffness"]);
    assert!(file.warnings.iter().all(|w| !w.what.to_string().contains("tyres")), "{:?}", file.warnings);
}

#[test]
fn closed_form_an_axle_of_its_own_comes_first() {
    let text = of_both();
    let file = with(&text, &["tyres.front.peak_friction_lat=1.3 ± 0.02"]);
    assert_eq!((file.car.front.mu_y0, file.car.rear.mu_y0), (1.3, 1.18));
    let onto = |key: &str| &file.uncertainties.iter().find(|u| u.key == key).unwrap().onto;
    assert_eq!(onto("tyres.peak_friction_lat"), &[(Number::MU_Y_R, 1.0)]);
    assert_eq!(onto("tyres.front.peak_friction_lat"), &[(Number::MU_Y_F, 1.0)]);
    let file = with(&text, &["tyres.peak_friction_lat=1.1"]);
    assert_eq!((file.car.front.mu_y0, file.car.rear.mu_y0), (1.1, 1.1));
    assert_eq!(file.assumed, ["tyres.cornering_stiffness"], "what is set is not assumed");
    // A shift goes by what both axles have, a value that was assumed among it, and keeps its ±.
    let file = with(&text, &["tyres.front.peak_friction_lat*=1.1", "tyres.cornering_stiffness+=50N/deg"]);
    assert!((file.car.front.mu_y0 - 1.298).abs() < 1e-12 && file.car.rear.mu_y0 == 1.18);
    let sd = file.uncertainties.iter().find(|u| u.key == "tyres.front.peak_friction_lat").unwrap().sd;
    assert!((sd - 0.055).abs() < 1e-12);
}

#[test]
fn bad_input_neither_both_axles_nor_one() {
    let text = of_both().replace("rolling_radius = \"310 mm\"\n", "");
    let errors = car(&text).unwrap_err().to_string();
    assert!(errors.contains("tyres.front") && errors.contains("tyres.rear"), "{errors}");
    let text = of_both().replace("rolling_radius = \"310 mm\"", "rolling_radius = \"310 kg\"");
    assert_eq!(car(&text).unwrap_err().faults.len(), 1, "said once, where it stands");
    let text = of_both().replace("1.18 ± 0.05", "1.18 ± x");
    let fault = &car(&text).unwrap_err().faults[0];
    assert_eq!(fault.place.as_ref().unwrap().text(), "x");
    for bad in ["\"assumed\"", "\"assumed1.18\"", "\"1.18 assumed\"", "\"Assumed 1.18\""] {
        assert!(car(&of_both().replace("\"assumed 1.18 ± 0.05\"", bad)).is_err(), "{bad}");
    }
}

/// Marked: a value, a word, one entry of a list. A command that writes a value takes mark and comment along; a value
/// beside it stays marked.
#[test]
fn closed_form_the_mark_goes_with_the_value() {
    let text = of_both()
        .replace("anti_lock   = \"4-channel\"", "anti_lock = \"assumed 4-channel\"  # usual")
        .replace("3.40, 2.20", "\"assumed 3.40 ± 0.1\", 2.20");
    let file = car(&text).unwrap();
    assert_eq!(
        file.assumed,
        ["tyres.peak_friction_lat", "tyres.cornering_stiffness", "driveline.gears", "brakes.anti_lock"]
    );
    let source = Source::new("car.toml", text.as_str());
    let values = [("tyres.front.peak_friction_lat", "1.2".to_owned()), ("tyres.rear.peak_friction_lat", "1.2".into())];
    for (new, left) in [set_values(&source, &values).unwrap(), fitted_copy(&source, &[], &values).unwrap()] {
        assert!(left.is_empty() && new.contains("\npeak_friction_lat = 1.2\n"), "{new}");
        let read = car(&new).unwrap();
        assert_eq!((read.car.front.mu_y0, read.car.rear.mu_y0), (1.2, 1.2));
        assert_eq!(read.assumed, ["tyres.cornering_stiffness", "driveline.gears", "brakes.anti_lock"]);
    }
}

#[test]
fn property_schema_and_reader_agree_about_both_axles() {
    let schema = jsonschema::validator_for(&car_schema()).unwrap();
    let valid = |text: &str| schema.is_valid(&serde_json::to_value(text.parse::<toml::Table>().unwrap()).unwrap());
    let both = of_both();
    let own = both.replace("[aero]", "[tyres.front]\nrolling_radius = \"300 mm\"\n\n[aero]");
    let half = own.replace("rolling_radius = \"310 mm\"\n", "");
    let whole = half.replace("[aero]", "[tyres.rear]\nrolling_radius = \"assumed 300 ± 8 mm\"\n\n[aero]");
    let word = both.replace("anti_lock   = \"4-channel\"", "anti_lock = \"assumed 5-channel\"");
    for (text, right) in [(&both, true), (&own, true), (&half, false), (&whole, true), (&word, false)] {
        assert_eq!((car(text).is_ok(), valid(text)), (right, right), "{:?}", car(text).err().map(|e| e.to_string()));
    }
}
