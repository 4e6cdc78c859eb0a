//! Which rows of a mass budget can be in the car together: groups whole, needs met, of what excludes each other the
//! lightest.

use std::collections::{BTreeMap, BTreeSet, HashMap, HashSet};

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
        /// That row, of several the first.
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
    let mut plan = Plan::new(entries);
    let wanted =
        |e: &Entry| e.state != State::Done && states.contains(&e.state) && only.is_none_or(|origin| e.origin == origin);
    let asked: Vec<usize> = (0..entries.len()).filter(|&i| wanted(&entries[i])).collect();
    for &i in &asked {
        let done = plan.against[i].iter().find(|&&d| entries[d].state == State::Done);
        (plan.asked[i], plan.left_out[i]) = (true, done.map(|&by| LeftOut::Excluded { by }));
    }
    plan.settle();
    for conflict in plan.conflicts() {
        let best = plan.lightest(&conflict);
        let rows = best.iter().flat_map(|&k| &conflict[k]).enumerate();
        let place: HashMap<usize, usize> = rows.map(|(at, &row)| (row, at)).collect();
        for unit in conflict.iter().filter(|unit| !place.contains_key(&unit[0])) {
            for &row in unit {
                let by = plan.against[row].iter().filter(|b| place.contains_key(b)).min_by_key(|b| place[b]);
                let why = by.map_or(LeftOut::Group { with: unit[0] }, |&by| LeftOut::Excluded { by });
                plan.left_out[row] = Some(why);
            }
        }
    }
    plan.settle();
    let is_in = |&i: &usize| entries[i].state == State::Done || plan.is_chosen(i);
    let rows = (0..entries.len()).filter(is_in).collect();
    Chosen { rows, left_out: asked.into_iter().filter_map(|i| plan.left_out[i].map(|why| (i, why))).collect() }
}

/// What is known of the rows on the way; a ledger may have ten thousand, each in conflict with all.
struct Plan<'a> {
    entries: &'a [Entry],
    /// The rows that each excludes or is excluded by, rising.
    against: Vec<Vec<usize>>,
    /// Each row's group, by the first row that has it.
    group: Vec<Option<usize>>,
    asked: Vec<bool>,
    left_out: Vec<Option<LeftOut>>,
}

impl<'a> Plan<'a> {
    fn new(entries: &'a [Entry]) -> Self {
        let mut against = vec![Vec::new(); entries.len()];
        for (i, entry) in entries.iter().enumerate() {
            for &other in &entry.excludes {
                against[i].push(other);
                against[other].push(i);
            }
        }
        for rows in &mut against {
            rows.sort_unstable();
            rows.dedup();
        }
        let mut first = HashMap::new();
        let group = entries.iter().enumerate().map(|(i, e)| e.group.as_ref().map(|g| *first.entry(g).or_insert(i)));
        let (asked, left_out) = (vec![false; entries.len()], vec![None; entries.len()]);
        Plan { entries, against, group: group.collect(), asked, left_out }
    }

    fn is_chosen(&self, i: usize) -> bool {
        self.asked[i] && self.left_out[i].is_none()
    }

    /// Drops rows whose needs or groups can't be met, until nothing more drops.
    fn settle(&mut self) {
        loop {
            let rows = 0..self.entries.len();
            let there: Vec<bool> =
                rows.clone().map(|i| self.entries[i].state == State::Done || self.is_chosen(i)).collect();
            let mut lacks = HashMap::new();
            for i in rows.clone().filter(|&i| !there[i]) {
                self.group[i].map(|group| *lacks.entry(group).or_insert(i));
            }
            let mut dropped = false;
            for i in rows {
                if !self.is_chosen(i) {
                    continue;
                }
                let open = |need: &&Vec<usize>| !need.iter().any(|&n| there[n]);
                let unmet = self.entries[i].needs.iter().find(open).and_then(|need| need.first());
                let unmet = unmet.map(|&needs| LeftOut::Unmet { needs });
                let broken = self.group[i].and_then(|group| lacks.get(&group));
                self.left_out[i] = unmet.or(broken.map(|&with| LeftOut::Group { with }));
                dropped |= self.left_out[i].is_some();
            }
            if !dropped {
                return;
            }
        }
    }

