//! Which rows of a mass budget can be in the car together: groups whole, needs met, of what excludes each other the
//! lightest.

use unladen_vehicle::entry::{Entry, Origin, State};

/// Why a row is not counted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LeftOut {
    /// It excludes a row that is done or was chosen.
    Excluded {
        /// That row.
        by: usize,
    },
    /// It needs a row that is neither done nor chosen.
    Unmet {
        /// That row.
        needs: usize,
    },
    /// Another row of its group can't be.
    Group {
        /// That row.
        with: usize,
    },
}

/// Rows that can be in the car together.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Chosen {
    /// Those that are done and those that were chosen, rising.
    pub rows: Vec<usize>,
    /// Those that were asked for and can't be, rising.
    pub left_out: Vec<(usize, LeftOut)>,
}

/// Conflicts of more units than this are settled one by one, lightest first, not by trying all.
const TRIED: usize = 14;

/// All that is done, and of the rows in these states (with masses of this origin only, where one is given) what can be.
pub fn compatible(entries: &[Entry], states: &[State], only: Option<Origin>) -> Chosen {
    let excludes = |a: usize, b: usize| entries[a].excludes.contains(&b) || entries[b].excludes.contains(&a);
    let mut state: Vec<Option<LeftOut>> = vec![None; entries.len()];
    let wanted = |i: usize| {
        let e = &entries[i];
        e.state != State::Done && states.contains(&e.state) && only.is_none_or(|o| e.origin == o)
    };
    let asked: Vec<usize> = (0..entries.len()).filter(|&i| wanted(i)).collect();
    let done: Vec<usize> = (0..entries.len()).filter(|&i| entries[i].state == State::Done).collect();
    for &i in &asked {
        state[i] = done.iter().find(|&&d| excludes(i, d)).map(|&by| LeftOut::Excluded { by });
    }
    settle(entries, &asked, &mut state);
    for conflict in conflicts(entries, &asked, &state) {
        let best = lightest(entries, &conflict);
        for unit in conflict.iter().filter(|u| !best.contains(u)) {
            let by = best.iter().flat_map(|b| b.iter()).copied().find(|&b| unit.iter().any(|&u| excludes(u, b)));
            for &row in unit {
                let direct = best.iter().flat_map(|b| b.iter()).copied().find(|&b| excludes(row, b));
                state[row] = match (direct, by) {
                    (Some(by), _) => Some(LeftOut::Excluded { by }),
                    (None, _) => Some(LeftOut::Group { with: unit[0] }),
                };
            }
        }
    }
    settle(entries, &asked, &mut state);
    let mut rows: Vec<usize> = done.into_iter().chain(asked.iter().copied().filter(|&i| state[i].is_none())).collect();
    rows.sort_unstable();
    Chosen { rows, left_out: asked.into_iter().filter_map(|i| state[i].map(|why| (i, why))).collect() }
}

/// Drops rows whose needs or groups can't be met, until nothing more drops.
fn settle(entries: &[Entry], asked: &[usize], state: &mut [Option<LeftOut>]) {
    loop {
        let there: Vec<bool> = (0..entries.len())
            .map(|i| entries[i].state == State::Done || asked.contains(&i) && state[i].is_none())
            .collect();
        let mut dropped = false;
        for &i in asked {
            if state[i].is_some() {
                continue;
            }
            let unmet = entries[i].needs.iter().find(|&&n| !there[n]).map(|&needs| LeftOut::Unmet { needs });
            let group = entries[i].group.as_ref();
            let broken =
                (0..entries.len()).find(|&j| group.is_some() && entries[j].group.as_ref() == group && !there[j]);
            state[i] = unmet.or(broken.map(|with| LeftOut::Group { with }));
            dropped |= state[i].is_some();
        }
        if !dropped {
            return;
        }
    }
}

/// Units (groups, or rows of no group) that exclude each other, in connected sets.
fn conflicts(entries: &[Entry], asked: &[usize], state: &[Option<LeftOut>]) -> Vec<Vec<Vec<usize>>> {
    let mut units: Vec<Vec<usize>> = Vec::new();
    for &i in asked.iter().filter(|&&i| state[i].is_none()) {
        let group = entries[i].group.as_ref();
        match units.iter_mut().find(|u| group.is_some() && entries[u[0]].group.as_ref() == group) {
            Some(unit) => unit.push(i),
            None => units.push(vec![i]),
        }
    }
    let mut sets: Vec<Vec<Vec<usize>>> = Vec::new();
    for unit in units {
        let (touching, apart): (Vec<_>, Vec<_>) =
            sets.into_iter().partition(|set| set.iter().any(|other| clash(entries, &unit, other)));
        let mut set: Vec<Vec<usize>> = touching.into_iter().flatten().collect();
        set.push(unit);
        sets = apart;
        sets.push(set);
    }
    sets.retain(|set| set.len() > 1);
    sets
}

