//! What `weigh` prints: mass, CG, how well they are known, and what to do better.

use serde_json::{Value, json};
use unladen_garage::written;
use unladen_questions::weigh::Answer;
use unladen_study::weighing::{Cause, Known, Raised, Weighed};

use crate::lap::json::OutError;
use crate::words::aboard::aboard;
use crate::words::number::{fixed, percent, with_sd};
use crate::words::table::{Align, Table, facts, paragraph, printable};
use crate::words::verdict::impossible;

/// Said once, where an axle was raised.
pub const RAISED_CAUTION: &str = "A car with one axle raised can fall or roll: solid level ground, stands made for the load and no \
    jack alone, the wheels of the other axle free to turn yet chocked short of leaving the pads, nobody under or in the car, fuel \
    and battery secured against leaking, a second person at hand. If in doubt let a licensed workshop do it.";

/// The whole text.
pub fn weigh_text(v: &Answer) -> String {
    let f = &v.found;
    let date = v.day.map(|day| format!(", {}", written(day))).unwrap_or_default();
    let mut out = format!("{}{date}: with {} aboard\n\n", printable(&v.name), aboard(v.aboard));
    let mm = |k: Known| with_sd(k.value * 1e3, k.sd * 1e3);
    let front = Known { value: 100.0 * (1.0 - f.x.value / v.wheelbase_m), sd: 100.0 * f.x.sd / v.wheelbase_m };
    let mut lines = vec![
        ("mass", format!("{} kg", with_sd(f.mass.value, f.mass.sd))),
        (
            "CG",
            format!("{} mm behind the front axle: {} % of the weight on it", mm(f.x), with_sd(front.value, front.sd)),
        ),
    ];
    match f.y {
        Some(y) => lines.push(("", format!("{} mm right of the middle", mm(y)))),
        None => lines.push(("", "to the side not known: that needs corner weights".into())),
    }
    match f.height {
        Some(h) => lines.push(("", format!("{} mm above the pads", mm(h)))),
        None => lines.push(("", "height not known: that needs readings with an axle raised".into())),
    }
    if let Some([fl, fr, rl, rr]) = f.corners {
        let total = fl + fr + rl + rr;
        let share = |kg: f64| format!("{} %", fixed(100.0 * kg / total, 2));
        lines.push(("left", format!("{} of the weight, right {}", share(fl + rl), share(fr + rr))));
        lines.push(("diagonal", format!("{} front right and rear left, {} the other", share(fr + rl), share(fl + rr))));
    }
    out += &facts(&lines);
    out += "± is one standard deviation.\n";
    if let Some(how) = f.height.and_then(impossible) {
        out += &paragraph(&format!("CHECK: that height is {how}: something is wrong with the readings."));
    }
    out += &format!("\n{}", consistency(f));
    out += &format!("\n{}", budget(v));
    if !v.assumed.is_empty() {
        out += &paragraph(&format!(
            "No ± was given for {}: taken as 3 mm (a tape; common practice, no source).",
            v.assumed.join(", ")
        ));
    }
    if f.height.is_some() {
        out += &format!("\n{}", paragraph(RAISED_CAUTION));
    }
    out
}

fn consistency(f: &Weighed) -> String {
    let mut out = String::new();
    if f.freedom > 0 {
        let worst = f.misfits.iter().max_by(|a, b| a.2.abs().total_cmp(&b.2.abs()));
        let worst = worst.map_or_else(String::new, |(name, what, off)| {
            format!("; the furthest off is the {what} of {name}, by {} standard deviations", fixed(*off, 1))
        });
        out += &if f.widened > 1.0 {
            paragraph(&format!(
                "CHECK: the readings scatter {} times as much as the scales' data say{worst}. Every ± here is widened by that. \
                 Look for a mistyped reading, brakes or suspension that bind, a pad out of level.",
                fixed(f.widened, 1)
            ))
        } else {
            paragraph(&format!("The readings agree as well as the scales' data let expect{worst}."))
        };
    }
    if f.each.len() > 1 {
        let mut table =
            Table::new(&[("each lift alone", Align::Left), ("raised", Align::Left), ("CG height, mm", Align::Point)]);
        for (name, raised, h) in &f.each {
            let axle = if *raised == Raised::Front { "front" } else { "rear" };
            table.row(&[name.clone(), axle.into(), with_sd(h.value * 1e3, h.sd * 1e3)]);
        }
        out += &table.text(0);
        let mean = |raised: Raised| {
            let own: Vec<f64> = f.each.iter().filter(|e| e.1 == raised).map(|e| e.2.value).collect();
            (!own.is_empty()).then(|| own.iter().sum::<f64>() / own.len() as f64)
        };
        if let (Some(front), Some(rear)) = (mean(Raised::Front), mean(Raised::Rear)) {
            let word = if front > rear { "more" } else { "less" };
            out += &paragraph(&format!(
                "Front axle raised gives {} mm {word} than rear axle raised.",
                fixed((front - rear).abs() * 1e3, 1)
            ));
        }
    }
    out
}

