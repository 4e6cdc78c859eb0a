//! Which rows of a ledger are in the car, by its state and by name; whatever is named takes along what it can't be
//! without.

use unladen_study::ledger::selection::compatible;
use unladen_vehicle::entry::{Entry, State as Of};

use crate::error::Asked;
use crate::stands::state::{As, State, hint};

/// Rows against the weighing.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Rows {
    /// In the car, and not in its weighing; rising.
    pub on: Vec<usize>,
    /// In its weighing, and not in the car; rising.
    pub undone: Vec<usize>,
}

/// The rows of a state. `known`: other names that `--with` and `--without` may have, and that are no rows.
///
/// # Errors
/// [`Asked`] where there is no such name, or the rows can't be in the car together.
pub fn rows(entries: &[Entry], weighed_on: Option<i64>, state: &State, known: &[&str]) -> Result<Rows, Asked> {
    let done = |e: &Entry| e.state == Of::Done;
    let in_weighing = |e: &Entry| done(e) && e.day.zip(weighed_on).is_some_and(|(day, weighed)| day <= weighed);
    let mut there: Vec<bool> = match state.of {
        As::Weighed => entries.iter().map(in_weighing).collect(),
        As::Now => entries.iter().map(done).collect(),
        As::Planned | As::Ideas => {
            let chosen = compatible(entries, state.of.rows(), None).rows;
            (0..entries.len()).map(|i| chosen.contains(&i)).collect()
        }
    };
    let named = |option, names: &[String]| -> Result<Vec<usize>, Asked> {
        let rows = names.iter().filter(|name| !known.iter().any(|k| k.eq_ignore_ascii_case(name.trim())));
        Ok(rows.map(|name| find(entries, option, name, known)).collect::<Result<Vec<_>, _>>()?.concat())
    };
    let (with, without) = (named("--with", &state.with)?, named("--without", &state.without)?);
    if let Some(&both) = with.iter().find(|row| without.contains(row)) {
        return Err(Asked::CannotBe { item: entries[both].item.clone(), what: "it is both with and without".into() });
    }
    // What was to come may make way again; what is named stays.
    without.iter().for_each(|&row| there[row] = false);
    for &row in &with {
        put(entries, &mut there, row)?;
    }
    for &row in &without {
        take(entries, &mut there, row);
    }
    together(entries, &there, &with)?;
    let rows = |test: &dyn Fn(usize) -> bool| (0..entries.len()).filter(|&i| test(i)).collect();
    Ok(Rows {
        on: rows(&|i| there[i] && !in_weighing(&entries[i])),
        undone: rows(&|i| !there[i] && in_weighing(&entries[i])),
    })
}

/// The rows of this name: an item, or all of a group.
pub(crate) fn find(entries: &[Entry], option: &'static str, name: &str, known: &[&str]) -> Result<Vec<usize>, Asked> {
    let is = |known: &str| known.eq_ignore_ascii_case(name.trim());
    if let Some(row) = entries.iter().position(|e| is(&e.item)) {
        return Ok(vec![row]);
    }
    let group: Vec<usize> = (0..entries.len()).filter(|&i| entries[i].group.as_deref().is_some_and(is)).collect();
    if !group.is_empty() {
        return Ok(group);
    }
    let names = entries.iter().flat_map(|e| [Some(e.item.as_str()), e.group.as_deref()]).flatten();
    Err(Asked::NoSuchName { option, given: name.into(), hint: hint(name, names.chain(known.iter().copied())) })
}

fn group_of(entries: &[Entry], row: usize) -> impl Iterator<Item = usize> + '_ {
    let group = entries[row].group.as_ref();
    (0..entries.len()).filter(move |&i| i == row || group.is_some() && entries[i].group.as_ref() == group)
}

/// A row, its group, and what they need.
fn put(entries: &[Entry], there: &mut [bool], row: usize) -> Result<(), Asked> {
    let mut next: Vec<usize> = group_of(entries, row).collect();
    while let Some(i) = next.pop() {
        if std::mem::replace(&mut there[i], true) {
            continue;
        }
        next.extend(group_of(entries, i).filter(|&mate| !there[mate]));
        for need in &entries[i].needs {
            // Which of several is for the one who asks to say.
            if let [only] = need[..] {
                next.push(only);
            }
        }
    }
    Ok(())
}

/// A row, its group, and what can't be without them.
fn take(entries: &[Entry], there: &mut [bool], row: usize) {
    group_of(entries, row).for_each(|i| there[i] = false);
    loop {
        let lacks = |i: &usize| there[*i] && entries[*i].needs.iter().any(|need| !need.iter().any(|&n| there[n]));
        let Some(next) = (0..entries.len()).find(lacks) else { return };
        group_of(entries, next).for_each(|i| there[i] = false);
    }
}

/// Nothing excludes another, and what is named has what it needs.
fn together(entries: &[Entry], there: &[bool], with: &[usize]) -> Result<(), Asked> {
    let wrong = |i: usize, what: String| Err(Asked::CannotBe { item: entries[i].item.clone(), what });
    for i in (0..entries.len()).filter(|&i| there[i]) {
        if let Some(&other) = entries[i].excludes.iter().find(|&&j| there[j]) {
            let (one, other) = if with.contains(&other) { (other, i) } else { (i, other) };
            let item = &entries[other].item;
            return wrong(one, format!("it can't be in the car together with `{item}`; add --without \"{item}\""));
        }
        if let Some(need) = entries[i].needs.iter().find(|need| !need.iter().any(|&n| there[n])) {
            let names: Vec<String> = need.iter().map(|&n| format!("`{}`", entries[n].item)).collect();
            return wrong(i, format!("it can't be without {}; add one of them by --with", names.join(" or ")));
        }
    }
    match with.iter().find(|&&row| !there[row]) {
        Some(&row) => wrong(row, "what it can't be without was taken away".into()),
        None => Ok(()),
    }
}
