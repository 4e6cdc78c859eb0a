//! `move --json` and `move --csv`.

use serde_json::{Value, json};
use unladen_questions::relocate::Answer;
use unladen_study::relocate::static_state::StaticState;
use unladen_study::relocate::stint::{DOSE_KG, Stint};
use unladen_study::uncertainty::spread::Difference;

use crate::lap::json::{OutError, finite};
use crate::relocate::text::verdict;
use crate::words::next::next_json;
use crate::words::state;
use crate::words::sure;
use crate::words::tuned::{settings, tuning};

fn stands(s: &StaticState) -> Value {
    json!({
        "mass_kg": s.mass, "cg_x_m": s.cg[0], "cg_y_m": s.cg[1], "cg_height_m": s.cg[2], "front_share": s.front_share,
        "axle_front_kg": s.axles[0], "axle_rear_kg": s.axles[1], "yaw_inertia_kgm2": s.yaw_inertia,
        "static_stability_factor": s.stability,
    })
}

/// `move --json`.
pub fn move_json(v: &Answer) -> Result<String, OutError> {
    let a = &v.answer;
    let stint = |s: &Stint| {
        let mut out = sure::json(&s.gain, s.error_s, s.reversed_by.as_ref(), &a.unknowns);
        out["mean_before_s"] = json!(s.mean_s[0]);
        out["mean_after_s"] = json!(s.mean_s[1]);
        out["verdict"] = json!(v.call(s).key());
        out["laps_a_side_to_see_it"] = json!(v.watch.whole_laps(s.gain.gain));
        if let Some([moved, added]) = &s.split {
            let part = |d: &Difference| sure::json(d, s.error_s, None, &a.unknowns);
            out["split"] = json!({ "moved": part(moved), "added": part(added) });
        }
        out["break_even"] = s.even.map_or(Value::Null, |even| {
            json!({ "kg": even.kg, "interval_90_kg": even.interval, "s_per_kg": even.s_per_kg, "at_m": v.brackets })
        });
        out["settings_before"] = settings(&s.settings[0]);
        out["settings_after"] = settings(&s.settings[1]);
        out
    };
    for s in [Some(&a.as_set), a.retuned.as_ref()].into_iter().flatten() {
        finite("gain_s", s.gain.gain)?;
        finite("gain_sd_s", s.gain.sd)?;
        finite("gain_error_s", s.error_s)?;
    }
    let drift = |i: usize| a.ends[1][i].front_share - a.ends[0][i].front_share;
    let load = |l: &unladen_study::relocate::stint::Load| {
        json!({ "fuel_m3": l.fuel, "lap_time_before_s": l.as_set_s[0], "lap_time_after_s": l.as_set_s[1],
            "lap_time_retuned_before_s": l.retuned_s[0], "lap_time_retuned_after_s": l.retuned_s[1],
            "before": stands(&l.at_rest[0]), "after": stands(&l.at_rest[1]) })
    };
    let out = json!({
        "car": v.car, "state": state::json(&v.state), "item": v.item, "tracks": v.tracks, "words": verdict(v), "added_mass_kg": v.relocation.mass(),
        "empty_tank": v.empty_tank.as_ref().map(|t| json!({ "row": t.row, "before_kg": t.kg[0], "after_kg": t.kg[1] })),
        "loads": a.loads.iter().map(load).collect::<Vec<_>>(),
        "stint": { "fuel_from_m3": v.stint[0], "fuel_to_m3": v.stint[1], "as_set": stint(&a.as_set),
            "retuned": a.retuned.as_ref().map(stint), "front_share_drift_before": drift(0), "front_share_drift_after": drift(1) },
        "tuning": { "before": tuning(&a.tuning[0]), "after": tuning(&a.tuning[1]) },
        "measure_next": next_json(v.open.1.as_ref()),
        "stopwatch": { "lap_to_lap_sd_s": v.watch.spread_s, "laps_a_side": v.laps, "smallest_seen_s": v.watch.smallest(v.laps),
            "dose_kg": DOSE_KG, "dose_costs_s": a.dose_s, "dose_laps_a_side": v.watch.whole_laps(a.dose_s) },
    });
    Ok(serde_json::to_string_pretty(&out)? + "\n")
}

const COLUMNS: [&str; 17] = [
    "fuel_l",
    "lap_time_before_s",
    "lap_time_after_s",
    "gain_s",
    "lap_time_retuned_before_s",
    "lap_time_retuned_after_s",
    "gain_retuned_s",
    "mass_before_kg",
    "mass_after_kg",
    "cg_x_before_mm",
    "cg_x_after_mm",
    "cg_height_before_mm",
    "cg_height_after_mm",
    "front_share_before",
    "front_share_after",
    "yaw_inertia_before_kgm2",
    "yaw_inertia_after_kgm2",
];

/// `move --csv`: a row a fuel load.
pub fn move_csv(v: &Answer) -> Result<String, OutError> {
    let mut out = csv::Writer::from_writer(Vec::new());
    out.write_record(COLUMNS)?;
    for l in &v.answer.loads {
        let [a, b] = &l.at_rest;
        let row = [
            l.fuel * 1e3,
            l.as_set_s[0],
            l.as_set_s[1],
            l.as_set_s[0] - l.as_set_s[1],
            l.retuned_s[0],
            l.retuned_s[1],
            l.retuned_s[0] - l.retuned_s[1],
            a.mass,
            b.mass,
            a.cg[0] * 1e3,
            b.cg[0] * 1e3,
            a.cg[2] * 1e3,
            b.cg[2] * 1e3,
            a.front_share,
            b.front_share,
            a.yaw_inertia,
            b.yaw_inertia,
        ];
        for (key, value) in COLUMNS.iter().zip(row) {
            finite(key, value)?;
        }
        out.write_record(row.map(|x| (x + 0.0).to_string()))?;
    }
    let bytes = out.into_inner().map_err(|e| OutError::Csv(e.into_error().into()))?;
    Ok(String::from_utf8_lossy(&bytes).into_owned())
}
