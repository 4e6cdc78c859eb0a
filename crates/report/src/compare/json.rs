//! `compare --json`, `--csv` (along the laps) and `--map-csv`.

use serde_json::{Value, json};
use unladen_questions::compare::{Answer, Day, Differs, Map};
use unladen_study::compare::builds::{OnTrack, Verdict};
use unladen_study::compare::crossover::Crossing;
use unladen_study::compare::stretches::Stretch;
use unladen_study::compare::terms::Term;

use crate::compare::tables::group_name;
use crate::compare::text::verdict;
use crate::lap::json::{OutError, finite};
use crate::words::cell::harmless;
use crate::words::next::next_json;
use crate::words::state;
use crate::words::sure;
use crate::words::tuned::{settings, tuning};

/// `compare --json`.
pub fn compare_json(v: &Answer) -> Result<String, OutError> {
    for day in &v.days {
        for found in [Some(&day.found.as_set), day.found.retuned.as_ref()].into_iter().flatten() {
            finite("gain_s", found.gain.gain)?;
            finite("gain_sd_s", found.gain.sd)?;
            finite("gain_error_s", found.error_s)?;
        }
    }
    let car = |i: usize| {
        let c = &v.cars[i];
        json!({ "car": v.names[i], "state": state::json(&v.states[i]), "mass_kg": c.mass.m, "cg_x_m": c.mass.a, "cg_y_m": c.mass.y_cg, "cg_height_m": c.mass.h,
            "front_share": 1.0 - c.mass.a / c.chassis.l, "driveline_efficiency": c.driveline.efficiency })
    };
    let doubt = |d: &unladen_study::compare::builds::Doubt| json!({ "unknown": d.input.key, "sd": d.input.sd, "shared": d.shared() });
    let differs = |d: &Differs| json!({ "what": d.what, "first": d.first, "second": d.second });
    let out = json!({
        "first": car(0), "second": car(1), "tracks": v.tracks,
        "days": v.days.iter().map(|d| day(v, d)).collect::<Vec<_>>(),
        "ledger": v.ledger.iter().map(|(item, kg)| json!({ "item": item, "mass_kg": kg })).collect::<Vec<_>>(),
        "unknowns": v.doubts.iter().map(doubt).collect::<Vec<_>>(),
        "differs": v.differs.iter().map(differs).collect::<Vec<_>>(),
        "crossover": map(&v.map),
        "stopwatch": { "lap_to_lap_sd_s": v.watch.spread_s, "laps_a_side": v.laps, "smallest_seen_s": v.watch.smallest(v.laps) },
    });
    Ok(serde_json::to_string_pretty(&out)? + "\n")
}

fn day(v: &Answer, d: &Day) -> Value {
    let found = |x: &Verdict| {
        let mut out = sure::json(&x.gain, x.error_s, x.reversed_by.as_ref(), &d.found.unknowns);
        out["lap_time_first_s"] = json!(x.times_s[0]);
        out["lap_time_second_s"] = json!(x.times_s[1]);
        out["verdict_on_second"] = json!(v.call(x).key());
        out["laps_a_side_to_see_it"] = json!(v.watch.whole_laps(x.gain.gain));
        out["settings_first"] = settings(&x.settings[0]);
        out["settings_second"] = settings(&x.settings[1]);
        out
    };
    let term = |t: &Term| json!({ "term": group_name(t.group), "gain_s": t.gain_s, "least_s": t.range_s[0], "most_s": t.range_s[1] });
    let bend = |s: &Stretch| {
        json!({ "place": s.place, "slowest_at_m": s.slowest_m, "slowest_first_mps": s.slowest_mps[0],
            "slowest_second_mps": s.slowest_mps[1], "gain_before_s": s.entry_s, "gain_after_s": s.exit_s,
            "then_fastest_first_mps": s.fastest_mps[0], "then_fastest_second_mps": s.fastest_mps[1] })
    };
    let track = |t: &OnTrack| {
        json!({ "track": t.track, "lap_time_first_s": t.times_s[0], "lap_time_second_s": t.times_s[1],
            "bends": t.stretches.iter().map(bend).collect::<Vec<_>>() })
    };
    json!({
        "day": d.name, "grip": d.grip, "words": verdict(v, d), "power_factor_sd": d.place_sd[0], "grip_factor_sd": d.place_sd[1],
        "as_set": found(&d.found.as_set), "retuned": d.found.retuned.as_ref().map(found),
        "tuning": { "first": tuning(&d.found.tuning[0]), "second": tuning(&d.found.tuning[1]) },
        "terms": d.found.terms.as_ref().map(|t| t.iter().map(term).collect::<Vec<_>>()),
        "tracks": d.found.tracks.iter().map(track).collect::<Vec<_>>(),
        "measure_next": next_json(v.open(&d.found).1.as_ref()),
    })
}

fn map(m: &Map) -> Value {
    let crossing = |c: &Crossing| json!({ "at": c.at, "second_quicker_above": c.second_above });
    let all = |c: &[Crossing]| c.iter().map(crossing).collect::<Vec<_>>();
    let cell = |c: &unladen_study::compare::crossover::Cell| {
        json!({ "power_factor": c.power, "grip": c.grip, "lap_time_first_s": c.times_s[0], "lap_time_second_s": c.times_s[1],
            "gain_s": c.gain_s() })
    };
    json!({ "cells": m.cells.iter().map(cell).collect::<Vec<_>>(), "over_grip": all(&m.over_grip),
        "over_power": m.over_power.iter().map(|c| all(c)).collect::<Vec<_>>() })
}

fn written(out: csv::Writer<Vec<u8>>) -> Result<String, OutError> {
    let bytes = out.into_inner().map_err(|e| OutError::Csv(e.into_error().into()))?;
    Ok(String::from_utf8_lossy(&bytes).into_owned())
}

/// `compare --csv`: both laps of each day and track, a row a station.
pub fn compare_csv(v: &Answer) -> Result<String, OutError> {
    let mut out = csv::Writer::from_writer(Vec::new());
    let keys = ["s_m", "t_first_s", "t_second_s", "gain_s", "v_first_mps", "v_second_mps"];
    out.write_record(["day", "track"].into_iter().chain(keys))?;
    for (day, track) in v.days.iter().flat_map(|d| d.found.tracks.iter().map(move |t| (d, t))) {
        for (a, b) in track.rows[0].iter().zip(&track.rows[1]) {
            let numbers = [a.s, a.t, b.t, a.t - b.t, a.v, b.v];
            for (key, value) in keys.iter().zip(numbers) {
                finite(key, value)?;
            }
            let numbers = numbers.map(|x| (x + 0.0).to_string());
            out.write_record([day.name.to_owned(), harmless(&track.track)].into_iter().chain(numbers))?;
        }
    }
    written(out)
}

/// `compare --map-csv`: a row a cell; empty where a car has no lap.
pub fn map_csv(m: &Map) -> Result<String, OutError> {
    let mut out = csv::Writer::from_writer(Vec::new());
    out.write_record(["power_factor", "grip", "lap_time_first_s", "lap_time_second_s", "gain_s"])?;
    for c in &m.cells {
        let number = |x: Option<f64>| x.map_or_else(String::new, |x| (x + 0.0).to_string());
        out.write_record([
            number(Some(c.power)),
            number(Some(c.grip)),
            number(c.times_s[0]),
            number(c.times_s[1]),
            number(c.gain_s()),
        ])?;
    }
    written(out)
}
