//! JSON Schemas of the TOML files, from the tables that the reader reads by: editors complete and explain the keys.

use serde_json::{Map, Value, json};

use crate::keys::car::CAR;
use crate::keys::readings::{FLUID, LEVEL, LIFT, READINGS};
use crate::keys::shop::{ABOARD, SCALE};
use crate::keys::track::TRACK;
use crate::keys::{Key, Kind, Need, Span, Table, shared};
use crate::toml_file::typed::ASSUMED;
use crate::unit::{Dimension, UNITS};

/// The JSON Schema (draft 2020-12) of `car.toml`.
pub fn car_schema() -> Value {
    let mut schema = schema(CAR, "A car: as weighed, and all that its lap time depends on");
    for (name, table, help) in [
        ("scales", SCALE, "scales that parts are weighed on, each under a name of your own"),
        ("aboard", ABOARD, "people and things aboard besides the driver, each under a name of your own"),
    ] {
        let item = Value::Object(object(table, ""));
        schema["properties"][name] = json!({ "type": "object", "description": help, "additionalProperties": item });
    }
    schema
}

/// The JSON Schema (draft 2020-12) of a track's TOML file.
pub fn track_schema() -> Value {
    schema(TRACK, "A track: its day, and where its segments are")
}

/// The JSON Schema (draft 2020-12) of a readings file.
pub fn readings_schema() -> Value {
    let mut schema = schema(READINGS, "Scale readings: what the pads showed, level and with an axle raised");
    for (name, table, least, help) in [
        ("level", LEVEL, 1, "readings of the level car, one a repeat"),
        ("lift", LIFT, 0, "readings with one axle raised"),
        ("fluid", FLUID, 0, "fluids that run to the low end"),
    ] {
        let item = Value::Object(object(table, ""));
        // A single [level] is read as a list of one.
        let list = json!({ "type": "array", "minItems": least, "items": item });
        schema["properties"][name] = json!({ "anyOf": [list, item], "description": help });
    }
    if let Value::Array(required) = &mut schema["required"] {
        required.push(json!("level"));
    }
    schema
}

/// 2026-03-14, or 14.3.2026.
const DATE: &str = r"^\s*(\d{4}-\d{1,2}-\d{1,2}|\d{1,2}\.\d{1,2}\.\d{4})\s*$";

fn schema(table: Table, title: &str) -> Value {
    let mut schema = object(table, "");
    schema.insert("$schema".into(), json!("https://json-schema.org/draft/2020-12/schema"));
    schema.insert("title".into(), json!(title));
    Value::Object(schema)
}

/// The table at this dotted path ("" for the file).
fn object(table: Table, at: &str) -> Map<String, Value> {
    let path = |name: &str| if at.is_empty() { name.to_owned() } else { format!("{at}.{name}") };
    let below =
        |key: &Key, path: &str| key.path == path || key.path.strip_prefix(path).is_some_and(|r| r.starts_with('.'));
    let mut properties = Map::new();
    let mut required = Vec::new();
    let mut dependent: Map<String, Value> = Map::new();
    let mut when = Vec::new();
    for name in table.names(at) {
        let path = path(name);
        let property = match table.find(&path) {
            Some(key) => value(key),
            None => object(table, &path),
        };
        properties.insert(name.into(), Value::Object(property));
        if table.keys().any(|k| below(k, &path) && is_required(k, at)) {
            required.push(name);
        }
        for key in table.keys().filter(|k| below(k, &path)) {
            match &key.need {
                Need::With(others) => {
                    for other in others.iter().filter_map(|o| sibling(o, at)).filter(|o| *o != name) {
                        let list = dependent.entry(other).or_insert_with(|| json!([]));
                        if let Value::Array(list) = list
                            && !list.contains(&json!(name))
                        {
                            list.push(json!(name));
                        }
                    }
                }
                Need::When(choice, words, _) => {
                    if let Some(choice) = sibling(choice, at) {
                        let test = json!({ "properties": { choice: { "enum": words } }, "required": [choice] });
                        when.push(json!({ "if": test, "then": { "required": [name] } }));
                    }
                }
                _ => {}
            }
        }
    }
    // What both axles' tyres have need not stand at each.
    for name in table.names(at) {
        let axles: Vec<&str> = table.names(at).into_iter().filter(|axle| one_axle(table, at, axle, name)).collect();
        if !axles.is_empty() {
            let own: Map<String, Value> =
                axles.iter().map(|axle| ((*axle).to_owned(), json!({ "required": [name] }))).collect();
            let then = json!({ "required": axles, "properties": own });
            when.push(json!({ "if": { "not": { "required": [name] } }, "then": then }));
        }
    }
    let mut object = Map::new();
    object.insert("type".into(), json!("object"));
    object.insert("properties".into(), Value::Object(properties));
    object.insert("additionalProperties".into(), json!(false));
    for (name, list) in [("required", json!(required)), ("dependentRequired", json!(dependent)), ("allOf", json!(when))]
    {
        if list != json!([]) && list != json!({}) {
            object.insert(name.into(), list);
        }
    }
    object
}

