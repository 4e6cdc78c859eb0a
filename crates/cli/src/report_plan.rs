//! Which rows of a ledger a report counts as coming.

use unladen_garage::Ledger;
use unladen_report::page::plan::Row;
use unladen_study::Worth;
use unladen_study::ledger::budget::{MassState, own_sd};
use unladen_study::ledger::selection::compatible;
use unladen_vehicle::Car;
use unladen_vehicle::car::Mass;
use unladen_vehicle::entry::{Entry, Origin, State};

use crate::commands::rank::adds;
use crate::error::CliError;
use crate::kilogram::OnTrack;

/// Rows that are counted as coming, and the car with them.
pub struct Plan {
    /// What they are called together.
    pub name: String,
    /// Which of the ledger.
    pub rows: Vec<usize>,
    /// Mass and centre of gravity then.
    pub standing: MassState,
    /// Standard deviation of their masses together, kg.
    pub sd_kg: f64,
}

/// By a word, or by the rows' names; `None` where nothing is coming.
pub fn chosen(on: &OnTrack, asked: &[String]) -> Result<Option<Plan>, CliError> {
    let entries = &on.ledger.entries;
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
    let scales = &on.scales;
    let all: Vec<&Entry> = done_since(on).chain(rows.iter().copied()).map(|i| &entries[i]).collect();
    let standing = on.base.with(&all, scales)?;
    let sd_kg = (standing.sd[0].powi(2) - on.budget.now.sd[0].powi(2)).max(0.0).sqrt();
    Ok(Some(Plan { name, rows, standing, sd_kg }))
}

fn row(entries: &[Entry], name: &str) -> Result<usize, CliError> {
    let open = |e: &Entry| e.state != State::Done;
    let same = |e: &Entry| e.item.eq_ignore_ascii_case(name);
    match entries.iter().position(|e| open(e) && same(e)) {
        Some(i) => Ok(i),
        None if entries.iter().any(same) => Err(CliError::DoneAlready { item: name.into() }),
        None => {
            let open: Vec<String> = entries.iter().filter(|e| open(e)).map(|e| e.item.clone()).collect();
            Err(CliError::NoSuchRow { item: name.into(), open: open.join(", ") })
        }
    }
}

/// Whole groups, needs met, nothing that excludes another.
fn fits(entries: &[Entry], rows: &[usize]) -> Result<(), CliError> {
    let there = |i: usize| rows.contains(&i) || entries[i].state == State::Done;
    let wrong = |item: &str, what: String| Err(CliError::CannotBe { item: item.into(), what });
    for &i in rows {
        let e = &entries[i];
        if let Some(&n) = e.needs.iter().find(|&&n| !there(n)) {
            return wrong(&e.item, format!("it needs `{}` as well", entries[n].item));
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

/// The car with this mass and what turns of these rows.
pub fn with_rows(car: &Car, mass: Mass, ledger: &Ledger, rows: impl IntoIterator<Item = usize>) -> Car {
    let adds = adds(car, ledger);
    let mut changed = Car { mass, ..car.clone() };
    for (number, by) in rows.into_iter().flat_map(|row| &adds[row]) {
        if let Some(value) = changed.number_mut(*number) {
            // A flywheel can't be lighter than nothing.
            *value = (*value + by).max(0.0);
        }
    }
    changed
}

/// Rows that were done since the weighing.
pub fn done_since(on: &OnTrack) -> impl Iterator<Item = usize> + '_ {
    let entries = &on.ledger.entries;
    (0..entries.len()).filter(|i| entries[*i].state == State::Done && !on.budget.in_weighing.contains(i))
}

/// Row by row, each by what a kilogram is worth where it sits: w of `docs/model.md` §8, on the mix.
pub fn rows(plan: &Plan, on: Option<&OnTrack>, mix: &Worth, mass: Mass) -> Vec<Row> {
    let Some(on) = on else { return Vec::new() };
    let per_m = 1e3 / mass.m;
    let w = |at: [f64; 3]| {
        mix.s_per_kg.value
            + per_m
                * ((at[0] - mass.a) * mix.s_per_mm_rearward.value
                    + (at[1] - mass.y_cg) * mix.s_per_mm_right.value
                    + (at[2] - mass.h) * mix.s_per_mm_height.value)
    };
    let row = |&i: &usize| {
        let e = &on.ledger.entries[i];
        let side = |part: Option<unladen_vehicle::mass::Part>| part.map_or(0.0, |p| p.m * w([p.x, p.y, p.z]));
        Row {
            item: e.item.clone(),
            state: e.state.word(),
            kg: e.change.mass(),
            sd_kg: own_sd(e, &on.scales),
            origin: e.origin.word(),
            seconds: (e.rotating_inertia == 0.0).then(|| side(e.change.after) - side(e.change.before)),
            cost: e.cost,
            hours: e.hours,
        }
    };
    plan.rows.iter().map(row).collect()
}
