//! The answer in words, each with its interval.

use maud::{Markup, html};
use unladen_study::{Quantity, Worth};

use unladen_study::compare::changed::Gain;

use crate::page::plan;
use crate::page::worth::shown;
use crate::words::number::{lap_time, with_error, with_sd};

/// What the page found.
#[derive(Clone, Debug)]
pub struct Verdict<'a> {
    /// What was asked besides, each answered already: these come first.
    pub decisions: Vec<Markup>,
    /// Each track.
    pub tracks: &'a [Worth],
    /// The mix.
    pub mix: &'a Worth,
    /// What a plan does to the mix, and what it is called.
    pub plan: Option<(&'a str, &'a Gain)>,
    /// Where the budget stands.
    pub budget: Option<String>,
}

/// As a list.
pub fn verdict(v: &Verdict) -> Markup {
    let most = |s: &Quantity| known(s);
    let by =
        |a: &&unladen_study::WorthPlace, b: &&unladen_study::WorthPlace| a.s_per_kg.value.total_cmp(&b.s_per_kg.value);
    let (dear, cheap) = (v.mix.places.iter().max_by(by), v.mix.places.iter().min_by(by));
    html! {
        @if !v.decisions.is_empty() {
            ul.decision { @for said in &v.decisions { li { (said) } } }
            p.note { "“90 %” is an interval that holds nine of ten chances. Besides that question:" }
        }
        ul {
            @for w in v.tracks {
                li { (w.track) ": " strong { (time(w)) } " a lap as it stands." }
            }
            li {
                "10 kg more at the centre of gravity: " strong { (shown(10.0 * v.mix.s_per_kg.value, 10.0, &v.mix.s_per_kg).replace('-', "−")) " s" }
                @if v.tracks.len() > 1 { " a lap on the mix of tracks (" (v.mix.track) ")." } @else { " a lap." }
            }
            @if let (Some(dear), Some(cheap)) = (dear, cheap) {
                li {
                    "It matters where it sits: one kilogram costs " strong { (most(&dear.s_per_kg)) " s" } " a lap at its dearest place ("
                    (dear.spot.name) ") and " strong { (most(&cheap.s_per_kg)) " s" } " at its cheapest (" (cheap.spot.name) ")."
                }
            }
            @if let Some((what, gain)) = v.plan {
                li { "With " (what) " done: " strong { (plan::shown(gain).replace('-', "−")) " s" } " a lap against now, laps solved again with its mass, centre of gravity and what turns." }
            }
            @if let Some(budget) = &v.budget { li { (budget) } }
        }
        p.note {
            "± is one standard deviation from what the car's and tracks' files call uncertain: if those are honest, the true value lies \
             within it two times in three, and within twice that nineteen times in twenty. What a kilogram is worth is known far better than the lap time itself, for most of what is \
             uncertain moves both laps alike."
        }
    }
}

fn time(w: &Worth) -> String {
    match w.lap_time_sd_s {
        Some(sd) => format!("{} ± {} s", lap_time(w.lap_time_s, 2).trim_end_matches(" s"), with_error(sd, 0.1 * sd)),
        None => lap_time(w.lap_time_s, 3),
    }
}

fn known(q: &Quantity) -> String {
    let text = q.sd.map_or_else(|| with_error(q.value, q.error.max(1e-5)), |sd| with_sd(q.value, sd));
    text.replace('-', "−")
}
