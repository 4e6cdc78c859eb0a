//! `car.toml` of a class: each value with where it is from behind it.

use unladen_garage::unit::digits::with_sd;
use unladen_garage::{CAR, Kind, Measured, Span};
use unladen_vehicle::car::Layout;

use crate::estimate::engine::{self, FINAL_DRIVE};
use crate::estimate::{Class, RULES};

/// A key of the file with what stands there.
#[derive(Clone, Debug, PartialEq)]
pub struct Entry {
    /// Dotted.
    pub key: &'static str,
    /// The value as TOML; an assumed one with the word in front.
    pub value: String,
    /// The comment behind it.
    pub says: String,
}

/// Every key of a car of this class, in the order of the file.
pub fn entries(class: &Class) -> Vec<Entry> {
    let mut all = given(class);
    let ruled = RULES.iter().filter(|rule| class.has(rule.key));
    for rule in ruled {
        // What was given is in the list already.
        if all.iter().any(|known| known.key == rule.key) {
            continue;
        }
        let (says, source) = if rule.key == "aero.drag_area" { class.says_of_drag() } else { (rule.says, rule.source) };
        all.push(Entry {
            key: rule.key,
            value: assumed(span(rule.key), (rule.of)(class)),
            says: format!("{says}; {source}"),
        });
    }
    let place = |is: &dyn Fn(&str) -> bool| CAR.keys().position(|key| is(key.path));
    // A table's keys stand together, also where the list of keys comes back to it.
    all.sort_by_key(|entry| (place(&|path| table(path) == table(entry.key)), place(&|path| path == entry.key)));
    all
}

/// The table that a dotted key stands in.
fn table(key: &str) -> &str {
    key.rsplit_once('.').map_or("", |(table, _)| table)
}

/// What was given, what follows from it, and what is a choice rather than an unknown.
fn given(class: &Class) -> Vec<Entry> {
    let given = &class.given;
    let mut all = Vec::new();
    let mut put = |key: &'static str, value: String, says: String| all.push(Entry { key, value, says });
    let plain = |key: &'static str, value: Measured| quoted(span(key), value, "");
    put("mass.total", plain("mass.total", given.mass), "as given, without driver".into());
    let (l, rear) = (given.wheelbase, 1.0 - class.front_share.value);
    let cg_x = Measured { value: l.value * rear, sd: (l.value * class.front_share.sd).hypot(l.sd * rear) };
    let percent = (100.0 * class.front_share.value * 10.0).round() / 10.0;
    match given.front_share {
        Some(_) => put("mass.cg_x", plain("mass.cg_x", cg_x), format!("{percent} % on the front axle, as given")),
        None => {
            let says = format!("{percent} % on the front axle, by the driven axle; common practice, no source");
            put("mass.cg_x", assumed(span("mass.cg_x"), cg_x), says);
        }
    }
    put("mass.weighed_with", "\"fuel, no driver\"".into(), "what was aboard".into());
    if let Some(fuel) = given.fuel {
        put("fuel.as_weighed", plain("fuel.as_weighed", fuel), "as given".into());
    }
    put("fuel.on_track", "\"20 L\"".into(), "yours to choose".into());
    put("driver.as_weighed", "\"0 kg\"".into(), "the mass above is without driver".into());
    if let Some(driver) = given.driver {
        put("driver.on_track", plain("driver.on_track", driver), "as given".into());
    }
    put("chassis.wheelbase", plain("chassis.wheelbase", l), "as given".into());
    if let Some(track) = given.track {
        put("chassis.track_front", plain("chassis.track_front", track), "as given".into());
    }
    let load = Measured { value: class.reference_load(), sd: 0.0 };
    let says = "a wheel's mean load; what stands below holds at it".into();
    put("tyres.reference_load", plain("tyres.reference_load", load), says);
    let Some(Kind::Pairs(speed, torque)) = CAR.find("engine.torque").map(|key| key.kind) else { return all };
    let point = |(at, value): &(f64, Measured)| {
        let own = given.torque.is_some_and(|(_, own)| own == *at) || *at == given.power_at;
        let value = quoted(torque, *value, if own { "" } else { "assumed " });
        let rpm = (speed.unit().from_si(*at) / 10.0).round() * 10.0;
        format!("[\"{rpm} rpm\", {value}]")
    };
    let points: Vec<String> = engine::torque(class).iter().map(point).collect();
    let says = format!("{}; {}", engine::says_of_torque(class), engine::TORQUE);
    put("engine.torque", format!("[{}]", points.join(", ")), says);
    let layout = match given.layout {
        Layout::Front => "front",
        Layout::Rear => "rear",
        Layout::All => "all",
    };
    put("driveline.layout", format!("\"{layout}\""), "driven axles, as given".into());
    let gears: Vec<String> =
        engine::gears(class).iter().map(|gear| assumed(span("driveline.final_drive"), *gear)).collect();
    put("driveline.gears", format!("[{}]", gears.join(", ")), format!("{}; {}", engine::GEARS_SAY, engine::GEARS));
    let says = "only its products with the gears count; write yours with your own gears";
    put("driveline.final_drive", format!("\"assumed {FINAL_DRIVE:.1}\""), says.into());
    put(
        "brakes.anti_lock",
        "\"assumed 4-channel\"".into(),
        "none | 3-channel | 4-channel; cars of this century".into(),
    );
    all
}