    /// Units (groups, or rows of no group) that exclude each other, in connected sets.
    fn conflicts(&self) -> Vec<Vec<Vec<usize>>> {
        let mut units: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
        let chosen = (0..self.entries.len()).filter(|&i| self.is_chosen(i));
        let unit = |i: usize| self.group[i].unwrap_or(i);
        chosen.for_each(|i| units.entry(unit(i)).or_default().push(i));
        let mut sets = Vec::new();
        let mut seen = BTreeSet::new();
        for &start in units.keys() {
            if !seen.insert(start) {
                continue;
            }
            let (mut set, mut next) = (Vec::new(), vec![start]);
            while let Some(at) = next.pop() {
                set.push(at);
                let others = units[&at].iter().flat_map(|&i| &self.against[i]).filter(|&&j| self.is_chosen(j));
                next.extend(others.map(|&j| unit(j)).filter(|&j| seen.insert(j)));
            }
            set.sort_unstable();
            sets.push(set);
        }
        sets.retain(|set| set.len() > 1);
        sets.into_iter().map(|set| set.iter().map(|at| units[at].clone()).collect()).collect()
    }

    /// The units of a conflict that can be together and leave the car lightest; of equals the earlier rows.
    fn lightest(&self, set: &[Vec<usize>]) -> Vec<usize> {
        let mass: Vec<f64> = set.iter().map(|unit| unit.iter().map(|&i| self.entries[i].change.mass()).sum()).collect();
        let mut best: (f64, Vec<usize>) = (f64::INFINITY, Vec::new());
        if set.len() <= TRIED {
            let clash = |a: usize, b: usize| {
                set[a].iter().any(|&i| set[b].iter().any(|j| self.against[i].binary_search(j).is_ok()))
            };
            let clashes: Vec<usize> =
                (0..set.len()).map(|a| (0..set.len()).map(|b| usize::from(clash(a, b)) << b).sum()).collect();
            for bits in 1..1usize << set.len() {
                let chosen: Vec<usize> = (0..set.len()).filter(|k| bits >> k & 1 == 1).collect();
                let sum = chosen.iter().map(|&k| mass[k]).sum();
                if sum < best.0 - 1e-9 && chosen.iter().all(|&k| clashes[k] & bits & !(1 << k) == 0) {
                    best = (sum, chosen);
                }
            }
            return best.1;
        }
        let mut order: Vec<usize> = (0..set.len()).collect();
        order.sort_by(|&a, &b| mass[a].total_cmp(&mass[b]));
        let mut taken = HashSet::new();
        for k in order {
            if set[k].iter().flat_map(|&i| &self.against[i]).all(|j| !taken.contains(j)) {
                taken.extend(set[k].iter().copied());
                best.1.push(k);
            }
        }
        best.1
    }
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
        rows[0].needs = vec![vec![1]];
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

    /// What one row after another needs, what all exclude and what is one group: as many as a ledger may have.
    #[test]
    fn property_a_ledger_at_its_limit() {
        let mut rows: Vec<Entry> = (0..10_000).map(|i| entry(&i.to_string(), P, -1.0)).collect();
        for i in 1..4000 {
            rows[i].excludes = vec![0];
        }
        for i in 4000..7999 {
            rows[i].needs = vec![vec![i + 1]];
        }
        rows[7999].state = State::Idea;
        rows[8000..].iter_mut().for_each(|row| row.group = Some("g".into()));
        let chosen = compatible(&rows, &[P], None);
        // The first of equals stays, and all that it excludes goes.
        let kept: Vec<usize> = [0].into_iter().chain(8000..10_000).collect();
        assert_eq!(chosen.rows, kept);
        assert_eq!(chosen.left_out[0], (1, LeftOut::Excluded { by: 0 }));
        assert_eq!(chosen.left_out[3999], (4000, LeftOut::Unmet { needs: 4001 }));
    }
}
