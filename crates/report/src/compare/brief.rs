//! Two builds with the answer first.

use unladen_questions::compare::Answer;
use unladen_questions::stands::standing::Said;
use unladen_study::compare::builds::OnTrack;

use crate::compare::tables::{group_name, what_differs};
use crate::compare::text::{DRIVELINE_CAUTION, brakes_set, driveline_differs, turns};
use crate::words::brief::{Brief, Verdict};
use crate::words::change::{Change, far_off};
use crate::words::next;
use crate::words::number::fixed;
use crate::words::sure;
use crate::words::table::{Align, Table};
use crate::words::tuned::BRAKE_CAUTION;
use crate::words::verdict::of_compare;

/// Numbers that differ that are shown.
const DIFFER: usize = 9;
/// Beneath the parts.
const WHY: &str = "The parts add up; –: no difference that can be resolved.";

/// The text.
pub fn compare_brief(v: &Answer) -> String {
    let [a, b] = &v.names;
    let tuned = v.days.iter().any(|d| d.found.retuned.is_some());
    let [of_a, of_b] = &v.states;
    let car = |name: &str, s: &Said| format!("{name}, {}, {} kg", s.state.of.said(), fixed(s.mass_kg, 1));
    let set = if tuned { "each re-tuned" } else { "everything as set" };
    let about = format!("A: {}. B: {}. On {}; {set}.", car(a, of_a), car(b, of_b), v.tracks);
    let verdicts: Vec<Verdict> = v.days.iter().map(|day| of_compare(v, day)).collect();
    let Some((first, rest)) = verdicts.split_first() else { return String::new() };
    let mut brief = Brief::new(first, "");
    for verdict in rest {
        brief = brief.also(verdict);
    }
    brief = brief.note(&about).table(&why(v)).note(WHY);
    let (table, left) = what_differs(v).first(DIFFER);
    brief = brief.table(&table);
    if left > 0 {
        brief = brief.note(&format!("{left} more by --detail."));
    }
    for day in &v.days {
        let found = Answer::counts(&day.found);
        if let Some(words) = sure::hangs_on_brief(&found.gain, &day.found.unknowns) {
            brief = brief.fact("hangs on", format!("{}: {words}", day.name));
        }
        brief =
            brief.perhaps("note", far_off(&found.gain, found.error_s).map(|words| format!("{}: {words}", day.name)));
    }
    let open: Vec<_> = v.days.iter().map(|day| (day.name.as_str(), v.open(&day.found))).collect();
    for words in next::of_days(&open) {
        brief = brief.fact("measure", words);
    }
    if let Some(day) = v.days.first() {
        brief = brief.fact("stopwatch", sure::stopwatch_brief(&v.watch, v.laps, Answer::counts(&day.found).gain.gain));
    }
    for (what, words) in turns(v) {
        if what == "over grip" {
            brief = brief.fact("it turns", words);
        }
    }
    brief = brief.of_laps();
    if brakes_set(v) {
        brief = brief.safety(BRAKE_CAUTION);
    }
    if driveline_differs(v) {
        brief = brief.safety(DRIVELINE_CAUTION);
    }
    brief.text()
}

/// Day by day: the times, as set too, and the parts that they are made of.
fn why(v: &Answer) -> Table {
    let mut heads = vec![("", Align::Left)];
    heads.extend(v.days.iter().map(|day| (day.name.as_str(), Align::Left)));
    let mut table = Table::new(&heads);
    let mut row = |what: &str, cell: &dyn Fn(usize) -> String| {
        let mut cells = vec![what.to_owned()];
        cells.extend((0..v.days.len()).map(cell));
        table.row(&cells);
    };
    row("lap of A, B, s", &|i| {
        let times = Answer::counts(&v.days[i].found).times_s;
        format!("{}, {}", fixed(times[0], 2), fixed(times[1], 2))
    });
    let mut groups = Vec::new();
    for term in v.days.iter().flat_map(|d| d.found.terms.iter().flatten()) {
        if !groups.contains(&term.group) {
            groups.push(term.group);
        }
    }
    for group in groups {
        row(&format!("B by its {}", group_name(group)), &|i| {
            let found = &v.days[i].found;
            let term = found.terms.iter().flatten().find(|t| t.group == group);
            let error_s = Answer::counts(found).error_s;
            term.map_or_else(String::new, |t| Change { quicker_s: t.gain_s, interval: None, error_s }.cell())
        });
    }
    row("B in all", &|i| {
        let found = Answer::counts(&v.days[i].found);
        Change { quicker_s: found.gain.gain, interval: None, error_s: found.error_s }.cell()
    });
    row("in all, as set", &|i| {
        let found = &v.days[i].found.as_set;
        Change::of(&found.gain, found.error_s).cell()
    });
    row("most of it after", &|i| most(&v.days[i].found.tracks));
    table
}

/// The bend after which most is gained or lost.
fn most(tracks: &[OnTrack]) -> String {
    let all = tracks.iter().flat_map(|t| &t.stretches);
    let most = all.max_by(|a, b| (a.entry_s + a.exit_s).abs().total_cmp(&(b.entry_s + b.exit_s).abs()));
    most.and_then(|s| s.place.clone()).unwrap_or_default()
}
