//! `worth --json`: the derivatives of each track and of the mix, with the keys of the project's file formats.

use serde::ser::SerializeMap;
use serde::{Serialize, Serializer};
use unladen_study::{Quantity, Worth, WorthPlace};

use unladen_questions::stands::standing::Said;
use unladen_questions::worth::{Figure, OpenFigure};
use unladen_study::measure::Next;

use crate::lap::json::{OutError, finite};
use crate::words::next::next_json;
use crate::words::state;
use crate::worth::quantities;

/// The whole of `worth --json`.
#[derive(Serialize)]
struct Out<'a> {
    tracks: Vec<Entry<'a>>,
    mix: Entry<'a>,
    #[serde(skip_serializing_if = "Option::is_none")]
    state: Option<serde_json::Value>,
    #[serde(skip_serializing_if = "Option::is_none")]
    measure_next: Option<serde_json::Value>,
}

struct Entry<'a>(&'a Worth);

impl Serialize for Entry<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let w = self.0;
        let mut map = serializer.serialize_map(None)?;
        map.serialize_entry("track", &w.track)?;
        map.serialize_entry("lap_time_s", &w.lap_time_s)?;
        if let Some(sd) = w.lap_time_sd_s {
            map.serialize_entry("lap_time_s_sd", &sd)?;
        }
        if let Some(interval) = w.lap_time_interval_s {
            map.serialize_entry("lap_time_s_interval_90", &interval)?;
        }
        for (key, q) in quantities(w) {
            quantity(&mut map, key, q)?;
        }
        map.serialize_entry("places", &w.places.iter().map(Place).collect::<Vec<_>>())?;
        map.end()
    }
}

struct Place<'a>(&'a WorthPlace);

impl Serialize for Place<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let WorthPlace { spot, s_per_kg } = self.0;
        let mut map = serializer.serialize_map(None)?;
        map.serialize_entry("name", &spot.name)?;
        map.serialize_entry("at_m", &spot.at)?;
        quantity(&mut map, "s_per_kg", s_per_kg)?;
        map.end()
    }
}

/// A number with how well it is known.
fn quantity<M: SerializeMap>(map: &mut M, key: &str, q: &Quantity) -> Result<(), M::Error> {
    map.serialize_entry(key, &q.value)?;
    if let Some(sd) = q.sd {
        map.serialize_entry(&format!("{key}_sd"), &sd)?;
    }
    if let Some(interval) = q.interval {
        map.serialize_entry(&format!("{key}_interval_90"), &interval)?;
    }
    if let Some((minus, plus)) = q.one_sided {
        map.serialize_entry(&format!("{key}_one_sided"), &[minus, plus])?;
    }
    Ok(())
}

/// `worth --json`: each track and the weighted mix (of one track: that track again).
/// `open` is the figure that is open, and what to measure next for it.
pub fn worth_json(
    tracks: &[Worth],
    mix: &Worth,
    state: Option<&Said>,
    open: Option<&(OpenFigure, Option<Next>)>,
) -> Result<String, OutError> {
    for worth in tracks.iter().chain([mix]) {
        finite("lap_time_s", worth.lap_time_s)?;
        finite("lap_time_s_sd", worth.lap_time_sd_s.unwrap_or(0.0))?;
        for (key, q) in quantities(worth) {
            all_finite(key, q)?;
        }
        for place in &worth.places {
            all_finite(&format!("s_per_kg of {}", place.spot.name), &place.s_per_kg)?;
        }
    }
    let measure_next = open.map(|(of, next)| {
        let mut out = next_json(next.as_ref());
        if let Some(map) = out.as_object_mut() {
            map.insert("of".into(), key(of.figure).into());
        }
        out
    });
    let state = state.map(state::json);
    let out = Out { tracks: tracks.iter().map(Entry).collect(), mix: Entry(mix), state, measure_next };
    Ok(serde_json::to_string_pretty(&out)? + "\n")
}

fn key(figure: Figure) -> &'static str {
    match figure {
        Figure::Kilogram => "s_per_kg",
        Figure::Height => "s_per_mm_height",
        Figure::Rearward => "s_per_mm_rearward",
    }
}

fn all_finite(key: &str, q: &Quantity) -> Result<(), OutError> {
    finite(key, q.value)?;
    finite(&format!("{key}_sd"), q.sd.unwrap_or(0.0))?;
    let [low, high] = q.interval.unwrap_or_default();
    finite(&format!("{key}_interval_90"), low + high)?;
    let (minus, plus) = q.one_sided.unwrap_or((0.0, 0.0));
    finite(&format!("{key}_one_sided"), minus + plus)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::worth::text::tests::example;

    fn keys(v: &serde_json::Value) -> Vec<&str> {
        v.as_object().unwrap().keys().map(String::as_str).collect()
    }

    #[test]
    fn closed_form_keys_stand_as_the_formats_say() {
        let (plain, kink) = (example("Airfield"), {
            let mut w = example("Valley");
            w.lap_time_sd_s = Some(0.3);
            w.s_per_kg.sd = Some(0.001);
            w.s_per_mm_rearward.one_sided = Some((-0.001, 0.002));
            w
        });
        let mix = Worth { track: "mix".into(), ..plain.clone() };
        let json = worth_json(&[plain, kink], &mix, None, None).unwrap();
        let read: serde_json::Value = serde_json::from_str(&json).unwrap();
        assert_eq!(keys(&read), ["mix", "tracks"]);
        let bare =
            ["lap_time_s", "places", "s_per_kg", "s_per_mm_height", "s_per_mm_rearward", "s_per_mm_right", "track"];
        assert_eq!(keys(&read["tracks"][0]), bare);
        assert_eq!(keys(&read["mix"]), bare);
        let more: Vec<_> = keys(&read["tracks"][1]).into_iter().filter(|k| !bare.contains(k)).collect();
        assert_eq!(more, ["lap_time_s_sd", "s_per_kg_sd", "s_per_mm_rearward_one_sided"]);
        assert_eq!(read["tracks"][1]["s_per_mm_rearward_one_sided"], serde_json::json!([-0.001, 0.002]));
        let roof = serde_json::json!({ "name": "roof", "at_m": [1.5, 0.0, 1.31], "s_per_kg": 0.0169 });
        assert_eq!(read["tracks"][0]["places"][1], roof);
        assert!(json.find("\"tracks\"").unwrap() < json.find("\"mix\"").unwrap());
    }

    #[test]
    fn bad_input_what_is_not_finite_is_named() {
        let mut bad = example("Airfield");
        bad.s_per_mm_height.sd = Some(f64::NAN);
        let mix = example("mix");
        let refused = worth_json(&[bad], &mix, None, None);
        assert!(matches!(refused, Err(OutError::NotFinite { key }) if key == "s_per_mm_height_sd"));
    }
}
