//! Two builds: which is quicker on which day, why, where, and where it turns.

use maud::{Markup, html};
use unladen_questions::compare::{Answer, Day, LETTERS};
use unladen_study::compare::builds::Verdict;

use crate::compare::tables::{BENDS, TERMS, bends, own_ledger, terms, what_differs};
use crate::compare::text::{
    DRIVELINE_CAUTION, NOT_COMPARED, brakes_set, driveline_differs, how_sure, shared, tuning, turns, verdict,
};
use crate::draw::header::sentence;
use crate::draw::picture::{Drawn, PlotError};
use crate::page::Section;
use crate::page::moved::{MAP, found_how, sure_cells};
use crate::page::parts::{Table, figure, number, said, words};
use crate::page::verdict::{Answered, bar_of};
use crate::pair::of_day;
use crate::words::change::Change;
use crate::words::number::fixed;
use crate::words::sure;
use crate::words::tuned::BRAKE_CAUTION;
use crate::words::verdict::of_compare;

/// What is asked.
pub fn question(v: &Answer) -> String {
    let days: Vec<&str> = v.days.iter().map(|day| day.name.as_str()).collect();
    format!("Which is quicker, {}? A: {}. B: {}.", days.join(" and "), v.names[0], v.names[1])
}

/// The answer, day by day, with the map of who is quicker when.
pub fn answered(v: &Answer, map: &Drawn) -> Result<Answered, PlotError> {
    let of = |day: &Day| {
        let found = Answer::counts(&day.found);
        (sentence(&day.name), Change::of(&found.gain, found.error_s))
    };
    let says: Vec<String> = v.days.iter().map(|day| of_compare(v, day).sentence()).collect();
    let rows: Vec<(String, Change)> = v.days.iter().map(of).collect();
    let bar = bar_of(&says.join(" "), &rows, ["A is quicker", "B is quicker"])?;
    let hangs_on = v.days.iter().filter_map(|day| {
        let words = sure::hangs_on_brief(&Answer::counts(&day.found).gain, &day.found.unknowns)?;
        Some(if v.days.len() > 1 {
            format!("{}, it hangs on {words}.", sentence(&day.name))
        } else {
            format!("It hangs on {words}.")
        })
    });
    let safety = [(brakes_set(v), BRAKE_CAUTION), (driveline_differs(v), DRIVELINE_CAUTION)];
    Ok(Answered {
        says,
        bar,
        hangs_on: hangs_on.collect(),
        safety: safety.into_iter().filter(|(applies, _)| *applies).map(|(_, words)| words).collect(),
        picture: figure(map, "Who is quicker over the grip of the day and the torque of both engines."),
    })
}

/// All of it.
pub fn section(v: &Answer) -> Result<Section, PlotError> {
    let days = v.days.iter().map(|day| one(v, day)).collect::<Result<Vec<_>, _>>()?;
    Ok(Section {
        id: "builds".into(),
        title: format!("{} against {}", v.names[1], v.names[0]),
        body: html! {
            p { "A is " (v.names[0]) ", B is " (v.names[1]) "; on " (v.tracks) "." }
            (Table::of("What differs", &what_differs(v)).in_order().html())
            @if let Some(rows) = own_ledger(v) { p.note { (said(&rows)) } }
            @for day in days { (day) }
            h3 { "Where it turns" }
            ul { @for (what, fact) in turns(v) { li { strong { (sentence(&what)) } ": " (fact) "." } } }
            @for words in shared(&v.doubts) { p.note { (said(&words)) } }
            @if driveline_differs(v) { p { (NOT_COMPARED) } }
        },
    })
}

fn one(v: &Answer, day: &Day) -> Result<Markup, PlotError> {
    let found = &day.found;
    let head = if day.name.starts_with("grip") {
        sentence(&day.name)
    } else {
        format!("{}, grip {}", sentence(&day.name), fixed(day.grip, 2))
    };
    let mut times = Table::new(
        &format!("Mean lap, {}", day.name),
        &[("the cars", false), ("A, s", true), ("B, s", true), ("B is", true), ("90 %", true), ("B is quicker", true)],
    )
    .in_order();
    let mut row = |name: &str, verdict: &Verdict| {
        let [a, b] = verdict.times_s;
        let own = vec![words(name), number(fixed(a, 3), a), number(fixed(b, 3), b)];
        times.row([own, sure_cells(&verdict.gain, verdict.error_s)].concat());
    };
    row("as set", &found.as_set);
    if let Some(retuned) = &found.retuned {
        row("re\u{2011}tuned", retuned);
    }
    let pairs = Drawn::each(|paper| Ok(of_day(day, &v.roads, paper)?.into_iter().flatten().collect()))?;
    Ok(html! {
        h3 { (head) }
        p { (said(verdict(v, day).strip_prefix(&of_compare(v, day).sentence()).unwrap_or(&verdict(v, day)).trim_start())) }
        (times.html())
        p.note { (said(&found_how(&found.as_set.gain, found.retuned.as_ref().map(|v| &v.gain)))) }
        @for words in how_sure(v, found) { p { (said(&words)) } }
        p { (said(&tuning(found))) }
        @match terms(found.terms.as_deref(), Answer::counts(found)) {
            Ok(table) => { (Table::of(&format!("Where it comes from, {}", day.name), &table).in_order().html()) p.note { (TERMS) } }
            Err(why) => { p { (why) } }
        }
        @for (pair, on) in pairs.chunks(2).zip(&found.tracks) {
            @if let [speed, map] = pair {
                (figure(speed, &format!("{} and {} on {}; beneath the speeds, the time that B gains.", LETTERS[0], LETTERS[1], on.track)))
                (figure(map, MAP))
            }
            @if let Some(table) = bends(on) {
                (Table::of(&format!("Bend by bend on {}, {}", on.track, day.name), &table).in_order().html())
                p.note { (BENDS) }
            }
        }
    })
}
