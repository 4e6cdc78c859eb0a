//! Every message about ledgers, areas, readings and the garage's keys of car.toml, as it is shown:
//! `ledger_messages.txt`. After a change that is meant: `UNLADEN_UPDATE=1 cargo test -p unladen-garage --test all
//! ledger_messages`, and read the difference.

use std::collections::BTreeSet;
use std::fmt::Write;

use crate::common::saloon;
use unladen_garage::{
    Areas, Fault, FileErrors, LedgerFault, Overrides, Sheet, Size, Source, Style, parse_areas, parse_car, parse_ledger,
    parse_readings, unlikely,
};
use unladen_vehicle::entry::Scale;

const HEAD: &str = "item,area,state,mass_before_kg,x_before_mm,y_before_mm,z_before_mm,mass_after_kg,x_after_mm,y_after_mm,\
                    z_after_mm,source,scale,date,excludes,needs,note\n";

fn areas() -> Areas {
    parse_areas(&Sheet::parse("areas.csv", b"area,x_mm,y_mm,z_mm\ncabin,1300,0,500\n").unwrap()).unwrap()
}

/// (what, ledger without its header unless it brings its own).
const LEDGERS: &[(&str, &str)] = &[
    ("a required column is missing", "item,state,mass_before_kg\nseat,done,5\n"),
    ("a column twice", "item,state,state,mass_before_kg,mass_after_kg\nseat,done,done,5,\n"),
    ("a mistyped column", "item,state,mass_befor_kg,mass_after_kg\nseat,done,5,\n"),
    ("only comments", "# nothing yet\n"),
    ("a quote left open", "item,state,mass_before_kg,mass_after_kg\n\"seat,done,5,\n"),
    ("no item", ",cabin,done,5,,,,,,,,,,,,,\n"),
    ("no state", "seat,cabin,,5,,,,,,,,,,,,,\n"),
    ("an unknown state", "seat,cabin,dun,5,,,,,,,,,,,,,\n"),
    ("an unknown source", "seat,cabin,done,5,,,,,,,,wieghed,,,,,\n"),
    ("no mass", "seat,cabin,done,,,,,0,,,,,,,,,\n"),
    ("a word for a mass", "seat,cabin,done,five,,,,,,,,,,,,,\n"),
    ("a mass with its unit", "seat,cabin,done,27 lb,,,,,,,,,,,,,\n"),
    ("a negative mass", "seat,cabin,done,-5,,,,,,,,,,,,,\n"),
    ("not a number", "seat,cabin,done,NaN,,,,,,,,,,,,,\n"),
    ("thousands or a fraction", "seat,cabin,done,5.5,,,,,,,,,,,,,\nengine,cabin,done,\"1,250\",,,,,,,,,,,,,\n"),
    ("both signs", "seat,cabin,done,\"1.250,5\",,,,,,,,,,,,,\n"),
    ("half a position", "seat,cabin,done,5,1300,,430,,,,,,,,,,\n"),
    ("no position, no area", "seat,,done,5,,,,,,,,,,,,,\n"),
    ("an unknown area", "seat,cabn,done,5,,,,,,,,,,,,,\n"),
    ("an unknown scale", "seat,cabin,done,5,,,,,,,,weighed,bensh,,,,\n"),
    ("no date", "seat,cabin,done,5,,,,,,,,,,3/4/2026,,,\n"),
    ("a day that is none", "seat,cabin,done,5,,,,,,,,,,2026-02-30,,,\n"),
    ("excludes nothing known", "seat,cabin,done,5,,,,,,,,,,,bucket seet,,\nbucket seat,cabin,idea,,,,,7,,,,,,,,,\n"),
    ("needs itself", "seat,cabin,done,5,,,,,,,,,,,,seat,\n"),
    ("a decimal comma makes a field too many", "seat,cabin,done,5,5,,,,,,,,,,,,,x\n"),
];

const READINGS: &str = "schema = 1\nname = \"n\"\n[car]\nwheelbase = \"2600 mm\"\ntrack_front = \"1500 mm\"\ntrack_rear = \"1500 mm\"\n\
    wheel_centre_front = \"298 mm\"\nwheel_centre_rear = \"298 mm\"\n[scales]\nresolution = \"0.5 kg\"\n";
const LEVEL: &str = "[[level]]\nfront = \"646 kg\"\nrear = \"554 kg\"\n";

