//! Questions that a report answers besides: moving something, another build.

use unladen_questions::{Disk, Scene, compare};
use unladen_report::page::{Markup, Section, builds, moved};

use crate::commands::compare::against;
use crate::commands::report::ReportArgs;
use crate::error::CliError;
use crate::output::{failed, warn};

/// A question that was asked besides, and its answer.
pub struct Decision {
    /// Of the page, where it is the first.
    pub title: String,
    /// For a stranger.
    pub question: String,
    /// In a sentence or two each.
    pub answers: Vec<Markup>,
    /// What stands behind it.
    pub section: Section,
    /// Brakes were set again for it.
    pub brakes: bool,
}

/// Moving something, another build.
pub fn decisions(args: &ReportArgs, scene: &Scene) -> Result<Vec<Decision>, CliError> {
    let mut all = Vec::new();
    if let Some((item, to)) = args.item.as_ref().zip(args.to.as_ref()) {
        let ready = args.with.question(scene.clone(), item, to, &args.chance)?.read(&Disk).map_err(failed)?;
        warn(&ready.warnings);
        let answer = ready.answer()?;
        let section = moved::section(&answer)?;
        all.push(Decision {
            title: format!("{}: {}", answer.car, section.title),
            question: moved::question(&answer),
            answers: vec![moved::answer(&answer)],
            section,
            brakes: unladen_report::relocate::text::brakes_set(&answer),
        });
    }
    if let Some(other) = &args.against {
        let (set_second, apart) = (args.set_second.clone(), args.apart.clone());
        let plain = against(scene.clone(), other, &args.chance)?;
        let ready = compare::Question { set_second, apart, ..plain }.read(&Disk).map_err(failed)?;
        warn(&ready.warnings);
        let answer = ready.answer()?;
        let section = builds::section(&answer)?;
        all.push(Decision {
            title: section.title.clone(),
            question: builds::question(&answer),
            answers: builds::answer(&answer),
            section,
            brakes: unladen_report::compare::text::brakes_set(&answer),
        });
    }
    Ok(all)
}
