//! A report: every answer in its section, those that decide something first.

use maud::Markup;
use maud::html;
use unladen_questions::stands::load::Aboard;
use unladen_questions::trial::diary::Line;
use unladen_questions::{compare, ledger, rank, relocate, report};

use crate::compare::crossover::crossover_picture;
use crate::compare::text as builds_text;
use crate::draw::picture::{Drawn, PlotError};
use crate::ledger::dated::burn_down;
use crate::ledger::waterfall::waterfall;
use crate::page::verdict::{Answered, Besides, NINETY, besides, of_kilogram};
use crate::page::{Page, Section, budget, builds, given, lap, made, moved, plan, ranking, trial, worth};
use crate::relocate::text as move_text;
use crate::words::aboard::aboard;
use crate::worth::car_map::car_map;
use crate::worth::curve::curves;

/// How a page came about.
#[derive(Clone, Debug)]
pub struct Made {
    /// The command that makes it again.
    pub command: String,
    /// Values that were changed for it.
    pub changed: Vec<String>,
    /// The version of unladen.
    pub version: String,
    /// What takes hold of the car.
    pub live: Option<Markup>,
}

/// A decision that was asked for, and its answer.
struct Decision {
    /// Of the page, where it is the first.
    title: String,
    question: String,
    answered: Answered,
    section: Section,
    /// Brakes were set again for it.
    brakes: bool,
}

/// The page of all answers.
///
/// # Errors
/// [`PlotError`] where a picture can't be drawn.
pub fn page(v: &report::Answer, made: &Made) -> Result<Page, PlotError> {
    let worth = &v.worth;
    let (file, mix) = (&worth.file, &worth.study.mix);

    let mut decisions = Vec::new();
    decisions.extend(v.relocate.as_ref().map(moving).transpose()?);
    decisions.extend(v.compare.as_ref().map(other_build).transpose()?);
    decisions.extend(v.trial.as_ref().map(tried).transpose()?);
    decisions.extend(v.rank.as_ref().map(ranked).transpose()?);
    let brakes = decisions.iter().any(|d| d.brakes);
    let mut sections: Vec<Section> = decisions.iter().map(|d| d.section.clone()).collect();
    // What stands on the first screen doesn't stand below again.
    let map = Drawn::of(|paper| car_map(worth, paper))?;
    let alone = decisions.is_empty();
    let curves = Drawn::each(|paper| curves(worth, paper))?;
    sections.push(worth::section(&worth.study.tracks, mix, (!alone).then_some(&map), &curves));
    if let (Some(planned), Some(on)) = (&v.planned, &worth.on) {
        let rows = plan::rows(&planned.coming, on, mix, &worth.car.mass);
        let pictures = Drawn::each(|paper| plan::pictures(&v.laps, &planned.laps, paper))?;
        sections.push(plan::section(&planned.coming.name, &planned.gains, &rows, &pictures));
    }
    sections.extend(v.budget.as_ref().map(|budget| mass_budget(budget, v.rank.is_some())).transpose()?);
    let intervals = worth.study.tracks.iter().map(|w| w.lap_time_interval_s);
    sections.push(lap::section(&v.laps.iter().zip(intervals).collect::<Vec<_>>())?);
    let aboard = aboard(Aboard::on_track(file));
    sections.push(made::inputs(&given::given(&v.inputs, &worth.car), &aboard, &made.changed));
    sections.push(made::limits(brakes));
    sections.push(made::again(&made.command, &v.files, &made.version));

    let names: Vec<&str> = worth.tracks.iter().map(|t| t.name.as_str()).collect();
    let planned = v.planned.as_ref();
    let also = besides(&Besides {
        tracks: &worth.study.tracks,
        mix,
        plan: planned.and_then(|p| p.gains.last().map(|gain| (p.coming.name.as_str(), gain))),
        budget: v.budget.as_ref().map(budget::against_target),
    });
    let verdict = if alone {
        let answered = of_kilogram(mix, &map)?;
        html! { (answered.html()) (also) p.note { (NINETY) } }
    } else {
        html! {
            @for d in &decisions { (d.answered.html()) }
            p.note { (NINETY) }
            details { summary { "Besides: the lap, a kilogram, the budget" } (also) }
        }
    };
    Ok(Page {
        title: match decisions.first() {
            Some(first) => first.title.clone(),
            None => format!("What a kilogram is worth: {}", file.name),
        },
        question: match decisions[..] {
            [] => format!("What does a kilogram cost on {}, and where in the car?", names.join(", ")),
            _ => decisions.iter().map(|d| d.question.as_str()).collect::<Vec<_>>().join(" "),
        },
        verdict,
        asked: decisions.len().max(1),
        live: made.live.clone(),
        sections,
        version: made.version.clone(),
    })
}

fn moving(v: &relocate::Answer) -> Result<Decision, PlotError> {
    let (answered, section) = (moved::answered(v)?, moved::section(v)?);
    Ok(Decision {
        title: format!("{}: {}", v.car, section.title),
        question: moved::question(v),
        answered,
        section,
        brakes: move_text::brakes_set(v),
    })
}

fn other_build(v: &compare::Answer) -> Result<Decision, PlotError> {
    let map = Drawn::of(|paper| crossover_picture(v, paper))?;
    let (answered, section) = (builds::answered(v, &map)?, builds::section(v)?);
    Ok(Decision {
        title: format!("Two builds on {}", v.tracks),
        question: builds::question(v),
        answered,
        section,
        brakes: builds_text::brakes_set(v),
    })
}

fn tried(v: &Line) -> Result<Decision, PlotError> {
    let (answered, section) = (trial::answered(v)?, trial::section(v)?);
    Ok(Decision {
        title: format!("{}: {}", v.sealed.car, section.title),
        question: trial::question(v),
        answered,
        section,
        brakes: false,
    })
}

fn ranked(v: &rank::Answer) -> Result<Decision, PlotError> {
    let section = ranking::section(v);
    Ok(Decision {
        title: format!("{}: {}", v.car, section.title),
        question: ranking::question(v),
        answered: ranking::answered(v)?,
        section,
        brakes: false,
    })
}

fn mass_budget(v: &ledger::Answer, cautioned: bool) -> Result<Section, PlotError> {
    let mut pictures = vec![Drawn::of(|paper| burn_down(v, paper))?];
    if v.budget.steps.iter().any(|s| !s.done) {
        pictures.push(Drawn::of(|paper| waterfall(v, paper))?);
    }
    Ok(budget::section(v, &pictures, cautioned))
}
