//! Questions that a report answers besides: moving something, another build.

use unladen_report::page::{Markup, Section, builds, moved as moved_page};

use crate::commands::compare::{CompareArgs, compared};
use crate::commands::moving::{MoveArgs, moved};
use crate::commands::report::{ReportArgs, lapping};
use crate::error::CliError;

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
pub fn decisions(args: &ReportArgs) -> Result<Vec<Decision>, CliError> {
    let mut all = Vec::new();
    if let Some(what) = args.item.clone().zip(args.to.clone()) {
        let asked = MoveArgs::plain(args.car.clone(), args.tracks.clone(), what, args.with.clone(), lapping(args));
        let asked = MoveArgs { chance: args.chance.clone(), ..asked };
        all.push(moved(&asked, |view, tracks| {
            let section = moved_page::section(view, tracks)?;
            Ok(Decision {
                title: format!("{}: {}", view.car, section.title),
                question: moved_page::question(view),
                answers: vec![moved_page::answer(view)],
                section,
                brakes: unladen_report::relocate::text::brakes_set(view),
            })
        })?);
    }
    if let Some(other) = args.against.clone() {
        let asked = CompareArgs::plain(args.car.clone(), other, args.tracks.clone(), lapping(args));
        let (set_second, apart, chance) = (args.set_second.clone(), args.apart.clone(), args.chance.clone());
        let asked = CompareArgs { set_second, apart, chance, ..asked };
        all.push(compared(&asked, |view, tracks| {
            let section = builds::section(view, tracks)?;
            Ok(Decision {
                title: section.title.clone(),
                question: builds::question(view),
                answers: builds::answer(view),
                section,
                brakes: unladen_report::compare::text::brakes_set(view),
            })
        })?);
    }
    Ok(all)
}
