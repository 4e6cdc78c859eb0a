//! `trial … --json`.

use serde_json::{Value, json};
use unladen_garage::written;
use unladen_questions::trial::diary::Stands;
use unladen_questions::trial::{diary, plan, read};
use unladen_study::trial::laps::Less;
use unladen_study::trial::order::{Order, letters};

use crate::lap::json::{OutError, finite};
use crate::trial::{diary_text, plan_text, read_text};

fn order(o: &Order) -> Value {
    json!({ "runs": letters(&o.runs), "laps_a_run": o.laps, "takes_s": o.takes_s, "changes": o.changes })
}

/// `trial plan --json`.
///
/// # Errors
/// [`OutError`] where a number is none.
pub fn plan_json(v: &plan::Answer) -> Result<String, OutError> {
    let p = v.predicted.prediction();
    finite("gain_s", p.gain_s)?;
    finite("gain_sd_s", p.sd_s)?;
    let out = json!({
        "car": v.car, "track": v.track, "change": v.change, "words": plan_text::verdict(v),
        "prediction": { "gain_s": p.gain_s, "sd_s": p.sd_s, "interval_90_s": p.interval, "lap_s": v.predicted.lap_s,
            "s_per_kg": v.predicted.s_per_kg.0, "s_per_kg_sd": v.predicted.s_per_kg.1,
            "hangs_on": v.predicted.slopes.iter().map(|s| json!({ "key": s.key, "gain_s_per_sd": s.gain_s })).collect::<Vec<_>>() },
        "plan": order(&v.order), "shows": v.shows, "smallest_shown_s": v.smallest_s, "burn_kg_a_lap": v.burn_kg,
        "scatter": { "sd_s": v.scatter.sd_s, "interval_90_s": v.scatter.interval() },
        "scale_test": v.scale_test.as_ref().map(|t| json!({ "ballast_kg": t.kg, "at_m": t.at, "costs_s": t.cost_s, "plan": order(&t.order) })),
        "stretches": v.stretches.iter().map(|s| json!({ "name": s.name, "from_m": s.span_m[0], "to_m": s.span_m[1], "gain_s": s.gain_s })).collect::<Vec<_>>(),
    });
    Ok(serde_json::to_string_pretty(&out)? + "\n")
}

/// `trial read --json`.
///
/// # Errors
/// [`OutError`] where a number is none.
pub fn read_json(v: &read::Answer) -> Result<String, OutError> {
    let (p, r) = (&v.predicted, &v.reading);
    finite("gain_s", r.gain_s)?;
    finite("gain_error_s", r.error_s)?;
    let lesser = |l: &unladen_study::trial::laps::Lesser| {
        let lap = &v.laps[l.lap];
        let why = match l.why {
            Less::Out => json!("out"),
            Less::In => json!("in"),
            Less::Off(by) => json!({ "off_by_sds": by }),
        };
        json!({ "run": v.runs.get(lap.run), "lap": lap.lap + 1, "time_s": lap.time_s, "weight": l.weight, "why": why })
    };
    let along = v.along.as_ref().map(|all| all.iter().zip(&v.sealed.stretches).map(|(s, sealed)| {
        json!({ "name": sealed.0, "from_m": sealed.1[0], "to_m": sealed.1[1], "predicted_s": sealed.2, "gain_s": s.gain_s, "interval_90_s": s.interval })
    }).collect::<Vec<_>>());
    let out = json!({
        "trial": v.sealed.name, "date": written(v.sealed.day), "car": v.sealed.car, "track": v.sealed.track, "change": v.sealed.change,
        "verdict": v.judged.verdict.key(), "words": read_text::verdict(v), "power": v.judged.power,
        "predicted": { "gain_s": p.gain_s, "sd_s": p.sd_s, "interval_90_s": p.interval },
        "measured": { "gain_s": r.gain_s, "error_s": r.error_s, "interval_90_s": r.interval, "chance_of_a_gain": r.chance,
            "laps": r.laps, "effective_laps": r.effective, "freedom": r.freedom, "scatter_s": r.scatter_s, "lag_1": r.leans,
            "stop_sd_s": r.stop_s, "drift_s_per_h": r.drift_s_per_h, "wear_s_per_lap": r.wear_s_per_lap },
        "best_against_best_s": r.best_s, "mean_against_mean_s": r.mean_s,
        "counted_less": r.lesser.iter().map(lesser).collect::<Vec<_>>(), "along": along,
        "learnt": v.learnt.iter().map(|m| json!({ "key": m.key, "before": m.before, "after": m.after })).collect::<Vec<_>>(),
        "files_changed_since_the_seal": v.changed,
    });
    Ok(serde_json::to_string_pretty(&out)? + "\n")
}

/// `trial diary --json`.
///
/// # Errors
/// [`OutError`].
pub fn diary_json(v: &diary::Answer) -> Result<String, OutError> {
    let line = |l: &diary::Line| {
        let (state, result) = match &l.stands {
            Stands::Read(r, e) => (
                "read",
                json!({ "gain_s": r.gain.value, "error_s": r.gain.sd, "interval_90_s": r.interval,
                "verdict": r.verdict, "held": e.held(), "crps_s": e.crps_s() }),
            ),
            Stands::ToCome => ("to_come", Value::Null),
            Stands::Open => ("open", Value::Null),
        };
        json!({ "file": l.path, "name": l.sealed.name, "date": written(l.sealed.day), "state": state,
            "predicted": { "gain_s": l.sealed.gain.value, "sd_s": l.sealed.gain.sd }, "measured": result })
    };
    let all = v.diary.as_ref().map(|d| {
        json!({ "read": d.count, "held": d.held, "crps_s": d.crps_s, "crps_of_no_difference_s": d.crps_of_none_s,
        "misses": d.misses, "misses_90": d.between, "reliability": d.reliability })
    });
    let out = json!({
        "words": diary_text::verdict(v), "trials": v.lines.iter().map(line).collect::<Vec<_>>(), "all": all,
        "not_counted": v.faults.iter().map(ToString::to_string).collect::<Vec<_>>(),
    });
    Ok(serde_json::to_string_pretty(&out)? + "\n")
}
