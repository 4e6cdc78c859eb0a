//! Is moving something worth it: the answer over the fuel load, re-tuned and as set.

use maud::html;
use unladen_questions::relocate::Answer;
use unladen_study::relocate::stint::Stint;
use unladen_study::uncertainty::spread::Difference;

use crate::draw::header::sentence;
use crate::draw::picture::{Drawn, PlotError};
use crate::page::Section;
use crate::page::parts::{Cell, Table, figure, minus, number, said, words};
use crate::page::verdict::{Answered, bar_of};
use crate::pair::of_move as pair_of_move;
use crate::relocate::picture::move_picture;
use crate::relocate::text::{
    FUEL_CAUTION, ITEM_CAUTION, LEVEL, PLACES, STANDS, besides, how_sure, lap_times, litres, stands, tuning, verdict,
    what_changes,
};
use crate::words::change::Change;
use crate::words::number::{UNRESOLVED, fixed};
use crate::words::state;
use crate::words::sure;
use crate::words::verdict::of_move;

/// What is asked.
pub fn question(v: &Answer) -> String {
    let [from, to] = v.stint;
    let over =
        v.relocation.fuel.map_or_else(String::new, |_| format!(", from {} to {} L of fuel", litres(from), litres(to)));
    format!("Is moving the {} worth it{over}, on {}?", v.item, v.tracks)
}

/// The answer, with the picture of what it gains over the fuel load, or along the lap of the first track.
pub fn answered(v: &Answer) -> Result<Answered, PlotError> {
    let (stint, says) = (v.counts(), of_move(v).sentence());
    let bar = bar_of(&says, &[(String::new(), Change::of(&stint.gain, stint.error_s))], ["slower", "quicker"])?;
    let hangs_on = sure::hangs_on_brief(&stint.gain, &v.answer.unknowns);
    let picture = if strip(v) {
        figure(&Drawn::of(|paper| move_picture(v, paper))?, STRIP)
    } else {
        match pairs(v)?.first() {
            Some(first) => figure(first, PAIR),
            None => html! {},
        }
    };
    Ok(Answered {
        says: vec![says],
        bar,
        hangs_on: hangs_on.map(|words| format!("It hangs on {words}.")).into_iter().collect(),
        safety: vec![if v.is_tank { FUEL_CAUTION } else { ITEM_CAUTION }],
        picture,
    })
}

/// There are several fuel loads to draw it over.
fn strip(v: &Answer) -> bool {
    v.answer.loads.len() > 1
}

/// Speed and map of each track, one after the other.
fn pairs(v: &Answer) -> Result<Vec<Drawn>, PlotError> {
    Drawn::each(|paper| Ok(pair_of_move(v, paper)?.into_iter().flatten().collect()))
}

const STRIP: &str =
    "Above, what the move gains with this much in the tank; beneath, how far the balance wanders as it burns.";
const PAIR: &str =
    "Both laps; beneath the speeds, by how much the moved car is faster, and the time gained along the lap.";

/// All of it, but for what stands with the answer.
pub fn section(v: &Answer) -> Result<Section, PlotError> {
    let pairs = pairs(v)?;
    let shown = usize::from(!strip(v));
    Ok(Section {
        id: "move".into(),
        title: format!("Moving the {}", v.item),
        body: html! {
            p { (said(verdict(v).strip_prefix(&of_move(v).sentence()).unwrap_or(&verdict(v)).trim_start())) }
            p { (said(&state::state(&v.state))) }
            (of_stint(v).html())
            p.note { (said(&found_how(&v.answer.as_set.gain, v.answer.retuned.as_ref().map(|s| &s.gain)))) }
            @for words in how_sure(v) { p { (said(&words)) } }
            p { (said(&tuning(v))) }
            @if strip(v) { (Table::of("Lap times over the fuel load", &lap_times(v)).in_order().html()) }
            h3 { "Where along the lap" }
            @for (i, picture) in pairs.iter().enumerate().skip(shown) {
                (figure(picture, if i % 2 == 0 { PAIR } else { MAP }))
            }
            h3 { "What changes" }
            (Table::of("Before and after", &what_changes(v)).in_order().html())
            p.note { (PLACES) }
            (Table::of("How the car stands over the fuel load, as it is → moved", &stands(v)).in_order().html())
            p.note { (minus(STANDS)) }
            h3 { "Besides lap time" }
            ul { @for (what, fact) in besides(v) { li { strong { (sentence(what)) } ": " (said(&fact)) "." } } }
            p.note { (LEVEL) }
        },
    })
}

/// Beneath a map of gains.
pub(crate) const MAP: &str = "Where the time is gained (broad, plain, orange) and lost (broad, barred, blue); thin and grey where the two laps \
    go alike. Figures: seconds in each place.";

fn of_stint(v: &Answer) -> Table {
    let [from, to] = v.stint.map(|m3| fixed(1e3 * m3, 0));
    let caption = match v.relocation.fuel {
        Some(_) => format!("Mean lap over a stint from {from} to {to} L"),
        None => "The lap, with what the car's file says is aboard".into(),
    };
    let mut table = Table::new(
        &caption,
        &[
            ("the car", false),
            ("as it is, s", true),
            ("moved, s", true),
            ("moved, a lap is", true),
            ("90 %", true),
            ("chance of a gain", true),
        ],
    )
    .in_order();
    let mut row = |name: &str, s: &Stint| {
        let [before, after] = s.mean_s;
        table.row(
            [
                vec![words(name), number(fixed(before, 3), before), number(fixed(after, 3), after)],
                sure_cells(&s.gain, s.error_s),
            ]
            .concat(),
        );
    };
    row("as set", &v.answer.as_set);
    if let Some(stint) = &v.answer.retuned {
        row("re\u{2011}tuned", stint);
    }
    table
}

/// The gain, where nine of ten chances lie, and the chance of a gain.
pub(crate) fn sure_cells(gain: &Difference, error_s: f64) -> Vec<Cell> {
    let change = Change::of(gain, error_s);
    if !change.resolved() {
        return vec![words(UNRESOLVED), words(""), words("")];
    }
    let between = match change.range() {
        Some(range) => number(range, gain.interval[0]),
        None => words("nothing uncertain"),
    };
    vec![number(change.value(), gain.gain), between, number(sure::chance(gain), gain.chance)]
}

/// How intervals were found, beneath a table of gains.
pub(crate) fn found_how(as_set: &Difference, retuned: Option<&Difference>) -> String {
    let retuned = retuned.map_or_else(String::new, |d| format!("; re-tuned: {}", sure::how(d)));
    format!("The gain is by the files' own numbers. Its interval, as set: {}{retuned}.", sure::how(as_set))
}
