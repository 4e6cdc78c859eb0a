//! What `reset` prints: what must be set again, and what to be careful of.

use serde_json::{Value, json};
use unladen_questions::reset::Answer;
use unladen_study::ledger::reset::{Stage, WET};
use unladen_vehicle::adhesion::{Axle, FRONT_ABOVE_REAR, Locks};

use crate::lap::json::OutError;
use crate::words::aboard::aboard;
use crate::words::number::{fixed, signed};
use crate::words::table::{Align, Table, facts, paragraph, printable};
use crate::words::tuned::{ahead, tuned, tuning};

/// Said once.
pub const CAUTION: &str = "Brakes, springs and driveline are safety: have what is changed checked by a licensed workshop, under the \
    rules of your series and your country, and try it first where nobody can be hurt.";

/// The rear asks first somewhere: at the limit, or within the band of the form.
pub fn unsafe_rear(stage: &Stage) -> bool {
    stage.rear_above_front.is_some() || stage.locks.iter().flatten().any(|l| l.axle == Axle::Rear)
}

/// The whole text.
pub fn reset_text(v: &Answer) -> String {
    let head = format!("{}: what must be set again, with {} aboard", printable(&v.car), aboard(v.aboard));
    let mut out = paragraph(&head) + "\n";
    let mut columns = vec![("", Align::Left)];
    columns.extend(v.stages.iter().map(|s| (s.name, Align::Point)));
    let mut table = Table::new(&columns);
    let mut row = |name: &str, cell: &dyn Fn(&Stage) -> String| {
        let mut cells = vec![name.to_owned()];
        cells.extend(v.stages.iter().map(cell));
        if cells.iter().skip(1).any(|c| !c.is_empty()) {
            table.row(&cells);
        }
    };
    row("mass, kg", &|s| fixed(s.mass, 1));
    row("front axle, kg", &|s| fixed(s.axles[0], 1));
    row("rear axle, kg", &|s| fixed(s.axles[1], 1));
    for (i, name) in ["front left, kg", "front right, kg", "rear left, kg", "rear right, kg"].into_iter().enumerate() {
        row(name, &|s| s.corners.map_or_else(String::new, |c| fixed(c[i], 1)));
    }
    row("CG up, ride height as weighed, mm", &|s| fixed(s.height * 1e3, 1));
    row("front rises by, mm", &|s| s.rise.map_or_else(String::new, |r| signed(&fixed(r[0] * 1e3, 1))));
    row("rear rises by, mm", &|s| s.rise.map_or_else(String::new, |r| signed(&fixed(r[1] * 1e3, 1))));
    row("CG up as it stands then, mm", &|s| s.rise.map_or_else(String::new, |_| fixed(s.risen * 1e3, 1)));
    row("front ride frequency, Hz", &|s| s.frequency.map_or_else(String::new, |f| fixed(f[0], 2)));
    row("rear ride frequency, Hz", &|s| s.frequency.map_or_else(String::new, |f| fixed(f[1], 2)));
    let ahead_by = |of: Option<f64>| of.map_or_else(String::new, |share| fixed(100.0 * share, 1));
    row("front lets go first in a bend, by %", &|s| ahead_by(s.ahead.cornering));
    row("front locks first, by %", &|s| ahead_by(s.ahead.braking));
    row("static stability factor", &|s| fixed(s.stability, 2));
    out += &table.text(0);
    out += &format!("\n{}", rise(v));
    out += &format!("\n{}", brakes(v));
    out += &limits(v);
    if let Some(t) = &v.tuned {
        out += &format!("\n{}", paragraph(&format!("Set for {}, as quick as [limits] of car.toml allow:", t.tracks)));
        t.stages
            .iter()
            .for_each(|(name, r)| out += &paragraph(&format!("{}.", tuned(&crate::draw::header::sentence(name), r))));
    }
    out + "\n" + &paragraph(CAUTION)
}

