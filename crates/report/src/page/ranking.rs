//! What is planned, change by change, by what it gains.

use maud::html;
use unladen_questions::rank::Answer;
use unladen_study::rank::ranked::Ranked;

use crate::draw::header::sentence;
use crate::draw::picture::{Drawn, PlotError};
use crate::ledger::text::CAUTION;
use crate::page::Section;
use crate::page::parts::{Cell, Table, figure, number, said, words};
use crate::page::verdict::{Answered, bar_of};
use crate::rank::brief::{hangs_on, stopwatch};
use crate::rank::picture::rank_picture;
use crate::rank::text::{COUNTED, place, title, tracks};
use crate::words::brief::Headline;
use crate::words::number::{UNRESOLVED, fixed, percent, signed};
use crate::words::verdict::{of_rank, ranked};

/// What was asked.
pub fn question(v: &Answer) -> String {
    format!("Which of the planned changes gains most on {}?", tracks(v))
}

/// What to begin with and what all of it gains, and each change's bar.
pub fn answered(v: &Answer) -> Result<Answered, PlotError> {
    let verdict = of_rank(v);
    let says = verdict.sentence();
    let bar = match verdict.number {
        Headline::Change(change) => bar_of(&says, &[(String::new(), change)], ["slower", "quicker"])?,
        _ => None,
    };
    let mut resolved = v.found.items.iter().filter(|item| item.resolved());
    let picture = resolved.clone().next().map(|_| Drawn::of(|paper| rank_picture(v, paper))).transpose()?;
    let first = resolved.find(|item| item.gain.gain > 0.0);
    let hangs_on = first.into_iter().flat_map(|first| {
        let words = hangs_on(&first.gain.shares, &v.found.unknowns);
        let words = words.map(|words| format!("{}, the first, hangs on {words}.", sentence(&first.name)));
        let assumed = if v.spread_assumed { " (assumed)" } else { "" };
        words.into_iter().chain([format!("{}{assumed}.", sentence(&stopwatch(v, first)))])
    });
    Ok(Answered {
        says: vec![says],
        bar,
        hangs_on: hangs_on.collect(),
        safety: vec![CAUTION],
        picture: picture.map(|picture| figure(&picture, "")).unwrap_or_default(),
    })
}

/// The numbers behind the bars.
pub fn section(v: &Answer) -> Section {
    let mut table = Table::new(
        "Planned changes, most gained first",
        &[
            ("change", false),
            ("place", false),
            ("a lap is", true),
            ("90 %", false),
            ("chance", true),
            ("kg", true),
            ("ms per kg", true),
            ("cost", true),
            ("hours", true),
        ],
    );
    let plain =
        |value: Option<f64>, decimals: usize| value.map_or_else(|| words(""), |x| number(fixed(x, decimals), x));
    for item in &v.found.items {
        let (gain, known, chance) = gained(item);
        let per_kg = (item.resolved() && item.kg < 0.0).then(|| -1e3 * ranked(item).quicker_s / item.kg);
        table.row(vec![
            words(title(item, &v.entries)),
            words(place(item.places)),
            gain,
            words(known),
            chance,
            number(signed(&fixed(item.kg, 1)), item.kg),
            plain(per_kg, 1),
            plain(item.cost, 0),
            plain(item.hours, 1),
        ]);
    }
    Section {
        id: "ranking".into(),
        title: "Which change gains most".into(),
        body: html! {
            p { "Each alone, on the car as it stands. A place that is a range says that the order inside it is not known." }
            (table.html())
            p.note { (said(COUNTED)) }
        },
    }
}

/// The gain, where nine of ten chances lie, and how likely it is one.
fn gained(item: &Ranked) -> (Cell, String, Cell) {
    if !item.resolved() {
        return (words(UNRESOLVED), String::new(), words(""));
    }
    let change = ranked(item);
    let chance = number(percent(item.gain.chance), item.gain.chance);
    (number(change.value(), change.quicker_s), change.range().unwrap_or_default(), chance)
}
