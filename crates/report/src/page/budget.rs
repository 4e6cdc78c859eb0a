//! Where the mass budget stands.

use maud::html;
use unladen_questions::ledger::Answer;
use unladen_study::ledger::budget::MassState;

use crate::draw::picture::Drawn;
use crate::ledger::text::{CAUTION, weighed};
use crate::page::Section;
use crate::page::parts::{Table, figure, number, words};
use crate::words::aboard::aboard;
use crate::words::number::{fixed, with_sd};

/// The standings, the way there and the way to the target; `cautioned` where the page has said the caution already.
pub fn section(v: &Answer, pictures: &[Drawn], cautioned: bool) -> Section {
    let b = &v.budget;
    let mut table = Table::new(
        &format!("Where it stands, with {} aboard", aboard(v.aboard)),
        &[
            ("state", false),
            ("kg", true),
            ("front", true),
            ("left", true),
            ("mm back", true),
            ("mm right", true),
            ("mm up", true),
        ],
    )
    .in_order();
    let weighed = weighed(v);
    let all: [(&str, &MassState); 5] = [
        (&weighed, &b.weighed),
        ("now", &b.now),
        ("only measured plans", &b.measured),
        ("all that is planned", &b.planned),
        ("the ideas as well", &b.ideas),
    ];
    for (name, s) in all {
        let share = |share: f64| number(format!("{} %", fixed(100.0 * share, 1)), share);
        let mm = |i: usize, m: f64| number(with_sd(m * 1e3, s.sd[i] * 1e3), m);
        table.row(vec![
            words(name),
            number(with_sd(s.part.m, s.sd[0]), s.part.m),
            share(s.front_share),
            share(s.left_share),
            mm(1, s.part.x),
            mm(2, s.part.y),
            mm(3, s.part.z),
        ]);
    }
    Section {
        id: "budget".into(),
        title: "The mass budget".into(),
        body: html! {
            p { (against_target(v)) }
            (table.html())
            @for picture in pictures { (figure(picture, "")) }
            @if !cautioned { p.caution { (CAUTION) } }
        },
    }
}

/// How far from the target, in a sentence.
pub fn against_target(v: &Answer) -> String {
    let b = &v.budget;
    let now = with_sd(b.now.part.m, b.now.sd[0]);
    let planned = with_sd(b.planned.part.m, b.planned.sd[0]);
    let Some(target) = v.target_kg else {
        return format!(
            "{now} kg now with {} aboard; {planned} kg with all that is planned. The car's file names no target.",
            aboard(v.aboard)
        );
    };
    let gap = |s: &MassState| {
        let over = s.part.m - target;
        format!("{} kg {} it", with_sd(over.abs(), s.sd[0]), if over > 0.0 { "above" } else { "below" })
    };
    format!(
        "The target is {} kg with {} aboard. Now it weighs {now} kg, {}; with all that is planned {planned} kg, {}.",
        fixed(target, 0),
        aboard(v.aboard),
        gap(&b.now),
        gap(&b.planned)
    )
}
