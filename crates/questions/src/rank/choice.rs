//! The candidates that were asked for, by name.

use unladen_garage::{listed, nearest};
use unladen_study::ledger::selection::LeftOut::{self, Excluded, Group, Unmet};
use unladen_study::rank::candidates::{Candidate, Plan};
use unladen_vehicle::entry::Entry;

use crate::error::Asked;

/// The candidates that were named, and those that they need.
pub fn chosen(mut plan: Plan, entries: &[Entry], names: &[String]) -> Result<Plan, Asked> {
    if names.is_empty() {
        return Ok(plan);
    }
    let named = names.iter().map(|name| find(&plan, entries, name)).collect::<Result<Vec<_>, _>>()?;
    let rows: Vec<usize> = named.iter().flat_map(|&c| plan.candidates[c].all()).collect();
    plan.candidates.retain(|c| c.rows.iter().any(|row| rows.contains(row)));
    plan.left_out.clear();
    Ok(plan)
}

/// A candidate by its name or by that of one of its rows.
pub fn find(plan: &Plan, entries: &[Entry], name: &str) -> Result<usize, Asked> {
    let is = |known: &str| known.eq_ignore_ascii_case(name.trim());
    let in_rows = |c: &Candidate| c.rows.iter().any(|&r| is(&entries[r].item));
    let found = plan.candidates.iter().position(|c| is(&c.name)).or(plan.candidates.iter().position(in_rows));
    found.ok_or_else(|| {
        if let Some((_, why)) = plan.left_out.iter().find(|(row, _)| is(&entries[*row].item)) {
            return Asked::CantBe { given: name.into(), why: reason(entries, *why) };
        }
        if entries.iter().any(|e| is(&e.item)) {
            return Asked::CantBe {
                given: name.into(),
                why: "it is done, or not among those that were asked for".into(),
            };
        }
        let candidates = || plan.candidates.iter().map(|c| c.name.as_str());
        let near = nearest(name, candidates().chain(entries.iter().map(|e| e.item.as_str())));
        let near = near.map_or_else(String::new, |near| format!("; did you mean `{near}`?"));
        let hint = format!("{near} There are {}", listed(candidates()));
        Asked::NoSuchItem { given: name.into(), hint }
    })
}

fn reason(entries: &[Entry], why: LeftOut) -> String {
    match why {
        Excluded { by } => format!("{} excludes it", entries[by].item),
        Unmet { needs } => format!("it needs {}", entries[needs].item),
        Group { with } => format!("{} of its group can't be", entries[with].item),
    }
}
