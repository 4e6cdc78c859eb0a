//! `ledger --json` and `ledger --csv`: the budget for machines.

use serde_json::{Map, Value, json};
use unladen_garage::written;
use unladen_questions::ledger::Answer;
use unladen_study::ledger::budget::{Blame, MassState, Tally};
use unladen_study::ledger::selection::LeftOut;

use crate::lap::json::OutError;
use crate::ledger::text::otherwise;
use crate::words::aboard::aboard;

/// The whole of `ledger --json`: SI, keys named with their unit.
pub fn budget_json(v: &Answer) -> Result<String, OutError> {
    let b = &v.budget;
    let mut out = Map::new();
    out.insert("car".into(), json!(v.car));
    out.insert("aboard".into(), json!(aboard(v.aboard)));
    out.insert("weighed_on".into(), json!(v.weighed_on.map(written)));
    out.insert("target_kg".into(), json!(v.target_kg));
    for (key, s) in [
        ("weighed", &b.weighed),
        ("now", &b.now),
        ("planned_measured", &b.measured),
        ("planned_all", &b.planned),
        ("with_ideas", &b.ideas),
    ] {
        out.insert(key.into(), standing(s));
    }
    let other: Vec<Value> =
        v.otherwise.iter().map(|o| json!({ "aboard": otherwise(o), "mass_kg": o.mass_kg })).collect();
    out.insert("now_otherwise".into(), json!(other));
    out.insert(
        "by_state".into(),
        b.by_state.iter().map(|(s, t)| (s.word().to_owned(), tally(t))).collect::<Map<_, _>>().into(),
    );
    let areas = b
        .by_area
        .iter()
        .map(|(name, t)| json!({ "area": name, "done": tally(&t[0]), "planned": tally(&t[1]), "idea": tally(&t[2]) }));
    out.insert("by_area".into(), areas.collect::<Vec<_>>().into());
    out.insert(
        "planned_by_source".into(),
        b.by_origin.iter().map(|(o, t)| (o.word().to_owned(), tally(t))).collect::<Map<_, _>>().into(),
    );
    let blame = b.blame.iter().map(|(what, s)| {
        let what = match what {
            Blame::Weighing => "weighing".to_owned(),
            Blame::Rows(o) => format!("{} rows", o.word()),
            Blame::Scale(name) => format!("scale {name}"),
        };
        json!({ "cause": what, "share_mass": s[0], "share_x": s[1], "share_y": s[2], "share_height": s[3] })
    });
    out.insert("variance_now".into(), blame.collect::<Vec<_>>().into());
    let names = |rows: &[usize]| rows.iter().map(|&i| v.entries[i].item.clone()).collect::<Vec<_>>();
    out.insert("in_weighing".into(), json!(names(&b.in_weighing)));
    out.insert("done_without_date".into(), json!(names(&b.undated)));
    let left = b.left_out.iter().map(|(row, why)| {
        let (why, other) = match why {
            LeftOut::Excluded { by } => ("excluded by", by),
            LeftOut::Unmet { needs } => ("needs", needs),
            LeftOut::Group { with } => ("group with", with),
        };
        json!({ "item": v.entries[*row].item, "why": why, "other": v.entries[*other].item })
    });
    out.insert("left_out".into(), left.collect::<Vec<_>>().into());
    Ok(serde_json::to_string_pretty(&Value::Object(out))? + "\n")
}

fn standing(s: &MassState) -> Value {
    json!({
        "mass_kg": s.part.m, "mass_kg_sd": s.sd[0],
        "cg_x_m": s.part.x, "cg_x_m_sd": s.sd[1],
        "cg_y_m": s.part.y, "cg_y_m_sd": s.sd[2],
        "cg_height_m": s.part.z, "cg_height_m_sd": s.sd[3],
        "front_share": s.front_share, "left_share": s.left_share, "cross_share": s.cross_share,
        "corners_kg": s.corners,
        "yaw_inertia_change_kgm2": s.part.i_zz, "rotating_inertia_change_kgm2": s.rotating_inertia,
    })
}

fn tally(t: &Tally) -> Value {
    json!({
        "rows": t.rows, "change_kg": t.change, "change_kg_sd": t.sd, "cost": t.cost, "hours": t.hours,
        "rows_without_cost": t.unpriced, "rows_without_hours": t.untimed,
    })
}

/// `ledger --csv`: one line a step of the way.
pub fn budget_csv(v: &Answer) -> Result<Vec<u8>, OutError> {
    let mut out = csv::Writer::from_writer(Vec::new());
    out.write_record(["item", "area", "state", "source", "date", "change_kg", "mass_kg", "mass_kg_sd"])?;
    for step in &v.budget.steps {
        let day = step.day.map(written).unwrap_or_default();
        let row = step.row.map(|i| &v.entries[i]);
        let text = |f: &dyn Fn(&unladen_vehicle::entry::Entry) -> String| row.map(f).unwrap_or_default();
        out.write_record([
            row.map_or("weighing".into(), |e| e.item.clone()),
            text(&|e| e.area.clone().unwrap_or_default()),
            text(&|e| e.state.word().into()),
            text(&|e| e.origin.word().into()),
            day,
            text(&|e| format!("{}", e.change.mass())),
            format!("{}", step.mass),
            format!("{}", step.sd),
        ])?;
    }
    out.into_inner().map_err(|e| OutError::from(csv::Error::from(e.into_error())))
}
