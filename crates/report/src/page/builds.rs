//! Two builds: which is quicker on which day, why, where, and where it turns.

use maud::{Markup, html};
use unladen_questions::compare::{Answer, Day, LETTERS};
use unladen_study::compare::builds::Verdict;

use crate::compare::crossover::crossover_picture;
use crate::compare::tables::{BENDS, TERMS, bends, own_ledger, terms, what_differs};
use crate::compare::text::{
    DRIVELINE_CAUTION, NOT_COMPARED, driveline_differs, how_sure, shared, tuning, turns, verdict,
};
use crate::draw::header::sentence;
use crate::draw::picture::PlotError;
use crate::page::Section;
use crate::page::moved::{MAP, found_how, sure_cells};
use crate::page::parts::{Table, figure, minus, number, words};
use crate::pair::of_day;
use crate::words::number::fixed;

/// What is asked.
pub fn question(v: &Answer) -> String {
    let days: Vec<&str> = v.days.iter().map(|day| day.name.as_str()).collect();
    format!("{} (A) or {} (B): which is quicker on {}, {}?", v.names[0], v.names[1], v.tracks, days.join(" and "))
}

/// The answer, day by day; who is who before the first.
pub fn answer(v: &Answer) -> Vec<Markup> {
    let of = |day: &Day| {
        let said = verdict(v, day);
        let (head, rest) = said.split_once(": ").unwrap_or(("", &said));
        html! { strong { (head) ". " } (minus(&sentence(rest))) }
    };
    let who = html! { "A is " (v.names[0]) "; B is " (v.names[1]) "." };
    std::iter::once(who).chain(v.days.iter().map(of)).collect()
}

/// All of it.
pub fn section(v: &Answer) -> Result<Section, PlotError> {
    let map = crossover_picture(v)?;
    let days = v.days.iter().enumerate().map(|(i, day)| one(v, i, day)).collect::<Result<Vec<_>, _>>()?;
    Ok(Section {
        id: "builds".into(),
        title: format!("{} against {}", v.names[1], v.names[0]),
        body: html! {
            p { "A is " (v.names[0]) ", B is " (v.names[1]) "; on " (v.tracks) "." }
            (Table::of("What differs", &what_differs(v)).in_order().html())
            @if let Some(rows) = own_ledger(v) { p.note { (minus(&rows)) } }
            @for day in days { (day) }
            h3 { "Where it turns" }
            (figure(&map, "x-", "Who is quicker over the grip of the day and the torque of both engines, set as in the verdict."))
            ul { @for (what, fact) in turns(v) { li { strong { (sentence(&what)) } ": " (fact) "." } } }
            @for words in shared(&v.doubts) { p.note { (words) } }
            @if driveline_differs(v) { p { (NOT_COMPARED) } p.caution { (DRIVELINE_CAUTION) } }
        },
    })
}

fn one(v: &Answer, i: usize, day: &Day) -> Result<Markup, PlotError> {
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
    let pairs = of_day(day, &v.roads)?;
    Ok(html! {
        h3 { (head) }
        (times.html())
        p.note { (found_how(&found.as_set.gain, found.retuned.as_ref().map(|v| &v.gain))) }
        @for said in how_sure(v, found) { p { (minus(&said)) } }
        p { (minus(&tuning(found))) }
        @match terms(found.terms.as_deref(), Answer::counts(found)) {
            Ok(table) => { (Table::of(&format!("Where it comes from, {}", day.name), &table).in_order().html()) p.note { (TERMS) } }
            Err(why) => { p { (why) } }
        }
        @for (k, ([speed, map], on)) in pairs.iter().zip(&found.tracks).enumerate() {
            (figure(speed, &format!("b{i}s{k}-"), &format!("{} and {} on {}; beneath the speeds, the time that B gains.", LETTERS[0], LETTERS[1], on.track)))
            (figure(map, &format!("b{i}m{k}-"), MAP))
            @if let Some(table) = bends(on) {
                (Table::of(&format!("Bend by bend on {}, {}", on.track, day.name), &table).in_order().html())
                p.note { (BENDS) }
            }
        }
    })
}