fn collect() -> (String, Vec<Fault>) {
    let mut out = String::new();
    let mut seen = Vec::new();
    let mut show = |what: &str, errors: FileErrors| {
        let _ = write!(out, "--- {what}\n{}", errors.render(Style::PLAIN));
        seen.extend(errors.faults.into_iter().map(|f| f.what));
    };
    let scales = [Scale { name: "bench".into(), resolution: 0.02, bias: 0.0, gain: 0.0 }];
    for (what, rows) in LEDGERS {
        let own = rows.starts_with("item,") || rows.starts_with('#');
        let text = if own { (*rows).to_owned() } else { format!("{HEAD}{rows}") };
        let sheet = Sheet::parse("ledger.csv", text.as_bytes()).unwrap();
        show(what, parse_ledger(sheet, Some(&areas()), Some(&scales)).err().unwrap_or_else(|| panic!("{what}: read")));
    }
    let sheet = Sheet::parse("ledger.csv", format!("{HEAD}seat,cabin,done,5,,,,,,,,,,,,,\n").as_bytes()).unwrap();
    show("an area, but no areas.csv", parse_ledger(sheet, None, None).unwrap_err());
    let comma = "item;state;mass_before_kg;mass_after_kg;x_before_mm;y_before_mm;z_before_mm\na;done;5,5;;1,5;0;0\nb;done;1.250;;0;0;0\n";
    show(
        "a point in a file of commas",
        parse_ledger(Sheet::parse("ledger.csv", comma.as_bytes()).unwrap(), None, None).unwrap_err(),
    );
    for (what, bytes) in [("16-bit text", &b"\xff\xfei\0"[..]), ("an empty file", b"\n"), ("a zero byte", b"item\0")] {
        let fault = Sheet::parse("ledger.csv", bytes).unwrap_err();
        show(what, FileErrors { faults: vec![*fault], more: 0 });
    }
    for (what, text) in [
        ("an area twice", "area,x_mm,y_mm,z_mm\nboot,1,2,3\nboot,1,2,3\n"),
        ("an area without a place", "area,x_mm,y_mm,z_mm\nboot,1,,3\n"),
        ("no areas", "area,x_mm,y_mm,z_mm\n"),
    ] {
        show(what, parse_areas(&Sheet::parse("areas.csv", text.as_bytes()).unwrap()).unwrap_err());
    }
    for (what, text) in [
        ("no level reading", READINGS.to_owned()),
        ("a level reading of nothing", format!("{READINGS}[[level]]\n")),
        (
            "three corners",
            format!("{READINGS}[[level]]\nfront_left = \"300 kg\"\nfront_right = \"300 kg\"\nrear_left = \"250 kg\"\n"),
        ),
        ("a lift without its height", format!("{READINGS}{LEVEL}[[lift]]\nraised = \"rear\"\nfront = \"660 kg\"\n")),
        (
            "an axle that no car has",
            format!("{READINGS}{LEVEL}[[lift]]\nraised = \"back\"\nheight = \"0.4 m\"\nfront = \"660 kg\"\n"),
        ),
        (
            "a height in kilograms",
            format!("{READINGS}{LEVEL}[[lift]]\nraised = \"rear\"\nheight = \"400 kg\"\nfront = \"660 kg\"\n"),
        ),
        ("a bare number", format!("{READINGS}[[level]]\nfront = 646\nrear = \"554 kg\"\n")),
        ("an unknown key", format!("{READINGS}{LEVEL}frnt_left = \"5 kg\"\n")),
        ("lists that are none", format!("level = 5\n{READINGS}")),
        ("no step", format!("{}{LEVEL}", READINGS.replace("0.5 kg", "0 kg"))),
        ("no day", format!("date = \"yesterday\"\n{READINGS}{LEVEL}")),
    ] {
        show(what, parse_readings(&Source::new("readings.toml", text)).err().unwrap_or_else(|| panic!("{what}: read")));
    }
    for (what, from, to) in [
        ("a day that is none", "weighed_on   = \"2026-02-14\"", "weighed_on = \"14/2/26\""),
        ("half a target", "fuel   = \"20 L\"\n", ""),
        ("a scale without its step", "resolution = \"0.1 kg\"\n", ""),
        ("a scale's mistyped key", "gain       = 0.004", "gian = 0.004"),
        ("three corners", "rear_right  = \"289.5 kg\"\n", ""),
        ("papers without a date", "document_date        = \"2011-05-03\"\n", ""),
    ] {
        let text = saloon();
        assert!(text.contains(from), "{from}");
        let source = Source::new("car.toml", text.replacen(from, to, 1));
        show(what, parse_car(&source, &Overrides::none()).err().unwrap_or_else(|| panic!("{what}: read")));
    }
    let rows = "seat left,cabin,done,16,1300,-350,400,,,,,weighed,bench,,,,\nseat left,cabin,done,16,1300,-350,400,,,,,weighed,bench,,,,\n\
                seat right,cabin,done,35.3,1300,350,400,,,,,weighed,,,,,\nlamp,cabin,done,1,5200,0,400,2,1300,0,400,guessed,,,,,\n";
    let ledger =
        parse_ledger(Sheet::parse("ledger.csv", format!("{HEAD}{rows}").as_bytes()).unwrap(), None, None).unwrap();
    let _ = writeln!(out, "--- likely mistakes");
    for slip in unlikely(&ledger, Size { wheelbase: 2.57, track: 1.5, mass: 1284.0 }) {
        out += &slip.render(Style::PLAIN);
    }
    (out, seen)
}

#[test]
fn regression_messages_are_as_they_were() {
    let (now, _) = collect();
    let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/all/ledger_messages.txt");
    if std::env::var_os("UNLADEN_UPDATE").is_some() {
        std::fs::write(&path, &now).unwrap();
    }
    let then = std::fs::read_to_string(&path).unwrap_or_default();
    for (a, b) in now.lines().zip(then.lines()) {
        assert_eq!(a, b);
    }
    assert_eq!(now.lines().count(), then.lines().count());
}

/// Every fault that reading can find is among them, but those of edits, which `ledger_edit.rs` tries.
#[test]
fn property_every_kind_of_message_is_shown() {
    let (_, seen) = collect();
    let kinds: BTreeSet<String> = seen
        .iter()
        .filter_map(|f| if let Fault::Ledger(l) = f { Some(l) } else { None })
        .map(|l| format!("{l:?}").split([' ', '{']).next().unwrap_or_default().to_owned())
        .collect();
    let due = [
        "Ambiguous",
        "AreaTwice",
        "EmptyCell",
        "HalfAPosition",
        "Itself",
        "NoMass",
        "NoPosition",
        "NoRows",
        "NotADate",
        "NotAWord",
        "UnknownArea",
        "UnknownItem",
        "UnknownScale",
    ];
    assert_eq!(kinds.iter().map(String::as_str).collect::<Vec<_>>(), due);
    let _ = LedgerFault::NoRows;
}