fn span(key: &str) -> Span {
    match CAR.find(key).map(|key| key.kind) {
        Some(Kind::Quantity(span)) => span,
        _ => unladen_garage::within("", 0.0, 0.0),
    }
}

fn assumed(span: Span, value: Measured) -> String {
    quoted(span, value, "assumed ")
}

/// As a person writes it: the ± with two digits, the value as finely.
fn quoted(span: Span, value: Measured, before: &str) -> String {
    let unit = span.unit();
    let number = match value.sd {
        sd if sd > 0.0 => with_sd(unit.from_si(value.value), unit.difference_from_si(sd)),
        _ => format!("{}", (unit.from_si(value.value) * 1e6).round() / 1e6),
    };
    let behind = if unit.symbol.is_empty() { String::new() } else { format!(" {}", unit.symbol) };
    format!("\"{before}{number}{behind}\"")
}

/// What stands over a table.
fn heading(table: &str) -> &'static str {
    match table {
        "mass" => "# on the scales; `unladen weigh readings.toml --into .` writes it anew",
        "fuel.tank" => "# inside: x, y of its centre, z of its floor",
        "driver.seat" => "# the seated driver's CG",
        "tyres" => "# both axles; [tyres.front] and [tyres.rear] may say otherwise for one of them",
        "driveline" => "",
        _ => "",
    }
}

const HEAD: &str = "\
# Your car, from the numbers that you gave. What begins with the word `assumed` nobody has measured: it is what a car of
# this class is likely to be, ± one standard deviation; behind it stands the rule and where that is from. Put a measured
# value in its place, word and all (\"492 ± 15 mm\"), and it counts as known: `unladen check` says how many are left,
# `unladen worth` which to measure first. Positions: x behind the front axle line, y right of the centre plane, z above
# ground.
";

const TAIL: &str = "\
# What follows may be left out: a lap does without it. Take the # away, and put your own numbers in.

# [target]                             # the mass to be reached, and what is aboard then
# mass   = \"950 kg\"
# fuel   = \"20 L\"
# driver = \"78 kg\"

# [scales.bathroom]                    # a name of your own; rows of ledger.csv name it
# resolution = \"0.1 kg\"
# bias       = \"0.2 kg\"
# gain       = 0.005

# [corners]                            # the pads on the day of the weighing
# front_left  = \"300 kg\"
# front_right = \"300 kg\"
# rear_left   = \"190 kg\"
# rear_right  = \"190 kg\"

# [springs]
# wheel_rate_front = \"30 N/mm\"         # spring rate times motion ratio squared
# wheel_rate_rear  = \"28 N/mm\"
# unsprung_front   = \"70 kg\"           # both wheels
# unsprung_rear    = \"70 kg\"

# [limits]                             # from the car's plate, its papers and its tyres; ask your inspector what holds
# tyre_load_front = \"475 kg\"
# tyre_load_rear  = \"475 kg\"
# Front shares that can be set, to re-tune within:
# roll_stiffness_front_share_least = 0.50
# roll_stiffness_front_share_most  = 0.64
# brake_front_share_least          = 0.60
# brake_front_share_most           = 0.72
";

/// Columns that a value takes before its comment.
const VALUE: usize = 34;

/// The whole file.
pub(crate) fn text(name: &str, class: &Class) -> String {
    let mut out = format!("#:schema car.schema.json\n{HEAD}\nschema = 1\nname   = {}\n", toml_text(name));
    let entries = entries(class);
    let mut last = "";
    for entry in &entries {
        let here = table(entry.key);
        if here != last {
            out += format!("\n[{here}]{:width$}{}", "", heading(here), width = 38 - here.len().min(38)).trim_end();
            out.push('\n');
            last = here;
        }
        let name = entry.key.rsplit('.').next().unwrap_or(entry.key);
        let longest = entries.iter().filter(|e| table(e.key) == here).map(|e| e.key.len() - here.len() - 1).max();
        let width = longest.unwrap_or(0);
        if entry.value.len() > 2 * VALUE {
            out += &format!("# {}\n{name:width$} = {}\n", entry.says, entry.value);
        } else {
            let pad = VALUE.saturating_sub(entry.value.chars().count());
            out += &format!("{name:width$} = {}{:pad$} # {}\n", entry.value, "", entry.says);
        }
    }
    format!("{out}\n{TAIL}")
}

/// A text in TOML; what needs escaping goes as a space.
fn toml_text(text: &str) -> String {
    let plain: String = text.chars().map(|c| if matches!(c, '"' | '\\') || c.is_control() { ' ' } else { c }).collect();
    let plain = plain.trim();
    format!("\"{}\"", if plain.is_empty() { "my car" } else { plain })
}
