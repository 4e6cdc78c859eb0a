//! What re-tuning did, for people and for machines.

use serde_json::{Value, json};
use unladen_study::front_first::Ahead;
use unladen_study::retune::{End, FrontFirst, Retuned, Settings};

use crate::words::number::fixed;

/// What re-tuning did to a car.
pub fn tuned(name: &str, t: &Retuned) -> String {
    let mut said = Vec::new();
    let ends = [("roll stiffness", t.as_set.chi, t.settings.chi), ("brakes", t.as_set.beta_f, t.settings.beta_f)];
    for (i, (what, was, is)) in ends.into_iter().enumerate().filter(|(i, _)| t.free[*i]) {
        let end = match t.ends[i] {
            Some(End::Least) => ", the least it can be set to",
            Some(End::Most) => ", the most it can be set to",
            None => "",
        };
        said.push(format!("{what} {} to {} % front{end}", fixed(100.0 * was, 1), fixed(100.0 * is, 1)));
    }
    if said.is_empty() {
        return format!("{name}: nothing can be set");
    }
    let by = match t.gain_s() {
        gain if gain < 0.0 => format!("{} s a lap slower for it", fixed(-gain, 3)),
        gain => format!("{} s a lap quicker for it", fixed(gain, 3)),
    };
    format!("{name}: {}, {by}; {}", said.join("; "), front_first(&t.front_first))
}

/// What it costs that the front lets go first, or that it doesn't.
pub fn front_first(f: &FrontFirst) -> String {
    let per_cent = |share: f64| fixed(100.0 * share, 1);
    match (f.kept(), f.costs_s) {
        (false, _) => format!(
            "CAUTION: within what can be set the rear lets go first, or less than {} % after the front: such a car turns round",
            per_cent(f.margin)
        ),
        (true, costs) if costs >= 5e-4 => {
            format!("that the front lets go first by {} % costs {} s of it", per_cent(f.margin), fixed(costs, 3))
        }
        (true, _) => format!("the front lets go first by {} % at no cost", per_cent(f.margin)),
    }
}

/// Says what cannot be re-tuned.
pub const NOTHING_TO_SET: &str = "Nothing can be re-tuned: car.toml has no limits.roll_stiffness_front_share_least and _most (nor \
    limits.brake_front_share_least and _most), between which the front shares would be set again.";
/// What the interval of a re-tuned difference holds.
pub const HELD: &str =
    "These are the settings for the files' own numbers; they are held while the interval lets those be off.";
/// Said once, where brakes are set.
pub const BRAKE_CAUTION: &str = "SAFETY: the brake share that is quickest in the model may let the rear wheels lock first, and a car whose rear \
    wheels lock turns round: `unladen reset` says which axle locks first. Have brakes set and checked by a licensed workshop.";

/// Settings for machines.
pub(crate) fn settings(s: &Settings) -> Value {
    json!({ "roll_stiffness_front_share": s.chi, "brake_front_share": s.beta_f })
}

/// How far the front is ahead of the rear, for machines.
pub(crate) fn ahead(a: &Ahead) -> Value {
    json!({ "cornering": a.cornering, "braking": a.braking })
}

/// What re-tuning did, for machines.
pub(crate) fn tuning(t: &Retuned) -> Value {
    let f = &t.front_first;
    json!({ "front_first": { "margin": f.margin, "as_set": ahead(&f.as_set), "retuned": ahead(&f.retuned),
            "costs_s": f.costs_s, "kept": f.kept() },
        "as_set": settings(&t.as_set), "retuned": settings(&t.settings), "gain_s": t.gain_s(),
        "free": { "roll_stiffness_front_share": t.free[0], "brake_front_share": t.free[1] },
        "at_end_of_reach": { "roll_stiffness_front_share": t.ends[0].is_some(), "brake_front_share": t.ends[1].is_some() } })
}