/// How far a stage lets the car rise, and what that does to its CG.
pub(crate) fn rise_of(first: &Stage, s: &Stage) -> Option<String> {
    let rise = s.rise?;
    let up = 0.5 * (rise[0] + rise[1]) * 1e3;
    let (off, gain) = (first.mass - s.mass, (first.height - s.height) * 1e3);
    let lost = (s.risen - s.height) * 1e3;
    let verdict = if gain <= 0.0 {
        "and the CG was no lower to begin with".to_owned()
    } else if lost >= gain {
        let (down, higher) = (fixed(gain, 1), fixed(lost - gain, 1));
        format!(
            "and takes back more than the {down} mm that the CG had come down: it stands {higher} mm higher than before"
        )
    } else {
        let share = crate::words::number::percent(lost / gain);
        format!("and takes back {share} of the {} mm that the CG had come down", fixed(gain, 1))
    };
    Some(format!(
        "{} kg {} lets the car {} {} mm on average, {verdict}",
        fixed(off.abs(), 0),
        if off > 0.0 { "off" } else { "on" },
        if up >= 0.0 { "rise" } else { "sink" },
        fixed(up.abs(), 1)
    ))
}

fn rise(v: &Answer) -> String {
    let Some(first) = v.stages.first() else { return String::new() };
    let mut out = String::new();
    for s in &v.stages[1..] {
        let Some(words) = rise_of(first, s) else { continue };
        out += &paragraph(&format!(
            "{}: {words}: set the ride height again, then the corner weights, then the alignment.",
            crate::draw::header::sentence(s.name)
        ));
    }
    if v.stages.iter().all(|s| s.rise.is_none()) {
        out += &paragraph("No [springs] in car.toml, so nothing is said of ride height and frequencies.");
    } else {
        out += &paragraph(
            "All that changed is taken as sprung; bounce and pitch apart; springs, bars and tyres as they are.",
        );
    }
    out
}

pub(crate) fn lock_words(lock: Option<Locks>) -> String {
    match lock {
        Some(l) => format!("{} at {} g", if l.axle == Axle::Rear { "REAR" } else { "front" }, fixed(l.z, 2)),
        None => "neither".into(),
    }
}

fn brakes(v: &Answer) -> String {
    let mut columns = vec![("front share of the braking at, g", Align::Left), ("as fitted", Align::Point)];
    columns.extend(v.stages.iter().map(|s| (s.name, Align::Point)));
    let mut table = Table::new(&columns);
    let rates = v.stages.first().map(|s| s.braking.clone()).unwrap_or_default();
    for (k, b) in rates.iter().enumerate() {
        let last = v.stages.last().map_or(b.actual, |s| s.braking[k].actual);
        let fitted = if (last - b.actual).abs() < 5e-4 {
            fixed(b.actual, 3)
        } else {
            format!("{} to {}", fixed(b.actual, 3), fixed(last, 3))
        };
        let mut cells = vec![fixed(b.z, 1), fitted];
        cells.extend(v.stages.iter().map(|s| fixed(s.braking[k].ideal, 3)));
        table.row(&cells);
    }
    let mut out = table.text(0);
    out += "Under each stage the share at which both axles ask for the same adhesion; a\nsmaller one as fitted locks the rear first.\n\n";
    let mut lines = Vec::new();
    for s in &v.stages {
        let words = format!("dry {}, wet {}", lock_words(s.locks[0]), lock_words(s.locks[1]));
        lines.push((s.name, words));
    }
    out += "Locks first, by pedal alone\n";
    out += &facts(&lines);
    out += &format!("Wet: {} of the dry grip (common practice, no source).\n", fixed(WET, 1));
    if let Some(words) = rear_first(v) {
        out += &format!("\n{}", paragraph(&words));
    }
    out
}

/// What it means that the rear locks first, and the share to set; none where it doesn't.
pub(crate) fn rear_first(v: &Answer) -> Option<String> {
    let (least, most) = FRONT_ABOVE_REAR;
    let bad: Vec<&Stage> = v.stages.iter().filter(|s| unsafe_rear(s)).collect();
    if bad.is_empty() {
        return None;
    }
    let names: Vec<&str> = bad.iter().map(|s| s.name).collect();
    let from: Vec<String> =
        bad.iter().filter_map(|s| s.rear_above_front.map(|z| format!("{} g ({})", fixed(z, 2), s.name))).collect();
    let band = if from.is_empty() {
        String::new()
    } else {
        format!(
            " The rear asks for more adhesion than the front from {} on, which the form of UN Regulation 13-H and 71/320/EEC does \
             not let happen between {least} and {most} g.",
            from.join(", ")
        )
    };
    let due: Vec<String> = bad
        .iter()
        .map(|s| match s.share_due {
            Some(due) => format!("{} ({})", fixed((1e3 * due).ceil() / 1e3, 3), s.name),
            None => format!("no share will do ({})", s.name),
        })
        .collect();
    let anti_lock = if v.anti_lock {
        " Anti-lock brakes keep the wheels from locking while they work; the share underneath is what is left when they don't."
    } else {
        ""
    };
    Some(format!(
        "SAFETY: the rear axle locks first: {}.{band} A car whose rear wheels lock turns round. This is no matter of tuning: have the \
         brakes' front share, {} as fitted, changed to at least {} before the car is driven like this.{anti_lock}",
        names.join(", "),
        fixed(v.brakes.beta_f, 3),
        due.join(", ")
    ))
}

