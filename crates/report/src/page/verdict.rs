//! The answer in words, each with its interval.

use maud::{Markup, html};
use unladen_study::{Quantity, Worth};

use unladen_study::compare::changed::Gain;

use crate::page::plan;
use crate::words::change::Change;
use crate::words::number::{fixed, lap_time};

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
            p.note { "Besides that question:" }
        }
        ul {
            @for w in v.tracks {
                li { (w.track) ": " strong { (time(w)) } " a lap as it stands." }
            }
            li {
                "10 kg more at the centre of gravity: " strong { (Change::by(&v.mix.s_per_kg, 10.0).words()) }
                @if v.tracks.len() > 1 { " a lap on the mix of tracks (" (v.mix.track) ")." } @else { " a lap." }
            }
            @if let (Some(dear), Some(cheap)) = (dear, cheap) {
                li {
                    "It matters where it sits: one kilogram costs " strong { (most(&dear.s_per_kg)) } " a lap at its dearest place ("
                    (dear.spot.name) ") and " strong { (most(&cheap.s_per_kg)) } " at its cheapest (" (cheap.spot.name) ")."
                }
            }
            @if let Some((what, gain)) = v.plan {
                li { "With " (what) " done: " strong { (plan::shown(gain).replace('-', "−")) " s" } " a lap against now, laps solved again with its mass, centre of gravity and what turns." }
            }
            @if let Some(budget) = &v.budget { li { (budget) } }
        }
        p.note {
            "“90 %” holds nine of ten chances, ± is one standard deviation, from what the car's and tracks' files call uncertain: if \
             those are honest. What a kilogram is worth is known far better than the lap time itself, for most of what is \
             uncertain moves both laps alike."
        }
    }
}

fn time(w: &Worth) -> String {
    let text = |s: f64, digits| lap_time(s, digits).trim_end_matches(" s").to_owned();
    match w.lap_time_interval_s {
        Some([low, high]) => format!("{} (90 %: {} to {})", text(w.lap_time_s, 2), text(low, 2), text(high, 2)),
        None => lap_time(w.lap_time_s, 3),
    }
}

/// `12.4 ms (90 %: 12.0 to 12.7)`.
fn known(q: &Quantity) -> String {
    let ms = |s: f64| fixed(1e3 * s, 1);
    let text = match q.interval {
        Some([low, high]) => format!("{} ms (90 %: {} to {})", ms(q.value), ms(low), ms(high)),
        None => format!("{} ms", ms(q.value)),
    };
    text.replace('-', "−")
}
