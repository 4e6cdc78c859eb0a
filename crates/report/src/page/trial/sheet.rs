//! The run sheet: boxes to be filled in with a pen, a run a table, on A4.

use maud::{Markup, html};

use crate::page::Section;

/// What is driven.
#[derive(Clone, Debug, PartialEq)]
pub struct Sheet {
    /// What is fitted in runs B.
    pub change: String,
    /// What is fitted, run by run.
    pub order: Vec<bool>,
    /// Flying laps a run.
    pub laps: usize,
    /// Fuel that a run burns, kg.
    pub burn_kg: f64,
}

const TYRES: [&str; 4] = ["front left", "front right", "rear left", "rear right"];

/// The section of a page.
pub fn section(s: &Sheet, caution: &str, on_the_day: &str) -> Section {
    let columns: Vec<String> =
        std::iter::once("out".to_owned()).chain((1..=s.laps).map(|n| n.to_string())).chain(["in".to_owned()]).collect();
    Section {
        id: "run-sheet".into(),
        title: "Run sheet".into(),
        body: html! {
            p { strong { "A" } ": without the change. " strong { "B" } ": with it: " (s.change) "." }
            p.note { (on_the_day) }
            (head())
            @for (i, changed) in s.order.iter().enumerate() { (run(s, i, *changed, &columns)) }
            p.caution { (caution) }
        },
    }
}

fn head() -> Markup {
    html! {
        table.sheet {
            tbody {
                tr { th scope="row" { "date" } td {} th scope="row" { "driver" } td {} th scope="row" { "tyres" } td {} }
                tr { th scope="row" { "weather" } td {} th scope="row" { "timed by" } td {} th scope="row" { "car ready, checked by" } td {} }
            }
        }
    }
}

fn run(s: &Sheet, i: usize, changed: bool, columns: &[String]) -> Markup {
    let before = i.checked_sub(1).and_then(|k| s.order.get(k)).copied().unwrap_or(false);
    let first = match (i, before == changed) {
        (0, _) if changed => "fit the change, warm the car up",
        (0, _) => "warm the car up",
        (_, true) => "stop, change nothing",
        _ if changed => "fit the change",
        _ => "take the change off",
    };
    let fuel = (s.laps + 2) as f64 * s.burn_kg;
    html! {
        div.run {
            h3 { "Run " (i + 1) ": " (if changed { "B" } else { "A" }) span.note { " " (first) "; fill up by about " (format!("{fuel:.1}")) " kg" } }
            table.sheet {
                tbody {
                    tr {
                        th scope="row" { "out of the pits at" } td {}
                        th scope="row" { "fuel in, kg" } td {}
                        th scope="row" { "air, °C" } td {}
                        th scope="row" { "track, °C" } td {}
                    }
                    tr { @for tyre in TYRES { th scope="row" { (tyre) ", bar" } td {} } }
                }
            }
            table.sheet.laps {
                thead { tr { th scope="col" { "lap" } @for c in columns { th scope="col" { (c) } } } }
                tbody {
                    tr { th scope="row" { "time" } @for _ in columns { td {} } }
                    tr { th scope="row" { "traffic, mistake" } @for _ in columns { td {} } }
                }
            }
        }
    }
}
