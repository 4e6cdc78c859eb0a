//! A ranking with the answer first.

use unladen_questions::rank::Answer;
use unladen_study::rank::best_set::Set;
use unladen_study::rank::ranked::Ranked;
use unladen_study::uncertainty::paired::Unknown;

use crate::ledger;
use crate::rank::certainty::flip;
use crate::rank::text::{ordered, place, title, tracks};
use crate::words::brief::Brief;
use crate::words::change::{Change, far_off, laps};
use crate::words::money::money;
use crate::words::next;
use crate::words::number::{fixed, signed};
use crate::words::state;
use crate::words::sure::unknown::shared;
use crate::words::table::{Align, Table, printable};
use crate::words::verdict::{of_rank, ranked};

/// Changes that are shown.
const SHOWN: usize = 11;
/// What the numbers count, in a line.
const COUNTED: &str = "mass, where it is, and what turns; not layout, ratios, grip, brakes or air (`unladen compare`)";

/// The text.
pub fn rank_brief(v: &Answer) -> String {
    let f = &v.found;
    let set = if tuned(v) { "Re-tuned before and after." } else { "Everything as set." };
    let about = format!("{} on {}. {} {set}", v.car, tracks(v), state::state(&v.state));
    let mut brief = Brief::new(&of_rank(v), &about);
    if let Some(found) = &f.within_budget {
        if let [best, rest @ ..] = &found.sets[..] {
            brief = brief.fact("the set", format!("{} kg, lapped whole, as set", signed(&fixed(best.kg, 1))));
            brief = brief.perhaps("runner-up", rest.first().map(|set| set_words(v, set)));
        }
        if found.sets.is_empty()
            && let Some(lightest) = found.lightest_kg
        {
            brief = brief.fact("the most", format!("that can be had is {} kg", signed(&fixed(lightest, 1))));
        }
    } else if let Some(all) = &f.planned {
        let parts = format!("{} kg; its parts one by one add up to {}", signed(&fixed(all.all.kg, 1)), sum(all.sum_s));
        brief = brief.fact("all planned", parts);
    }
    let (table, left) = gains(v);
    let mut note = "A minus is slower. Places that overlap can't be told apart; without: for scale.".to_owned();
    if left > 0 {
        note += &format!(" {left} smaller ones by --detail.");
    }
    brief = brief.table(&table).note(&note);
    let first = f.items.iter().find(|i| i.resolved());
    if let Some(first) = first {
        let words = hangs_on(&first.gain.shares, &f.unknowns);
        brief = brief.perhaps("hangs on", words.map(|words| format!("{}, the first: {words}", printable(&first.name))));
        brief = brief.perhaps("note", far_off(&first.gain, first.error_s));
    }
    if let Some((i, open, next)) = &v.open {
        let name = f.items.get(*i).map_or("", |item| item.name.as_str());
        let words = next::of_gain(open, next.as_ref());
        brief = brief.perhaps("measure", words.map(|words| format!("for the {}: {words}", printable(name))));
    }
    let flipped = flip(v);
    brief
        .perhaps("the order", (!flipped.is_empty()).then(|| flipped.trim_end().replace('\n', " ")))
        .perhaps("stopwatch", first.map(|first| stopwatch(v, first) + assumed(v)))
        .fact("counted", COUNTED)
        .of_laps()
        .safety(ledger::text::CAUTION)
        .text()
}

/// What a stopwatch sees of the first change.
pub(crate) fn stopwatch(v: &Answer, first: &Ranked) -> String {
    let (spread, needed) = (fixed(v.stopwatch.spread_s, 2), laps(v.stopwatch.whole_laps(ranked(first).quicker_s)));
    format!("{} shows after {needed} laps a side, laps scattering by {spread} s", printable(&first.name))
}

fn assumed(v: &Answer) -> &'static str {
    if v.spread_assumed { " (assumed; yours by --lap-spread)" } else { "" }
}

/// The car can be set, and is.
pub(crate) fn tuned(v: &Answer) -> bool {
    v.found.retuned.as_ref().is_some_and(|t| t.free.contains(&true))
}

fn sum(gain_s: f64) -> String {
    Change { quicker_s: gain_s, interval: None, error_s: 1e-4 }.value() + " as set"
}

pub(crate) fn hangs_on(shares: &[(usize, f64)], unknowns: &[Unknown]) -> Option<String> {
    shared(shares.iter().filter_map(|(i, share)| Some((unknowns.get(*i)?.name.as_str(), *share))))
}

fn set_words(v: &Answer, set: &Set) -> String {
    let names: Vec<String> = set.candidates.iter().map(|&c| printable(&v.candidates[c])).collect();
    let names = if names.is_empty() { "nothing at all".to_owned() } else { names.join(", ") };
    let cost = money(set.cost, v.money.as_deref());
    let change = Change::of(&set.gain, 1e-4).words();
    format!("{names}: {} kg, {cost}, {} hours; {change}", signed(&fixed(set.kg, 1)), fixed(set.hours, 1))
}

fn gains(v: &Answer) -> (Table, usize) {
    let mut table = Table::new(&[
        ("what", Align::Left),
        ("place", Align::Left),
        ("kg", Align::Point),
        ("s quicker", Align::Point),
        ("90 %", Align::Left),
        ("cost", Align::Right),
        ("hours", Align::Right),
    ]);
    let all: Vec<_> = ordered(v).into_iter().filter(|i| i.resolved()).collect();
    let unresolved = v.found.items.iter().filter(|i| !i.resolved()).count();
    let scale = all.iter().filter(|i| i.places.is_none()).count().min(2);
    let (mut shown, mut yardsticks, mut left) = (0, 0, unresolved);
    for item in &all {
        if item.places.is_none() {
            yardsticks += 1;
            if yardsticks > scale {
                continue;
            }
        } else {
            shown += 1;
            if shown > SHOWN - scale {
                left += 1;
                continue;
            }
        }
        let [quicker, range] = ranked(item).seconds();
        table.row(&[
            title(item, &v.entries),
            place(item.places),
            if item.kg == 0.0 { String::new() } else { signed(&fixed(item.kg, 1)) },
            quicker,
            range,
            item.cost.map_or_else(String::new, |c| money(c, v.money.as_deref())),
            item.hours.map_or_else(String::new, |h| fixed(h, 1)),
        ]);
    }
    (table, left)
}
