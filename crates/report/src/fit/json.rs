//! `fit --json`.

use std::collections::BTreeMap;

use serde::Serialize;
use unladen_questions::fit::Answer;
use unladen_study::fit::{Because, FittedFactor, Why};

use crate::fit::text::by_place;
use crate::lap::json::{OutError, finite};

#[derive(Serialize)]
struct Factor {
    factor: f64,
    sd: f64,
    told: f64,
    #[serde(skip_serializing_if = "Option::is_none")]
    held: Option<String>,
}

#[derive(Serialize)]
struct Pair {
    a: &'static str,
    b: &'static str,
    correlation: f64,
}

#[derive(Serialize)]
struct LeftOut {
    lap: usize,
    from_m: f64,
    to_m: f64,
    why: &'static str,
}

#[derive(Serialize)]
struct Off {
    place: String,
    log_less_model_mps: f64,
}

#[derive(Serialize)]
struct Out<'a> {
    car: &'a str,
    track: &'a str,
    /// Those that can't be told apart held where the file has them.
    factors: BTreeMap<&'static str, Factor>,
    /// All at once, with their whole uncertainty.
    factors_all_free: BTreeMap<&'static str, Factor>,
    not_told_apart: Vec<Pair>,
    left_out: Vec<LeftOut>,
    by_place: Vec<Off>,
    shift_m: f64,
    shift_sd_m: f64,
    speed_residual_mps: f64,
    laps: &'a [usize],
    held_out_lap: usize,
    held_out_model_s: f64,
    held_out_model_sd_s: f64,
    held_out_interval_90_s: [f64; 2],
    laps_scatter_sd_s: f64,
    held_out_logged_s: f64,
    before_s: f64,
    gearing_ratio: Option<f64>,
    settled: bool,
}

fn factors(found: &[FittedFactor]) -> BTreeMap<&'static str, Factor> {
    let because = |b: Because| match b {
        Because::With(other) => format!("not told from {}", other.key()),
        Because::Untold => "untold".into(),
    };
    let one = |f: &FittedFactor| Factor { factor: f.factor, sd: f.sd, told: f.told, held: f.held.map(because) };
    found.iter().map(|f| (f.knob.key(), one(f))).collect()
}

/// `fit --json`.
///
/// # Errors
/// [`OutError`].
pub fn fit_json(v: &Answer) -> Result<String, OutError> {
    let (fit, p) = (&v.fit, &v.prediction);
    let left_out = fit.left_out.iter().map(|l| LeftOut {
        lap: v.used.get(l.lap).copied().unwrap_or(0),
        from_m: l.from_m,
        to_m: l.to_m,
        why: match l.why {
            Why::OffTheOthers => "off_the_others",
            Why::OtherGear => "other_gear",
        },
    });
    let out = Out {
        car: &v.car,
        track: &v.track.name,
        factors: factors(&fit.found),
        factors_all_free: factors(&v.all.found),
        not_told_apart: v
            .all
            .alike
            .iter()
            .map(|a| Pair { a: a.a.key(), b: a.b.key(), correlation: a.correlation })
            .collect(),
        left_out: left_out.collect(),
        by_place: by_place(v).into_iter().map(|(place, off)| Off { place, log_less_model_mps: off }).collect(),
        shift_m: fit.shift_m.0,
        shift_sd_m: fit.shift_m.1,
        speed_residual_mps: fit.residual_mps,
        laps: &v.used,
        held_out_lap: v.held,
        held_out_model_s: p.model_s,
        held_out_model_sd_s: p.model_sd_s,
        held_out_interval_90_s: p.interval_s,
        laps_scatter_sd_s: p.scatter_s,
        held_out_logged_s: p.logged_s,
        before_s: v.before_s,
        gearing_ratio: v.gearing.map(|g| g.ratio),
        settled: fit.settled,
    };
    for (key, value) in [("held_out_model_s", p.model_s), ("held_out_logged_s", p.logged_s)] {
        finite(key, value)?;
    }
    Ok(serde_json::to_string_pretty(&out)? + "\n")
}