fn clash(entries: &[Entry], a: &[usize], b: &[usize]) -> bool {
    a.iter().any(|&i| b.iter().any(|&j| entries[i].excludes.contains(&j) || entries[j].excludes.contains(&i)))
}

/// The units of a conflict that can be together and leave the car lightest; of equals the earlier rows.
fn lightest(entries: &[Entry], set: &[Vec<usize>]) -> Vec<Vec<usize>> {
    let mass = |unit: &Vec<usize>| unit.iter().map(|&i| entries[i].change.mass()).sum::<f64>();
    let free = |chosen: &[usize]| {
        chosen.iter().enumerate().all(|(k, &a)| chosen[..k].iter().all(|&b| !clash(entries, &set[a], &set[b])))
    };
    let mut best: (f64, Vec<usize>) = (f64::INFINITY, Vec::new());
    if set.len() <= TRIED {
        for bits in 1..1usize << set.len() {
            let chosen: Vec<usize> = (0..set.len()).filter(|k| bits >> k & 1 == 1).collect();
            let sum = chosen.iter().map(|&k| mass(&set[k])).sum();
            if sum < best.0 - 1e-9 && free(&chosen) {
                best = (sum, chosen);
            }
        }
    } else {
        let mut order: Vec<usize> = (0..set.len()).collect();
        order.sort_by(|&a, &b| mass(&set[a]).total_cmp(&mass(&set[b])));
        for k in order {
            let mut more = best.1.clone();
            more.push(k);
            if free(&more) {
                best.1 = more;
            }
        }
    }
    best.1.into_iter().map(|k| set[k].clone()).collect()
}

#[cfg(test)]
pub(crate) mod tests {
    use super::*;
    use unladen_vehicle::change::Change;
    use unladen_vehicle::mass::Part;

    pub(crate) fn entry(item: &str, state: State, kg: f64) -> Entry {
        let part = Part::point(kg.abs(), 1.0, 0.0, 0.5);
        let change = if kg < 0.0 {
            Change { before: Some(part), after: None }
        } else {
            Change { before: None, after: Some(part) }
        };
        Entry {
            item: item.into(),
            area: None,
            state,
            change,
            origin: Origin::Weighed,
            sd: None,
            scale: None,
            rotating_inertia: 0.0,
            cost: None,
            hours: None,
            group: None,
            excludes: Vec::new(),
            needs: Vec::new(),
            day: None,
            note: String::new(),
        }
    }

    const P: State = State::Planned;

    #[test]
    fn closed_form_of_an_exclusive_pair_the_lighter() {
        let mut rows = vec![entry("a", P, 8.0), entry("b", P, 6.0), entry("c", P, -2.0)];
        rows[0].excludes = vec![1];
        let chosen = compatible(&rows, &[P], None);
        assert_eq!(chosen.rows, [1, 2]);
        assert_eq!(chosen.left_out, [(0, LeftOut::Excluded { by: 1 })]);
        rows[0].state = State::Done;
        assert_eq!(compatible(&rows, &[P], None).left_out, [(1, LeftOut::Excluded { by: 0 })]);
    }

    /// Two light ones beat the single heavier saving that excludes both.
    #[test]
    fn closed_form_the_lightest_set_not_the_lightest_row() {
        let mut rows = vec![entry("all", P, -10.0), entry("b", P, -6.0), entry("c", P, -7.0)];
        rows[0].excludes = vec![1, 2];
        assert_eq!(compatible(&rows, &[P], None).rows, [1, 2]);
    }

    #[test]
    fn closed_form_needs_and_groups() {
        let mut rows =
            vec![entry("a", P, -5.0), entry("b", State::Idea, -1.0), entry("c", P, -1.0), entry("d", P, -1.0)];
        rows[0].needs = vec![1];
        (rows[2].group, rows[3].group) = (Some("g".into()), Some("g".into()));
        rows[3].origin = Origin::Guessed;
        let chosen = compatible(&rows, &[P], None);
        assert_eq!((chosen.rows, chosen.left_out), (vec![2, 3], vec![(0, LeftOut::Unmet { needs: 1 })]));
        let measured = compatible(&rows, &[P], Some(Origin::Weighed));
        assert_eq!(measured.left_out, [(0, LeftOut::Unmet { needs: 1 }), (2, LeftOut::Group { with: 3 })]);
        assert_eq!(compatible(&rows, &[P, State::Idea], None).rows, [0, 1, 2, 3]);
    }

    #[test]
    fn property_many_in_conflict_are_settled_one_by_one() {
        let mut rows: Vec<Entry> = (0..30).map(|i| entry(&i.to_string(), P, -f64::from(i) - 1.0)).collect();
        for i in 1..30 {
            rows[i].excludes = vec![i - 1];
        }
        let chosen = compatible(&rows, &[P], None).rows;
        assert_eq!(chosen, (0..15).map(|i| 2 * i + 1).collect::<Vec<_>>());
    }
}
