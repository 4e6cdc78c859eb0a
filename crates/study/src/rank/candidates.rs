//! What a ledger leaves to be decided: candidates, each with the rows that it can't be without, and how well their
//! masses are known.

use unladen_vehicle::Number;
use unladen_vehicle::entry::{Entry, Origin, Scale, State};

use crate::ledger::budget::own_sd;
use crate::ledger::selection::LeftOut;
use crate::uncertainty::alternative::Piece;
use crate::uncertainty::paired::Unknown;

/// A ledger for a study.
#[derive(Clone, Copy, Debug)]
pub struct Rows<'a> {
    /// Its rows.
    pub entries: &'a [Entry],
    /// What each changes besides mass, added to numbers of the car: wheel or engine inertia.
    pub adds: &'a [Vec<(Number, f64)>],
    /// Which other car each makes of this one; empty: none.
    pub becomes: &'a [Option<usize>],
    /// Scales that parts were weighed on.
    pub scales: &'a [Scale],
    /// Rows that are in the car and that its mass has not, rising.
    pub on: &'a [usize],
    /// Rows that its mass has and that are not in the car, rising.
    pub undone: &'a [usize],
    /// What of its mass sits elsewhere, whatever is decided.
    pub moved: &'a [Piece],
}

/// One thing to be decided: a row, or a group of rows that happen together.
#[derive(Clone, Debug, PartialEq)]
pub struct Candidate {
    /// The row's item, or the group's word.
    pub name: String,
    /// Its rows, rising.
    pub rows: Vec<usize>,
    /// Other rows that it can't be without and that are not done, rising.
    pub with: Vec<usize>,
    /// Of each list one row is needed besides, and which is somebody's choice: alone it can't be.
    pub either: Vec<Vec<usize>>,
}

/// What can be decided, and all pieces of the car.
#[derive(Clone, Debug, PartialEq)]
pub struct Plan {
    /// In the order of the ledger.
    pub candidates: Vec<Candidate>,
    /// Rows that can't be in the car, and why.
    pub left_out: Vec<(usize, LeftOut)>,
    /// The pieces that make the car as it stands: those of its rows, and what undoes others.
    pub done: Vec<usize>,
    /// One a row, then one for each row that is undone, and what is moved.
    pub pieces: Vec<Piece>,
    /// What is not known of their masses.
    pub own: Vec<Unknown>,
}

impl Candidate {
    /// All its rows, those that it needs included, rising.
    pub fn all(&self) -> Vec<usize> {
        let mut all: Vec<usize> = self.rows.iter().chain(&self.with).copied().collect();
        all.sort_unstable();
        all
    }
}

/// What can be done, from the rows of a ledger.
pub fn plan_of(rows: &Rows) -> Plan {
    let entries = rows.entries;
    let open = |i: usize| entries[i].state != State::Done;
    let mut units: Vec<Vec<usize>> = Vec::new();
    for i in (0..entries.len()).filter(|&i| open(i)) {
        let group = entries[i].group.as_ref();
        match units.iter_mut().find(|unit| group.is_some() && entries[unit[0]].group.as_ref() == group) {
            Some(unit) => unit.push(i),
            None => units.push(vec![i]),
        }
    }
    let (mut candidates, mut left_out) = (Vec::new(), Vec::new());
    for unit in &units {
        match needed(entries, &units, unit) {
            Ok(with) => candidates.push(Candidate {
                name: match &entries[unit[0]].group {
                    Some(group) if unit.len() > 1 => group.clone(),
                    _ => entries[unit[0]].item.clone(),
                },
                rows: unit.clone(),
                either: either(entries, unit, &with),
                with,
            }),
            Err(why) => left_out.extend(unit.iter().map(|&i| (i, why))),
        }
    }
    let (mut pieces, own) = pieces(rows);
    let undone = rows.undone.iter().map(|&i| pieces[i].undone()).collect::<Vec<_>>();
    pieces.extend(undone.into_iter().chain(rows.moved.iter().cloned()));
    let done = rows.on.iter().copied().chain(entries.len()..pieces.len()).collect();
    Plan { candidates, left_out, done, pieces, own }
}

/// Needs that several rows can meet and none does yet.
fn either(entries: &[Entry], unit: &[usize], with: &[usize]) -> Vec<Vec<usize>> {
    let there = |n: &usize| unit.contains(n) || with.contains(n) || entries[*n].state == State::Done;
    let needs = unit.iter().chain(with).flat_map(|&i| &entries[i].needs);
    needs.filter(|need| !need.iter().any(there)).cloned().collect()
}

/// Whether two rows can't be in the car together.
pub fn clash(entries: &[Entry], a: usize, b: usize) -> bool {
    entries[a].excludes.contains(&b) || entries[b].excludes.contains(&a)
}

