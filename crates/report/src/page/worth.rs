//! What kilograms and millimetres are worth.

use maud::{Markup, html};
use unladen_questions::advised;
use unladen_study::{Quantity, Worth};

use crate::draw::header::sentence;
use crate::draw::picture::Drawn;
use crate::page::Section;
use crate::page::parts::{Table, figure, number, words};
use crate::words::number::{fixed, with_error};
use crate::worth::text::known;
use crate::worth::{Sanity, quantities};

/// A change that someone could make: kg, mm.
const STEP: f64 = 10.0;
const CHANGES: [[&str; 2]; 4] = [
    ["10 kg more, at the centre of gravity", "10 kg less, at the centre of gravity"],
    ["centre of gravity 10 mm higher", "centre of gravity 10 mm lower"],
    ["centre of gravity 10 mm further back", "centre of gravity 10 mm further forward"],
    ["centre of gravity 10 mm to the right", "centre of gravity 10 mm to the left"],
];

/// Beneath the map.
pub const MAP: &str = "Lines join places where a kilogram costs the same. Open circles have come out or gone in, full ones are planned, full \
    ones within a ring are ideas; areas go with mass, and round each is the colour of its own place. Seconds are by the slope: good for \
    small parts. The lenses show how far the centre of gravity moves.";

/// The map where it isn't shown yet, the changes on each track and on the mix, the places, and where along the laps the seconds come from.
pub fn section(tracks: &[Worth], mix: &Worth, map: Option<&Drawn>, curves: &[Drawn]) -> Section {
    let several = tracks.len() > 1;
    let mut all: Vec<(&str, &Worth)> = tracks.iter().map(|w| (w.track.as_str(), w)).collect();
    if several {
        all.push(("the mix", mix));
    }
    Section {
        id: "worth".into(),
        title: "What a kilogram is worth".into(),
        body: html! {
            @if let Some(map) = map { (figure(map, MAP)) }
            @if several { p.note { "The mix: " (mix.track) "." } }
            (changes(&all))
            (places(mix))
            p { (format!("1 % more mass costs {} % more lap time. ", with_error(mix.elasticity, 0.005))) (Sanity::of(mix.elasticity).words()) }
            @for (name, w) in &all { @for warning in &w.caveats { p.caution { "Warning, " (name) ": " (advised(warning)) } } }
            h3 { "Where along the lap it comes from" }
            @for curve in curves { (figure(curve, "")) }
        },
    }
}

fn changes(all: &[(&str, &Worth)]) -> Markup {
    let mut table = Table::new(
        "What changes, and what it does to the lap time",
        &[("what changes", false), ("on", false), ("s a lap", true)],
    );
    for (k, both) in CHANGES.iter().enumerate() {
        for (name, w) in all {
            let q = quantities(w)[k].1;
            let mut row = |what: &str, value: f64| {
                table.row(vec![words(what), words(*name), number(shown(STEP * value, STEP, q), STEP * value)]);
            };
            match q.one_sided {
                None => row(both[0], q.value),
                Some((minus, plus)) => {
                    row(both[0], plus);
                    row(both[1], -minus);
                }
            }
        }
    }
    table.html()
}

fn places(w: &Worth) -> Markup {
    let mut table = Table::new(
        "What one kilogram costs at some places of the car",
        &[("place", false), ("s a lap", true), ("mm back", true), ("mm right", true), ("mm up", true)],
    );
    for p in &w.places {
        let q = &p.s_per_kg;
        let [x, y, z] = p.spot.at.map(|m| m * 1e3);
        table.row(vec![
            words(sentence(&p.spot.name)),
            number(shown(q.value, 1.0, q), q.value),
            number(fixed(x, 0), x),
            number(fixed(y, 0), y),
            number(fixed(z, 0), z),
        ]);
    }
    html! {
        (table.html())
        p.note { "Back is behind the front axle line, right of the centre plane, up from the ground." }
    }
}

/// `+0.097 (90 %: +0.092 to +0.101)`, or that it can't be told from nothing.
pub fn shown(value: f64, factor: f64, q: &Quantity) -> String {
    match known(q, value, factor) {
        [text, range] if range.is_empty() => text,
        [text, range] => format!("{text} (90 %: {range})"),
    }
}
