//! `rank --json` and `rank --csv`: the ranking for machines.

use serde_json::{Map, Value, json};
use unladen_questions::rank::Answer;
use unladen_study::rank::ranked::{Ranked, Whole};
use unladen_study::uncertainty::reversal::Settles;

use crate::words::next::next_json;
use crate::words::sure::measurement::measurement;
use unladen_study::uncertainty::spread::Difference;

use crate::lap::json::{OutError, finite};
use crate::words::cell::harmless;
use crate::words::state;
use crate::words::sure;

/// The whole of `rank --json`: SI, keys named with their unit.
pub fn rank_json(v: &Answer) -> Result<String, OutError> {
    let f = &v.found;
    for item in f.items.iter().chain(&f.yardsticks) {
        let d = &item.gain;
        for (key, value) in
            [("gain_s", d.gain), ("gain_sd_s", d.sd), ("gain_p05_s", d.interval[0]), ("gain_p95_s", d.interval[1])]
        {
            finite(key, value)?;
        }
    }
    let mut out = Map::new();
    out.insert("car".into(), json!(v.car));
    out.insert("state".into(), state::json(&v.state));
    let tracks: Vec<Value> = f.tracks.iter().map(|(track, share)| json!({ "track": track, "share": share })).collect();
    out.insert("tracks".into(), tracks.into());
    out.insert("mass_kg".into(), json!(f.mass_kg));
    out.insert("lap_time_s".into(), json!(f.lap_time_s));
    out.insert("lap_time_error_s".into(), json!(f.lap_time_error_s));
    if let Some(tuned) = &f.retuned {
        out.insert(
            "retuned".into(),
            json!({
                "lap_time_s": tuned.time_s,
                "roll_stiffness_front_share": tuned.settings.chi,
                "brake_front_share": tuned.settings.beta_f,
            }),
        );
    }
    out.insert("items".into(), f.items.iter().map(|i| item(v, i)).collect::<Vec<_>>().into());
    out.insert("for_scale".into(), f.yardsticks.iter().map(|i| item(v, i)).collect::<Vec<_>>().into());
    for (key, of) in [("planned", &f.planned), ("planned_and_ideas", &f.ideas)] {
        if let Some(of) = of {
            out.insert(key.into(), whole(v, of));
        }
    }
    if let Some(flip) = &f.reversed_by {
        let unknown = &f.unknowns[flip.unknown];
        let known = match flip.settles {
            Settles::At(sd) => Some(sd),
            _ => None,
        };
        out.insert(
            "flip".into(),
            json!({
                "unknown": unknown.name, "off_sd": flip.sds, "off": flip.sds * unknown.sd, "unit": unknown.unit,
                "settled": flip.settles == Settles::Already, "settled_when_known_to": known,
                "measurement": measurement(&unknown.name),
            }),
        );
    }
    if let Some((i, _, next)) = &v.open {
        let mut next = next_json(next.as_ref());
        if let Value::Object(map) = &mut next {
            map.insert("of".into(), json!(f.items[*i].name));
        }
        out.insert("measure_next".into(), next);
    }
    let comes_with = v.comes_with.iter().map(|(name, rows)| {
        json!({ "name": name, "one_of": rows.iter().map(|&r| v.entries[r].item.as_str()).collect::<Vec<_>>() })
    });
    out.insert("comes_with".into(), comes_with.collect());
    out.insert("draws".into(), json!(f.draws));
    out.insert("lap_spread_s".into(), json!(v.stopwatch.spread_s));
    if let Some(picked) = &f.within_budget {
        let sets = picked.sets.iter().map(|s| {
            let names: Vec<&String> = s.candidates.iter().map(|&c| &v.candidates[c]).collect();
            let mut map = Map::new();
            map.insert("items".into(), json!(names));
            map.insert("change_kg".into(), json!(s.kg));
            map.insert("cost".into(), json!(s.cost));
            map.insert("hours".into(), json!(s.hours));
            difference(&mut map, v, &s.gain, f.lap_time_error_s);
            Value::Object(map)
        });
        let steps = picked.order.iter().map(|s| {
            let names: Vec<&String> = s.candidates.iter().map(|&c| &v.candidates[c]).collect();
            json!({ "items": names, "cost": s.cost, "hours": s.hours, "gain_s": s.gain_s, "gain_so_far_s": s.so_far_s,
                "month": s.month })
        });
        out.insert(
            "best".into(),
            json!({
                "order": steps.collect::<Vec<_>>(), "sets": sets.collect::<Vec<_>>(), "exact": picked.exact, "no_other_gains_more_than_s": picked.rest_s,
                "sets_lapped": picked.lapped, "pairs_off_by_s": picked.off_s, "target_change_kg": v.target_kg,
                "lightest_change_kg": picked.lightest_kg,
                "ahead_s": picked.ahead.as_ref().map(|d| d.gain), "ahead_probability": picked.ahead.as_ref().map(|d| d.chance),
            }),
        );
    }
    Ok(serde_json::to_string_pretty(&Value::Object(out))? + "\n")
}

