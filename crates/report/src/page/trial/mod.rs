//! Trials on a page: the plan with its run sheet; a sealed one, and later its result beside it.

pub mod sheet;

use maud::{Markup, html};
use unladen_garage::written;
use unladen_questions::trial::diary::{Line, Stands};
use unladen_questions::trial::plan::Answer;

use crate::draw::picture::PlotError;
use crate::page::parts::{Table, figure, number, words};
use crate::page::trial::sheet::Sheet;
use crate::page::{Page, Section};
use crate::trial::picture::{Bar, held_against};
use crate::trial::plan_text::{ON_THE_DAY, plan, verdict};
use crate::trial::words::{CAUTION, gain};

/// A plan's own page, to print.
pub fn plan_page(v: &Answer, version: &str) -> Page {
    let mut table = Table::new("The plan", &[("", false), ("", false)]).in_order();
    for (what, fact) in plan(v) {
        table.row(vec![words(what), words(fact)]);
    }
    let sheet = Sheet { change: v.change.clone(), order: v.order.runs.clone(), laps: v.order.laps, burn_kg: v.burn_kg };
    Page {
        live: None,
        title: format!("{}: {}", v.car, v.change),
        question: format!("Can a day on {} show what this is worth?", v.track),
        verdict: html! { p { strong { (verdict(v)) } } (table.html()) },
        sections: vec![sheet::section(&sheet, CAUTION, ON_THE_DAY)],
        version: version.into(),
    }
}

/// What is asked.
pub fn question(line: &Line) -> String {
    format!("Does {} make the car quicker on {}, as predicted?", line.sealed.change, line.sealed.track)
}

/// The answer of a sealed trial in a sentence.
pub fn answer(line: &Line) -> Markup {
    let s = &line.sealed;
    let predicted = gain(s.gain.value, s.gain.sd, s.interval);
    html! {
        strong { "Trial “" (s.name) "”, " (written(s.day)) ". " }
        (s.change) " should make the car " (predicted)
        @match &line.stands {
            Stands::Read(r, _) => { "; the laps said " (gain(r.gain.value, r.gain.sd, r.interval)) ": " (r.verdict.replace('_', " ")) "." }
            Stands::ToCome => { "; its day is to come." }
            Stands::Open => { "; its laps are not read yet." }
        }
    }
}

/// A sealed trial: its prediction, its result where there is one, its run sheet where there is none.
///
/// # Errors
/// [`PlotError`].
pub fn section(line: &Line) -> Result<Section, PlotError> {
    let s = &line.sealed;
    let mut bars = vec![Bar { name: "predicted".into(), gain_s: s.gain.value, interval: s.interval }];
    let mut table =
        Table::new("Predicted and measured", &[("", false), ("gain, s a lap", true), ("nine in ten, s", true)])
            .in_order();
    let mut row = |name: &str, value: f64, [low, high]: [f64; 2]| {
        table.row(vec![
            words(name),
            number(format!("{value:.3}"), value),
            number(format!("{low:.3} to {high:.3}"), low),
        ]);
    };
    row("predicted", s.gain.value, s.interval);
    let (change, order) = (s.change.clone(), s.order.clone());
    let title = match &line.stands {
        Stands::Read(r, _) => {
            row("measured", r.gain.value, r.interval);
            bars.push(Bar { name: "measured".into(), gain_s: r.gain.value, interval: r.interval });
            format!("{}: {}", s.name, r.verdict.replace('_', " "))
        }
        _ => format!("{}: sealed, not read yet", s.name),
    };
    let picture = held_against(&title, &format!("{} on {}, {}", s.car, s.track, s.change), &bars)?;
    let sheet = matches!(line.stands, Stands::ToCome | Stands::Open)
        .then(|| sheet::section(&Sheet { change, order, laps: s.laps, burn_kg: s.burn_kg }, CAUTION, ON_THE_DAY).body);
    Ok(Section {
        id: "trial".into(),
        title: format!("Trial: {}", s.name),
        body: html! {
            p { (answer(line)) }
            (figure(&picture, "tr-", "Intervals that hold nine chances in ten; right of the line the change is quicker."))
            (table.html())
            p.note { "Sealed with unladen " (s.version) ", SHA-256 " code { (s.seal) } "." }
            @if let Some(sheet) = &sheet { (sheet) }
        },
    })
}
