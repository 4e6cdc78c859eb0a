//! Which rows of a ledger count as coming.

use unladen_study::ledger::budget::MassState;
use unladen_study::ledger::selection::compatible;
use unladen_vehicle::entry::{Entry, Origin, State};

use crate::error::{AskError, Asked};
use crate::stands::standing::Standing;

/// Rows that are counted as coming, and the car with them.
#[derive(Clone, Debug, PartialEq)]
pub struct Coming {
    /// What they are called together.
    pub name: String,
    /// Which of the ledger.
    pub rows: Vec<usize>,
    /// Mass and centre of gravity then.
    pub standing: MassState,
    /// Standard deviation of their masses together, kg.
    pub sd_kg: f64,
}

/// By a word, or by the rows' names; `None` where nothing is coming to the car as it is asked about.
pub fn chosen(standing: &Standing, asked: &[String]) -> Result<Option<Coming>, AskError> {
    let entries = &standing.entries;
    let coming = |states: &[State], only| -> Vec<usize> {
        compatible(entries, states, only).rows.into_iter().filter(|&i| entries[i].state != State::Done).collect()
    };
    let planned = [State::Planned];
    let words: Vec<&str> = asked.iter().map(|a| a.trim()).collect();
    let (name, rows) = match words[..] {
        [] | ["planned"] => ("all that is planned".to_owned(), coming(&planned, None)),
        ["measured"] => ("what is planned and weighed".to_owned(), coming(&planned, Some(Origin::Weighed))),
        ["ideas"] => ("all plans and ideas".to_owned(), coming(&[State::Planned, State::Idea], None)),
        ["none"] => return Ok(None),
        _ => {
            let rows = words.iter().map(|word| row(entries, word)).collect::<Result<Vec<_>, _>>()?;
            let mut rows: Vec<usize> = rows;
            rows.sort_unstable();
            rows.dedup();
            fits(entries, &rows)?;
            (listed(entries, &rows), rows)
        }
    };
    if rows.is_empty() {
        return Ok(None);
    }
    let (now, then) = (standing.mass_with(&[])?, standing.mass_with(&rows)?);
    let sd_kg = (then.sd[0].powi(2) - now.sd[0].powi(2)).max(0.0).sqrt();
    Ok(Some(Coming { name, rows, standing: then, sd_kg }))
}

fn row(entries: &[Entry], name: &str) -> Result<usize, Asked> {
    let open = |e: &Entry| e.state != State::Done;
    let same = |e: &Entry| e.item.eq_ignore_ascii_case(name);
    match entries.iter().position(|e| open(e) && same(e)) {
        Some(i) => Ok(i),
        None if entries.iter().any(same) => Err(Asked::DoneAlready { item: name.into() }),
        None => {
            let open: Vec<String> = entries.iter().filter(|e| open(e)).map(|e| e.item.clone()).collect();
            Err(Asked::NoSuchRow { item: name.into(), open: open.join(", ") })
        }
    }
}

/// Whole groups, needs met, nothing that excludes another.
fn fits(entries: &[Entry], rows: &[usize]) -> Result<(), Asked> {
    let there = |i: usize| rows.contains(&i) || entries[i].state == State::Done;
    let wrong = |item: &str, what: String| Err(Asked::CannotBe { item: item.into(), what });
    for &i in rows {
        let e = &entries[i];
        if let Some(need) = e.needs.iter().find(|need| !need.iter().any(|&n| there(n))) {
            let names: Vec<String> = need.iter().map(|&n| format!("`{}`", entries[n].item)).collect();
            return wrong(&e.item, format!("it needs {} as well", names.join(" or ")));
        }
        let clash = |j: usize| j != i && there(j) && (e.excludes.contains(&j) || entries[j].excludes.contains(&i));
        if let Some(j) = (0..entries.len()).find(|&j| clash(j)) {
            return wrong(&e.item, format!("it can't be together with `{}`", entries[j].item));
        }
        if let Some(j) = (0..entries.len()).find(|&j| e.group.is_some() && entries[j].group == e.group && !there(j)) {
            return wrong(&e.item, format!("`{}` of its group goes with it", entries[j].item));
        }
    }
    Ok(())
}

fn listed(entries: &[Entry], rows: &[usize]) -> String {
    let names: Vec<&str> = rows.iter().map(|&i| entries[i].item.as_str()).collect();
    match names[..] {
        [] => String::new(),
        [only] => only.to_owned(),
        [ref first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}
