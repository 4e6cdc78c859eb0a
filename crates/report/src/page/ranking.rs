//! What is planned, change by change, by what it gains.

use maud::html;
use unladen_questions::rank::Answer;
use unladen_study::rank::ranked::Ranked;

use crate::draw::picture::Drawn;
use crate::page::Section;
use crate::page::parts::{Cell, Table, figure, number, said, words};
use crate::rank::text::{COUNTED, place, title};
use crate::words::number::{UNRESOLVED, fixed, percent, signed};
use crate::words::verdict::ranked;

/// The bars, and the numbers behind them.
pub fn section(v: &Answer, picture: Option<&Drawn>) -> Section {
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
            @if let Some(picture) = picture { (figure(picture, "")) }
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