fn difference(map: &mut Map<String, Value>, v: &Answer, d: &Difference, error_s: f64) {
    if let Value::Object(all) = sure::json(d, error_s, None, &v.found.unknowns) {
        map.extend(all.into_iter().filter(|(key, _)| key != "reversed_by"));
    }
}

fn item(v: &Answer, i: &Ranked) -> Value {
    let names: Vec<&str> = i.rows.iter().map(|&r| v.entries[r].item.as_str()).collect();
    let mut map = Map::new();
    map.insert("name".into(), json!(i.name));
    map.insert("rows".into(), json!(names));
    map.insert("place_best".into(), json!(i.places.map(|p| p[0])));
    map.insert("place_worst".into(), json!(i.places.map(|p| p[1])));
    map.insert("resolved".into(), json!(i.resolved()));
    map.insert("change_kg".into(), json!(i.kg));
    map.insert("cost".into(), json!(i.cost));
    map.insert("hours".into(), json!(i.hours));
    difference(&mut map, v, &i.gain, i.error_s);
    map.insert("gain_retuned_s".into(), json!(i.retuned_s));
    map.insert("kg_equivalent".into(), json!(i.kg_equivalent));
    let per = |of: Option<f64>| of.filter(|of| *of != 0.0).map(|of| i.gain.gain / of);
    map.insert("s_per_kg".into(), json!(per(Some(-i.kg))));
    map.insert("s_per_cost".into(), json!(per(i.cost)));
    map.insert("s_per_hour".into(), json!(per(i.hours)));
    map.insert("laps_a_side".into(), json!(v.stopwatch.whole_laps(i.gain.gain)));
    if let Some(s) = i.sources {
        map.insert(
            "from".into(),
            json!({
                "mass_s": s.mass_s, "height_s": s.height_s, "split_s": s.split_s, "turning_s": s.turning_s, "becomes_s": s.becomes_s,
                "together_s": s.together_s,
            }),
        );
    }
    let [corners, braking, accelerating, top] = i.phases;
    map.insert(
        "where".into(),
        json!({ "corners_s": corners, "braking_s": braking, "accelerating_s": accelerating, "top_speed_s": top }),
    );
    Value::Object(map)
}

fn whole(v: &Answer, w: &Whole) -> Value {
    let mut value = item(v, &w.all);
    if let Value::Object(map) = &mut value {
        map.insert("sum_of_parts_s".into(), json!(w.sum_s));
        map.insert("interaction_s".into(), json!(w.all.gain.gain - w.sum_s));
    }
    value
}

const COLUMNS: [&str; 24] = [
    "name",
    "place_best",
    "place_worst",
    "resolved",
    "change_kg",
    "cost",
    "hours",
    "gain_s",
    "gain_median_s",
    "gain_p05_s",
    "gain_p95_s",
    "probability_of_gain",
    "gain_error_s",
    "gain_retuned_s",
    "kg_equivalent",
    "laps_a_side",
    "mass_s",
    "height_s",
    "split_s",
    "turning_s",
    "corners_s",
    "braking_s",
    "accelerating_s",
    "top_speed_s",
];

/// `rank --csv`: one line a candidate, then one a yardstick.
pub fn rank_csv(v: &Answer) -> Result<String, OutError> {
    let mut out = csv::Writer::from_writer(Vec::new());
    out.write_record(COLUMNS)?;
    for i in v.found.items.iter().chain(&v.found.yardsticks) {
        let number = |x: f64| (x + 0.0).to_string();
        let some = |x: Option<f64>| x.map(number).unwrap_or_default();
        let place = |k: usize| i.places.map(|p| p[k].to_string()).unwrap_or_default();
        let d = &i.gain;
        let mut record = vec![
            harmless(&i.name),
            place(0),
            place(1),
            i.resolved().to_string(),
            number(i.kg),
            some(i.cost),
            some(i.hours),
        ];
        record.extend([d.gain, d.median, d.interval[0], d.interval[1], d.chance, i.error_s].map(number));
        record.extend([i.retuned_s, i.kg_equivalent].map(some));
        record.push(v.stopwatch.whole_laps(d.gain).map(|n| n.to_string()).unwrap_or_default());
        let s = i.sources;
        record.extend(
            [s.map(|s| s.mass_s), s.map(|s| s.height_s), s.map(|s| s.split_s), s.map(|s| s.turning_s)].map(some),
        );
        record.extend(i.phases.map(number));
        out.write_record(&record)?;
    }
    let bytes = out.into_inner().map_err(|e| OutError::from(csv::Error::from(e.into_error())))?;
    Ok(String::from_utf8_lossy(&bytes).into_owned())
}