/// Whether `axle` is a table of the one at `at` whose key of this name must be there where `at` has none itself.
fn one_axle(table: Table, at: &str, axle: &str, name: &str) -> bool {
    let path = format!("{at}.{axle}.{name}");
    shared(&path).is_some() && table.find(&path).is_some_and(|key| matches!(key.need, Need::Always))
}

/// Whether this key makes its entry of the table at `at` required: always, or because that table is there.
fn is_required(key: &Key, at: &str) -> bool {
    if shared(key.path).is_some() && !at.is_empty() {
        return false;
    }
    match &key.need {
        Need::Always => true,
        Need::With(others) => others.iter().any(|o| !at.is_empty() && *o == at || at.starts_with(&format!("{o}."))),
        _ => false,
    }
}

/// The name of a dotted path within the table at `at`, if it lies right there.
fn sibling<'a>(path: &'a str, at: &str) -> Option<&'a str> {
    let name = if at.is_empty() { Some(path) } else { path.strip_prefix(at).and_then(|r| r.strip_prefix('.')) };
    name.filter(|n| !n.contains('.'))
}

fn value(key: &Key) -> Map<String, Value> {
    let mut value = match &key.kind {
        Kind::Schema => json!({ "const": 1 }),
        Kind::Text => json!({ "type": "string", "pattern": "\\S" }),
        Kind::Date => json!({ "type": "string", "pattern": DATE }),
        Kind::Flag => json!({ "type": "boolean" }),
        Kind::Choice(words) => {
            let all = words.iter().map(|w| (*w).to_owned()).chain(words.iter().map(|w| format!("{ASSUMED} {w}")));
            json!({ "enum": all.collect::<Vec<_>>() })
        }
        Kind::Quantity(span) => quantity(span),
        Kind::List(span) => json!({ "type": "array", "minItems": 1, "items": quantity(span) }),
        Kind::Pairs(x, y) => {
            let pair =
                json!({ "type": "array", "prefixItems": [quantity(x), quantity(y)], "minItems": 2, "maxItems": 2 });
            json!({ "type": "array", "minItems": 1, "items": pair })
        }
    };
    match &mut value {
        Value::Object(map) => {
            let range = match &key.kind {
                Kind::Quantity(s) | Kind::List(s) => format!(" ({})", s.range()),
                Kind::Pairs(x, y) => format!(" ({}; {})", x.range(), y.range()),
                _ => String::new(),
            };
            map.insert("description".into(), json!(format!("{}{range}", key.help)));
            std::mem::take(map)
        }
        _ => Map::new(),
    }
}

fn quantity(span: &Span) -> Value {
    let dimension = span.unit().dimension;
    let text = json!({ "type": "string", "pattern": pattern(dimension) });
    if dimension != Dimension::Pure {
        return text;
    }
    let mut number = json!({ "type": "number" });
    let (least, most) = if span.open { ("exclusiveMinimum", "exclusiveMaximum") } else { ("minimum", "maximum") };
    number[least] = json!(span.min);
    if span.max.is_finite() {
        number[most] = json!(span.max);
    }
    json!({ "anyOf": [number, text] })
}

/// What a text of this dimension looks like, with every unit of the table: "492 ± 15 mm".
pub(crate) fn pattern(dimension: Dimension) -> String {
    let number = r"[+\-−]?(\d+\.?\d*|\.\d+)([eE][+\-]?\d+)?";
    let units: Vec<String> = UNITS
        .iter()
        .filter(|u| u.dimension == dimension && !u.symbol.is_empty())
        .map(|u| spellings(u.symbol))
        .collect();
    let units = format!("({})", units.join("|"));
    let plus_minus = r"(±|\+-|\+/-)";
    let before = format!(r"^\s*({ASSUMED}\s+)?");
    if dimension == Dimension::Pure {
        return format!(r"{before}({number}|[+]?inf|∞)\s*{units}?(\s*{plus_minus}\s*{number}\s*{units}?)?\s*$");
    }
    format!(
        r"{before}{number}\s*({units}\s*({plus_minus}\s*{number}\s*{units}?)?|{plus_minus}\s*{number}\s*{units})\s*$"
    )
}

/// A symbol as a regular expression: escaped, spaces free, powers in each way that is read.
fn spellings(symbol: &str) -> String {
    let mut out = String::new();
    for c in symbol.chars() {
        match c {
            ' ' => out += r"[\s*·]*",
            '2' => out += r"(\^?2|²)",
            '3' => out += r"(\^?3|³)",
            '%' | '°' => out.push(c),
            c if c.is_ascii_alphanumeric() => out.push(c),
            '/' => out += r"\s*/\s*",
            c => {
                out.push('\\');
                out.push(c);
            }
        }
    }
    // N m for Nm.
    out.replace("Nm", r"N[\s*·]*m")
}
