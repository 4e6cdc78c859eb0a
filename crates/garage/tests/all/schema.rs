//! The JSON Schemas accept what the reader accepts, and refuse what an editor can see to be wrong.

use crate::common::{car, cars, saloon, text, track, tracks};
use serde_json::Value;
use unladen_garage::{CAR, Need, car_schema, track_schema};

fn json(text: &str) -> Value {
    fn convert(v: toml::Value) -> Value {
        match v {
            toml::Value::String(s) => Value::String(s),
            toml::Value::Integer(i) => i.into(),
            toml::Value::Float(f) if f.is_finite() => f.into(),
            // JSON has no infinity; an editor's TOML server hands on a large number.
            toml::Value::Float(_) => 1e300.into(),
            toml::Value::Boolean(b) => b.into(),
            toml::Value::Datetime(d) => Value::String(d.to_string()),
            toml::Value::Array(a) => a.into_iter().map(convert).collect(),
            toml::Value::Table(t) => Value::Object(t.into_iter().map(|(k, v)| (k, convert(v))).collect()),
        }
    }
    convert(toml::Value::Table(text.parse().unwrap()))
}

#[test]
fn property_demo_files_are_valid_under_the_schema() {
    let (cars_, tracks_) =
        (jsonschema::validator_for(&car_schema()).unwrap(), jsonschema::validator_for(&track_schema()).unwrap());
    for path in cars() {
        let errors: Vec<_> = cars_.iter_errors(&json(&text(&path))).map(|e| e.to_string()).collect();
        assert!(errors.is_empty(), "{}: {errors:?}", path.display());
        assert!(!tracks_.is_valid(&json(&text(&path))));
    }
    for path in tracks() {
        let errors: Vec<_> = tracks_.iter_errors(&json(&text(&path))).map(|e| e.to_string()).collect();
        assert!(errors.is_empty(), "{}: {errors:?}", path.display());
    }
}

/// Each key of the table taken out, misspelt, or given a value of the wrong kind: both say the same of it.
#[test]
fn property_reader_and_schema_agree() {
    let schema = jsonschema::validator_for(&car_schema()).unwrap();
    let base: toml::Table = saloon().parse().unwrap();
    let mut seen = 0;
    for key in CAR.keys() {
        let mut parts: Vec<&str> = key.path.split('.').collect();
        let name = parts.pop().unwrap();
        let mut edits: Vec<Option<toml::Value>> = vec![None, Some(true.into()), Some("5 furlongs".into())];
        edits.extend([Some(1284.into()), Some("nan".into()), Some(toml::Value::Array(vec![]))]);
        for edit in edits {
            let mut file = base.clone();
            let table = parts.iter().try_fold(&mut file, |t, p| t.get_mut(*p).and_then(toml::Value::as_table_mut));
            let Some(table) = table.filter(|t| t.contains_key(name)) else { continue };
            match &edit {
                None => drop(table.remove(name)),
                Some(value) => drop(table.insert(name.into(), value.clone())),
            }
            let text = toml::to_string(&file).unwrap();
            let (read, valid) = (car(&text), schema.is_valid(&json(&text)));
            assert_eq!(read.is_ok(), valid, "{} {edit:?}: {:?}", key.path, read.err().map(|e| e.to_string()));
            seen += 1;
        }
        let mut file = base.clone();
        let table = parts.iter().try_fold(&mut file, |t, p| t.get_mut(*p).and_then(toml::Value::as_table_mut));
        if let Some(table) = table {
            table.insert(format!("{name}_x"), 1.into());
            assert!(!schema.is_valid(&json(&toml::to_string(&file).unwrap())), "{name}_x");
        }
    }
    assert!(seen > 300, "{seen}");
}

#[test]
fn property_every_spelling_that_is_read_fits_the_pattern() {
    let schema = jsonschema::validator_for(&car_schema()).unwrap();
    for (key, spellings) in [
        (
            "wheel_inertia       = \"1.15 kg m2\"",
            ["1.15 kg m²", "1.15kgm2", "1.15 ± 0.05 kg·m^2", "1.15 kg m2 +- 0.1 kg m2"],
        ),
        ("peak_friction_lat   = \"1.18 ± 0.05\"", ["1.18", "1.18+-0.05", "118 %", "1.18 +/- 0.05"]),
        ("wheelbase                  = \"2570 mm\"", ["2570mm", "2.57 m", "8.4317585 ft", "2570 mm ± 1"]),
    ] {
        for spelling in spellings {
            let (name, _) = key.split_once('=').unwrap();
            let text = saloon().replacen(key, &format!("{name}= \"{spelling}\""), 1);
            assert_ne!(text, saloon(), "{key}");
            assert!(car(&text).is_ok(), "{spelling}: {:?}", car(&text).err());
            assert!(schema.is_valid(&json(&text)), "{spelling}");
        }
    }
}

#[test]
fn property_conditional_needs_are_in_the_schema() {
    assert!(CAR.keys().any(|k| matches!(k.need, Need::When(..))));
    let schema = jsonschema::validator_for(&car_schema()).unwrap();
    let valid = |text: &str| (car(text).is_ok(), schema.is_valid(&json(text)));
    let no_centre = saloon().replace("centre_bias = 2.5\n", "");
    assert_eq!(valid(&no_centre), (false, false));
    assert_eq!(valid(&no_centre.replace("layout      = \"all\"", "layout = \"rear\"")), (true, true));
    let seat = saloon().lines().find(|l| l.starts_with("seat")).unwrap().to_owned();
    assert_eq!(valid(&saloon().replace(&seat, "")), (false, false));
    let alone =
        saloon().replace(&seat, "").replace("as_weighed    = \"78 kg\"", "").replace("on_track      = \"78 kg\"", "");
    assert_eq!(valid(&alone), (true, true));
    let circuit = "schema = 1\nname = \"t\"\nclosed = true\nsegments = \"t.csv\"\n";
    assert!(track(circuit, crate::common::CIRCLE).is_ok());
    assert!(jsonschema::validator_for(&track_schema()).unwrap().is_valid(&json(circuit)));
}

/// Readings: the demo files are valid, and what the reader refuses for its keys the schema refuses too.
#[test]
fn property_readings_and_their_schema_agree() {
    let schema = jsonschema::validator_for(&unladen_garage::readings_schema()).unwrap();
    let read = |text: &str| unladen_garage::parse_readings(&unladen_garage::Source::new("r.toml", text)).is_ok();
    let demo = text(&crate::common::root().join("vehicles/saloon-awd/readings.toml"));
    assert!(schema.is_valid(&json(&demo)) && read(&demo));
    assert!(schema.is_valid(&json(&text(&crate::common::root().join("vehicles/saloon-awd/reweigh.toml")))));
    for (from, to) in [
        ("wheelbase          = \"2570 ± 2 mm\"\n", ""),
        ("raised = \"rear\"", "raised = \"back\""),
        ("height = \"350 ± 3 mm\"", "height = 350"),
        ("resolution    = \"0.5 kg\"", "resolutoin = \"0.5 kg\""),
        ("rear_left   = \"271.0 kg\"\n", ""),
        ("date   = \"2026-02-14\"", "date = \"soon\""),
    ] {
        assert!(demo.contains(from), "{from}");
        let bad = demo.replacen(from, to, 1);
        assert_eq!((read(&bad), schema.is_valid(&json(&bad))), (false, false), "{from}");
    }
}