fn limits(v: &Answer) -> String {
    if v.limits.is_empty() {
        return String::new();
    }
    let mut table = Table::new(&[
        ("against limits you entered", Align::Left),
        ("stage", Align::Left),
        ("kg", Align::Point),
        ("limit", Align::Point),
        ("", Align::Left),
    ]);
    let mut ask = Vec::new();
    for c in &v.limits {
        let over = c.load > c.most;
        let under = c.least.is_some_and(|least| c.load < least);
        let limit = match c.least {
            Some(least) => format!("{} to {}", fixed(least, 0), fixed(c.most, 0)),
            None => fixed(c.most, 0),
        };
        let word = if over {
            "above"
        } else if under {
            "below"
        } else {
            "within"
        };
        if (over || under)
            && let Some(document) = &c.document
            && !ask.contains(document)
        {
            ask.push(document.clone());
        }
        table.row(&[c.what.clone(), c.stage.to_owned(), fixed(c.load, 1), limit, word.into()]);
    }
    let mut out = format!("\n{}", table.text(0));
    for document in ask {
        out += &paragraph(&format!(
            "Outside what {} says: ask your inspector what that means for you.",
            printable(&document)
        ));
    }
    out
}

/// `reset --json`.
pub fn reset_json(v: &Answer) -> Result<String, OutError> {
    let lock = |l: Option<Locks>| {
        l.map_or(
            json!(null),
            |l| json!({ "axle": if l.axle == Axle::Rear { "rear" } else { "front" }, "deceleration_g": l.z }),
        )
    };
    let stage = |s: &Stage| {
        json!({
            "stage": s.name, "mass_kg": s.mass, "cg_x_m": s.x, "cg_height_m": s.height, "cg_height_risen_m": s.risen,
            "rise_front_m": s.rise.map(|r| r[0]), "rise_rear_m": s.rise.map(|r| r[1]),
            "axle_front_kg": s.axles[0], "axle_rear_kg": s.axles[1], "corners_kg": s.corners,
            "ride_frequency_front_hz": s.frequency.map(|f| f[0]), "ride_frequency_rear_hz": s.frequency.map(|f| f[1]),
            "static_stability_factor": s.stability,
            "braking": s.braking.iter().map(|b| json!({ "deceleration_g": b.z, "ideal_front_share": b.ideal,
                "front_share": b.actual, "adhesion_front": b.utilisation[0], "adhesion_rear": b.utilisation[1] }))
                .collect::<Vec<Value>>(),
            "locks_first_dry": lock(s.locks[0]), "locks_first_wet": lock(s.locks[1]),
            "front_first": ahead(&s.ahead), "rear_above_front_from_g": s.rear_above_front, "rear_locks_first": unsafe_rear(s),
            "front_share_due": s.share_due,
        })
    };
    let limits = v.limits.iter().map(|c| {
        json!({ "what": c.what, "stage": c.stage, "load_kg": c.load, "least_kg": c.least, "most_kg": c.most, "document": c.document })
    });
    let out = json!({
        "car": v.car, "aboard": aboard(v.aboard), "anti_lock": v.anti_lock,
        "stages": v.stages.iter().map(stage).collect::<Vec<Value>>(),
        "limits": limits.collect::<Vec<Value>>(),
        "set_for": v.tuned.as_ref().map(|t| json!({ "tracks": t.tracks,
            "stages": t.stages.iter().map(|(name, r)| json!({ "stage": name, "tuning": tuning(r) })).collect::<Vec<Value>>() })),
    });
    Ok(serde_json::to_string_pretty(&out)? + "\n")
}
