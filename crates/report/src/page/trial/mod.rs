//! Trials on a page: the plan with its run sheet; a sealed one, and later its result beside it.

pub mod sheet;

use maud::html;
use unladen_garage::written;
use unladen_questions::trial::diary::{Line, Stands};
use unladen_questions::trial::plan::Answer;

use crate::draw::picture::{Drawn, PlotError};
use crate::page::parts::{Table, bare, number, words};
use crate::page::trial::sheet::Sheet;
use crate::page::verdict::Answered;
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
        asked: 1,
        sections: vec![sheet::section(&sheet, CAUTION, ON_THE_DAY)],
        version: version.into(),
    }
}

/// What is asked.
pub fn question(line: &Line) -> String {
    format!("Does {} make the car quicker on {}, as predicted?", line.sealed.change, line.sealed.track)
}

/// The answer of a sealed trial, with its bars.
pub fn answered(line: &Line) -> Result<Answered, PlotError> {
    let s = &line.sealed;
    let mut bars = vec![Bar { name: "predicted".into(), gain_s: s.gain.value, interval: s.interval }];
    if let Stands::Read(r, _) = &line.stands {
        bars.push(Bar { name: "measured".into(), gain_s: r.gain.value, interval: r.interval });
    }
    let says = answer(line);
    let picture =
        Drawn::of(|paper| held_against(&says, &format!("{} on {}, {}", s.car, s.track, s.change), &bars, paper))?;
    let still_to_drive = matches!(line.stands, Stands::ToCome | Stands::Open);
    Ok(Answered {
        says: vec![says],
        bar: None,
        hangs_on: Vec::new(),
        safety: if still_to_drive { vec![CAUTION] } else { Vec::new() },
        picture: bare(&picture),
    })
}

/// The answer of a sealed trial in a sentence.
pub fn answer(line: &Line) -> String {
    let s = &line.sealed;
    let predicted = gain(s.gain.value, s.gain.sd, s.interval);
    let said = match &line.stands {
        Stands::Read(r, _) => {
            let measured = gain(r.gain.value, r.gain.sd, r.interval);
            format!("; the laps said {measured}: {}", r.verdict.replace('_', " "))
        }
        Stands::ToCome => "; its day is to come".into(),
        Stands::Open => "; its laps are not read yet".into(),
    };
    format!("Trial “{}”, {}: {} should make the car {predicted}{said}.", s.name, written(s.day), s.change)
}

/// A sealed trial: its prediction, its result where there is one, its run sheet where there is none.
///
/// # Errors
/// [`PlotError`].
pub fn section(line: &Line) -> Result<Section, PlotError> {
    let s = &line.sealed;
    let mut table =
        Table::new("Predicted and measured", &[("gain", false), ("s a lap", true), ("nine in ten, s", true)])
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
    if let Stands::Read(r, _) = &line.stands {
        row("measured", r.gain.value, r.interval);
    }
    let sheet = matches!(line.stands, Stands::ToCome | Stands::Open)
        .then(|| sheet::section(&Sheet { change, order, laps: s.laps, burn_kg: s.burn_kg }, CAUTION, ON_THE_DAY).body);
    Ok(Section {
        id: "trial".into(),
        title: format!("Trial: {}", s.name),
        body: html! {
            (table.html())
            p.note { "Sealed with unladen " (s.version) ", SHA-256 " code { (s.seal) } "." }
            @if let Some(sheet) = &sheet { (sheet) }
        },
    })
}
