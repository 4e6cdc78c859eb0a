//! What is planned, all together: laps solved again with all of it done.

use maud::html;
use unladen_questions::lap;
use unladen_questions::stands::coming::Coming;
use unladen_questions::stands::now::OnTrack;
use unladen_study::Worth;
use unladen_study::compare::changed::Gain;
use unladen_study::ledger::budget::own_sd;
use unladen_vehicle::car::Mass;
use unladen_vehicle::mass::Part;

use crate::draw::look::Paper;
use crate::draw::picture::{Drawn, Picture, PlotError};
use crate::lap::answer::trace;
use crate::page::Section;
use crate::page::parts::{Table, figure, number, words};
use crate::pair::pair_pictures;
use crate::words::number::{UNRESOLVED, fixed, resolved, signed, with_error, with_sd};

/// `1.02 ± 0.05 s quicker`, or that it can't be told from nothing.
pub fn shown(gain: &Gain) -> String {
    if !resolved(gain.change_s, gain.error_s) {
        return UNRESOLVED.to_owned();
    }
    let size = gain.change_s.abs();
    let text = match gain.sd_s {
        Some(sd) => with_sd(size, sd.max(gain.error_s)),
        None => with_error(size, gain.error_s.max(1e-4)),
    };
    format!("{text} s {}", if gain.change_s < 0.0 { "quicker" } else { "slower" })
}

/// A row that the plan holds.
#[derive(Clone, Debug, PartialEq)]
pub struct Row {
    /// Its name.
    pub item: String,
    /// done, planned, idea.
    pub state: &'static str,
    /// Change of mass, kg.
    pub kg: f64,
    /// Its standard deviation, kg.
    pub sd_kg: f64,
    /// Where its mass comes from.
    pub origin: &'static str,
    /// By the value of a kilogram where it sits, on the mix, s a lap; none where it has no such value.
    pub seconds: Option<f64>,
    /// What it costs, in the owner's money.
    pub cost: Option<f64>,
    /// Hours of work.
    pub hours: Option<f64>,
}

/// Row by row, each by what a kilogram is worth where it sits, on the mix.
pub fn rows(coming: &Coming, on: &OnTrack, mix: &Worth, mass: &Mass) -> Vec<Row> {
    let row = |&i: &usize| {
        let e = &on.ledger.entries[i];
        let side = |part: Option<Part>| part.map_or(0.0, |p| p.m * mix.s_per_kg_at(mass, [p.x, p.y, p.z]));
        Row {
            item: e.item.clone(),
            state: e.state.word(),
            kg: e.change.mass(),
            sd_kg: own_sd(e, &on.scales),
            origin: e.origin.word(),
            seconds: (e.rotating_inertia == 0.0).then(|| side(e.change.after) - side(e.change.before)),
            cost: e.cost,
            hours: e.hours,
        }
    };
    coming.rows.iter().map(row).collect()
}

/// As it stands against the plan, on each track.
pub fn pictures(now: &[lap::Answer], then: &[lap::Answer], paper: Paper) -> Result<Vec<Picture>, PlotError> {
    let pairs = now.iter().zip(then).map(|(now, then)| {
        let laps = [trace("the car as it stands", now), trace("the plan", then)];
        pair_pictures(&now.track.name, &now.track, laps, paper)
    });
    Ok(pairs.collect::<Result<Vec<_>, _>>()?.into_iter().flatten().collect())
}

/// Of the two pictures of a track.
const CAPTIONS: [&str; 2] =
    ["As it stands and with the plan: speed, and beneath it the time gained along the lap.", crate::page::moved::MAP];

/// The whole of it in laps, and row by row.
pub fn section(what: &str, gains: &[Gain], rows: &[Row], pictures: &[Drawn]) -> Section {
    let mut laps = Table::new(&format!("Lap time with {what}, against now"), &[("on", false), ("a lap is", true)]);
    for gain in gains {
        laps.row(vec![words(&gain.track), number(shown(gain), gain.change_s)]);
    }
    let mut items = Table::new(
        "Row by row",
        &[
            ("item", false),
            ("state", false),
            ("kg", true),
            ("mass", false),
            ("about, s a lap", true),
            ("cost", true),
            ("hours", true),
        ],
    );
    let plain = |v: Option<f64>, decimals: usize| v.map_or_else(|| words(""), |v| number(fixed(v, decimals), v));
    for r in rows {
        let mass = if r.sd_kg < 0.05 { signed(&fixed(r.kg, 1)) } else { signed(&with_sd(r.kg, r.sd_kg)) };
        let seconds = r.seconds.map_or_else(|| words(""), |s| number(signed(&fixed(s, 3)), s));
        items.row(vec![
            words(&r.item),
            words(r.state),
            number(mass, r.kg),
            words(r.origin),
            seconds,
            plain(r.cost, 0),
            plain(r.hours, 1),
        ]);
    }
    Section {
        id: "plan".into(),
        title: format!("What {what} is worth"),
        body: html! {
            p { "The laps were solved again with all of it done, not extrapolated. " (laps_note(gains)) }
            p.caution {
                "These laps differ in mass, centre of gravity and what turns. What a row changes besides (which wheels are driven, \
                 ratios, tyres, brakes, aerodynamics) is not in them: that takes a second car file, and the two compared."
            }
            (laps.html())
            @for (i, picture) in pictures.iter().enumerate() {
                (figure(picture, CAPTIONS[i % 2]))
            }
            (items.html())
            p.note {
                "“About” is by what a kilogram is worth where the part sits, a slope: good for small parts; left empty where something \
                 turns. Large changes do not add up exactly; the table above has the whole."
            }
        },
    }
}

fn laps_note(gains: &[Gain]) -> &'static str {
    if gains.iter().any(|g| g.sd_s.is_some()) {
        "± is one standard deviation: from the car's uncertain numbers, each moved in both laps alike, and from how well the rows' masses are known."
    } else {
        "The car's file gives no uncertainties, so that no ± can be given."
    }
}