/// What a unit can't be without, beyond itself and what is done.
fn needed(entries: &[Entry], units: &[Vec<usize>], unit: &[usize]) -> Result<Vec<usize>, LeftOut> {
    let mut all = unit.to_vec();
    let mut next = 0;
    while let Some(&i) = all.get(next) {
        next += 1;
        let open = |need: &&Vec<usize>| !need.iter().any(|&n| entries[n].state == State::Done);
        for need in entries[i].needs.iter().filter(open) {
            let &[only] = &need[..] else { continue };
            let whole = units.iter().find(|u| u.contains(&only));
            for &row in whole.into_iter().flatten() {
                if !all.contains(&row) {
                    all.push(row);
                }
            }
        }
    }
    for (k, &a) in all.iter().enumerate() {
        let others = all[..k].iter().copied();
        let done = (0..entries.len()).filter(|&d| entries[d].state == State::Done);
        if let Some(by) = others.chain(done).find(|&b| clash(entries, a, b)) {
            return Err(LeftOut::Excluded { by: if unit.contains(&by) { a } else { by } });
        }
    }
    let mut with: Vec<usize> = all.into_iter().filter(|i| !unit.contains(i)).collect();
    with.sort_unstable();
    Ok(with)
}

/// Each row as a piece, its mass off by its own error and by those of its scale; of a swap the difference is off, where
/// the new part is.
pub fn pieces(rows: &Rows) -> (Vec<Piece>, Vec<Unknown>) {
    let mut own: Vec<Unknown> = Vec::new();
    let mut add = |name: String, sd: f64, unit: &str| {
        own.push(Unknown { name, sd, unit: unit.into() });
        own.len() - 1
    };
    let scales: Vec<[(usize, f64); 2]> = rows
        .scales
        .iter()
        .map(|s| {
            let bias = add(format!("scale {}, bias", s.name), s.bias, "kg");
            [(bias, s.bias), (add(format!("scale {}, gain", s.name), s.gain, "1"), s.gain)]
        })
        .collect();
    let mut pieces = Vec::new();
    for (row, (entry, adds)) in rows.entries.iter().zip(rows.adds).enumerate() {
        let (before, after) = (entry.change.before, entry.change.after);
        let sd = own_sd(entry, rows.scales);
        let mut errors = Vec::new();
        if sd > 0.0 {
            let moved = before.zip(after).is_some_and(|(b, a)| (b.m - a.m).abs() < 1e-9);
            let on = if moved {
                [sd, sd]
            } else if after.is_some() {
                [0.0, sd]
            } else {
                [sd, 0.0]
            };
            errors.push((add(format!("mass of {}", entry.item), sd, "kg"), on));
        }
        let scale =
            rows.scales.iter().position(|s| entry.origin == Origin::Weighed && entry.scale.as_ref() == Some(&s.name));
        if let Some([(bias, kg), (gain, share)]) = scale.map(|i| scales[i]) {
            errors.push((bias, [kg; 2]));
            errors.push((gain, [before, after].map(|p| share * p.map_or(0.0, |p| p.m))));
        }
        errors.retain(|(_, kg)| *kg != [0.0; 2]);
        let becomes = rows.becomes.get(row).copied().flatten();
        pieces.push(Piece { change: entry.change, adds: adds.clone(), errors, becomes });
    }
    (pieces, own)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ledger::selection::tests::entry;

    fn of(entries: &[Entry], scales: &[Scale]) -> Plan {
        let adds = vec![Vec::new(); entries.len()];
        let on: Vec<usize> = (0..entries.len()).filter(|&i| entries[i].state == State::Done).collect();
        plan_of(&Rows { entries, adds: &adds, becomes: &[], scales, on: &on, undone: &[], moved: &[] })
    }

    const P: State = State::Planned;

    #[test]
    fn closed_form_groups_needs_and_what_excludes() {
        let mut rows: Vec<Entry> = ["a", "b", "c", "d", "e"].map(|name| entry(name, P, -3.0)).to_vec();
        (rows[0].group, rows[2].group) = (Some("g".into()), Some("g".into()));
        rows[1].needs = vec![vec![0]];
        rows[3].excludes = vec![4];
        rows[4].state = State::Done;
        let p = of(&rows, &[]);
        let names: Vec<(&str, Vec<usize>)> = p.candidates.iter().map(|c| (c.name.as_str(), c.all())).collect();
        assert_eq!(names, [("g", vec![0, 2]), ("b", vec![0, 1, 2])]);
        assert_eq!((p.left_out, p.done), (vec![(3, LeftOut::Excluded { by: 4 })], vec![4]));
        // What needs something that excludes it can never be.
        rows[1].excludes = vec![2];
        assert!(of(&rows, &[]).left_out.contains(&(1, LeftOut::Excluded { by: 2 })));
    }

    #[test]
    fn closed_form_a_scale_errs_alike_in_all_its_rows() {
        let scale = Scale { name: "bench".into(), resolution: 0.1, bias: 0.2, gain: 0.01 };
        let weighed = |kg| Entry { scale: Some("bench".into()), ..entry("x", P, kg) };
        let p = of(&[weighed(-5.0), weighed(4.0)], &[scale]);
        let sd = 0.1 / 12f64.sqrt();
        assert_eq!(p.pieces[0].errors, [(2, [sd, 0.0]), (0, [0.2, 0.2]), (1, [0.05, 0.0])]);
        assert_eq!(p.pieces[1].errors, [(3, [0.0, sd]), (0, [0.2, 0.2]), (1, [0.0, 0.04])]);
    }
}