/// What people call a cause.
pub fn cause_words(cause: Cause) -> &'static str {
    match cause {
        Cause::Level => "steps and scatter of the level readings",
        Cause::Lifted => "steps and scatter of the raised readings",
        Cause::Bias => "each pad's own bias",
        Cause::Gain => "the scales' common gain",
        Cause::LiftHeight => "how high the axle was raised",
        Cause::Wheelbase => "the wheelbase",
        Cause::Radius => "the height of the wheel centres",
        Cause::Method => "the method itself: suspension, tyres, fluids",
    }
}

fn budget(v: &Answer) -> String {
    let lifted = v.found.height.is_some();
    let of = if lifted { "height" } else { "x" };
    let mut table = Table::new(&[
        ("where the ± comes from", Align::Left),
        ("mass", Align::Right),
        ("x", Align::Right),
        ("y", Align::Right),
        ("height", Align::Right),
    ]);
    for (cause, share) in &v.found.budget {
        let cell = |i: usize| if share[i] > 0.0 { percent(share[i]) } else { String::new() };
        table.row(&[cause_words(*cause).to_owned(), cell(0), cell(1), cell(2), cell(3)]);
    }
    let mut out = table.text(0) + "Parts of the variance: the largest is worth working on.\n";
    let now = v.found.height.map_or(v.found.x.sd, |h| h.sd) * 1e3 / v.found.widened;
    let mut steps = Table::new(&[("what would help", Align::Left), ("± mm, 1 sd", Align::Point)]);
    let helps: Vec<_> = v.better.iter().filter(|b| b.sd * 1e3 < 0.99 * now).take(6).collect();
    for b in &helps {
        steps.row(&[b.what.clone(), fixed(b.sd * 1e3, 1)]);
    }
    if helps.is_empty() {
        return out + "No single thing would help by more than 1 %.\n";
    }
    out += &format!("\n{}", steps.text(0));
    out += &format!("In place of ± {} mm of the {of}, one thing at a time.\n", fixed(now, 1));
    out
}

/// `weigh --json`.
pub fn weigh_json(v: &Answer) -> Result<String, OutError> {
    let f = &v.found;
    let known = |k: Option<Known>| k.map_or(json!(null), |k| json!(k.value));
    let sd = |k: Option<Known>| k.map_or(json!(null), |k| json!(k.sd));
    let corner = |kg: Option<[f64; 4]>| {
        kg.map_or((json!(null), json!(null), json!(null)), |[fl, fr, rl, rr]| {
            let total = fl + fr + rl + rr;
            (json!((fl + rl) / total), json!((fr + rl) / total), json!([fl, fr, rl, rr]))
        })
    };
    let (left, cross, corners) = corner(f.corners);
    let out = json!({
        "name": v.name, "date": v.day.map(written), "aboard": aboard(v.aboard),
        "mass_kg": f.mass.value, "mass_kg_sd": f.mass.sd,
        "cg_x_m": f.x.value, "cg_x_m_sd": f.x.sd,
        "cg_y_m": known(f.y), "cg_y_m_sd": sd(f.y),
        "cg_height_m": known(f.height), "cg_height_m_sd": sd(f.height),
        "front_share": 1.0 - f.x.value / v.wheelbase_m, "left_share": left, "cross_share": cross, "corners_kg": corners,
        "chi2": f.chi2, "degrees_of_freedom": f.freedom, "widened": f.widened,
        "misfits_sd": f.misfits.iter().map(|(n, w, x)| json!({ "reading": n, "of": w, "misfit_sd": x })).collect::<Vec<Value>>(),
        "lifts": f.each.iter().map(|(n, r, h)| json!({
            "reading": n, "raised": if *r == Raised::Front { "front" } else { "rear" },
            "cg_height_m": h.value, "cg_height_m_sd": h.sd })).collect::<Vec<Value>>(),
        "variance": f.budget.iter().map(|(c, s)| json!({
            "cause": cause_words(*c), "share_mass": s[0], "share_x": s[1], "share_y": s[2], "share_height": s[3] }))
            .collect::<Vec<Value>>(),
        "better": v.better.iter().map(|b| json!({ "what": b.what, "sd_m": b.sd })).collect::<Vec<Value>>(),
    });
    Ok(serde_json::to_string_pretty(&out)? + "\n")
}
