//! The best set of planned changes within a budget: the candidates' gains, alone and in pairs, are lapped; the best
//! sets by these are found exactly, and lapped as a whole.

use crate::rank::branch_and_bound::{BestSets, Problem, best_sets};
use crate::rank::candidates::clash;
use crate::rank::{Ask, RankError, side};
use crate::threads::each;
use crate::uncertainty::alternative::{Alternative, Alternatives};
use crate::uncertainty::paired::{Sides, paired};
use crate::uncertainty::spread::Difference;

/// A budget.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Budget {
    /// Money at most.
    pub cost: Option<f64>,
    /// Work at most.
    pub hours: Option<f64>,
    /// Change of mass at most, kg: −30 for thirty kilograms to lose.
    pub kg: Option<f64>,
    /// Candidates that must be in.
    pub keep: Vec<usize>,
    /// Money and hours that there are in a month.
    pub month: [Option<f64>; 2],
}

/// A step of the plan: what is done together, and where the car stands then.
#[derive(Clone, Debug, PartialEq)]
pub struct Step {
    /// Candidates of the plan: one, and what it can't be without that is not done yet.
    pub candidates: Vec<usize>,
    /// Money and hours of it.
    pub cost: f64,
    /// Work.
    pub hours: f64,
    /// What it gains on top of the steps before it, s.
    pub gain_s: f64,
    /// What all steps so far gain, s.
    pub so_far_s: f64,
    /// The month in which money and hours suffice for it, from 1; none where nobody said what there is in one.
    pub month: Option<u32>,
}

/// A set of candidates.
#[derive(Clone, Debug, PartialEq)]
pub struct Set {
    /// Candidates of the plan, rising.
    pub candidates: Vec<usize>,
    /// Change of mass, kg.
    pub kg: f64,
    /// Money and hours of the rows that state any.
    pub cost: f64,
    /// Work.
    pub hours: f64,
    /// What it gains against the car as it stands.
    pub gain: Difference,
}

/// The best sets within a budget.
#[derive(Clone, Debug, PartialEq)]
pub struct WithinBudget {
    /// The best, then the best of those that differ from it in substance; empty where nothing meets the budget.
    pub sets: Vec<Set>,
    /// In which order to do the best: what gains most for its money and hours first.
    pub order: Vec<Step>,
    /// The best against the runner-up.
    pub ahead: Option<Difference>,
    /// No other set gains more than this, s; `None` where all were lapped.
    pub rest_s: Option<f64>,
    /// The best is that, by laps: no other set can gain more.
    pub exact: bool,
    /// Sets that were lapped, and the most that their laps differ from what pairs add up to, s.
    pub lapped: usize,
    /// See `lapped`.
    pub off_s: f64,
    /// Where nothing meets the budget: the most that mass can change within money and hours, kg; `None` where not even
    /// what must be kept fits.
    pub lightest_kg: Option<f64>,
}

/// Sets that are looked at where one candidate of the best is missing.
const WITHOUT: usize = 3;
/// Sets that are lapped as a whole.
const LAPPED: usize = 24;
/// Two sets are one decision where what only one of them has gains, change by change, less than this share of the best.
const SUBSTANCE: f64 = 0.1;
/// With more candidates than this, pairs are not lapped but gains added up.
const PAIRED: usize = 40;

pub(crate) fn within_budget(ask: &Ask, wanted: &Budget, alone: &[f64]) -> Result<WithinBudget, RankError> {
    let candidates = &ask.plan.candidates;
    let n = candidates.len();
    let clashing = |a: usize, b: usize| {
        let rows = |c: usize| candidates[c].rows.iter().copied();
        let becomes = |row: usize| ask.plan.pieces[row].becomes;
        let two_cars = |i: usize, j: usize| becomes(i).zip(becomes(j)).is_some_and(|(one, other)| one != other);
        rows(a).any(|i| rows(b).any(|j| clash(ask.entries, i, j) || two_cars(i, j)))
    };
    let excludes: Vec<(usize, usize)> =
        (0..n).flat_map(|a| (0..a).map(move |b| (a, b))).filter(|&(a, b)| clashing(a, b)).collect();
    if let Some(&(a, b)) = excludes.iter().find(|(a, b)| wanted.keep.contains(a) && wanted.keep.contains(b)) {
        return Err(RankError::Exclusive { a: candidates[b].name.clone(), b: candidates[a].name.clone() });
    }
    let with_row = |rows: &[usize]| -> Vec<usize> {
        (0..n).filter(|&b| candidates[b].rows.iter().any(|row| rows.contains(row))).collect()
    };
    let mut needs: Vec<(usize, Vec<usize>)> = Vec::new();
    for (a, candidate) in candidates.iter().enumerate() {
        needs.extend(with_row(&candidate.with).into_iter().map(|b| (a, vec![b])));
        needs.extend(candidate.either.iter().map(|rows| (a, with_row(rows))));
    }
    let sum = |c: usize, of: &dyn Fn(usize) -> f64| candidates[c].rows.iter().map(|&r| of(r)).sum::<f64>() + 0.0;
    let all = |of: &dyn Fn(usize) -> f64| (0..n).map(|c| sum(c, of)).collect::<Vec<f64>>();
    let mut problem = Problem {
        gain: alone.to_vec(),
        pair: vec![vec![0.0; n]; n],
        cost: all(&|r| ask.entries[r].cost.unwrap_or(0.0)),
        hours: all(&|r| ask.entries[r].hours.unwrap_or(0.0)),
        kg: all(&|r| ask.entries[r].change.mass()),
        excludes,
        needs,
        keep: wanted.keep.clone(),
        most_cost: wanted.cost,
        most_hours: wanted.hours,
        most_kg: wanted.kg,
    };
    let rows = |set: &[usize]| -> Vec<usize> {
        let mut rows: Vec<usize> = set.iter().flat_map(|&c| candidates[c].rows.iter().copied()).collect();
        rows.sort_unstable();
        rows
    };
    let times = |sets: &[Vec<usize>]| -> Vec<Option<f64>> {
        let sides: Vec<Alternative> = sets.iter().map(|set| side(ask.plan, &rows(set))).collect();
        let field = field(ask, &sides);
        let zero = vec![0.0; field.unknowns().len()];
        each(sides.len(), |i| field.time(i, &zero))
    };
    let base = times(&[Vec::new()]).pop().flatten().unwrap_or(f64::NAN);
    if n <= PAIRED {
        let pairs: Vec<Vec<usize>> = (0..n)
            .flat_map(|a| (0..a).map(move |b| vec![b, a]))
            .filter(|p| !problem.excludes.contains(&(p[1], p[0])))
            .collect();
        for (pair, time) in pairs.iter().zip(times(&pairs)) {
            let (b, a) = (pair[0], pair[1]);
            let together = time.map_or(0.0, |time| base - time - alone[a] - alone[b]);
            (problem.pair[a][b], problem.pair[b][a]) = (together, together);
        }
    }
    let BestSets { sets, rest, complete } = best_sets(&problem, LAPPED);
    let sets: Vec<(f64, Vec<usize>)> = sets;
    let lapped = times(&sets.iter().map(|s| s.1.clone()).collect::<Vec<_>>());
    let mut tried: Vec<(f64, f64, &Vec<usize>)> =
        sets.iter().zip(lapped).filter_map(|((model, set), time)| Some((base - time?, *model, set))).collect();
    tried.sort_by(|a, b| b.0.total_cmp(&a.0));
    let off_s = tried.iter().map(|(lap, model, _)| (lap - model).abs()).fold(0.0, f64::max);
    let rest_s = Some(rest + off_s).filter(|s| s.is_finite());
    let mut found_sets = WithinBudget {
        exact: complete && tried.first().is_some_and(|t| rest_s.is_none_or(|rest_s| t.0 >= rest_s)),
        sets: Vec::new(),
        order: Vec::new(),
        ahead: None,
        rest_s,
        lapped: tried.len(),
        off_s,
        lightest_kg: None,
    };
    if tried.is_empty() {
        let gain = problem.kg.iter().map(|kg| -kg).collect();
        let lightest = Problem { gain, pair: vec![vec![0.0; n]; n], most_kg: None, ..problem };
        found_sets.lightest_kg = best_sets(&lightest, 1).sets.first().map(|s| -s.0);
        return Ok(found_sets);
    }
    let best = tried[0].2.clone();
    let gain = tried[0].0;
    let differs = |set: &[usize]| {
        let only = (0..n).filter(|c| best.contains(c) != set.contains(c)).map(|c| alone[c].abs());
        only.sum::<f64>() >= SUBSTANCE * gain.abs()
    };
    let mut others: Vec<Vec<usize>> = tried.iter().map(|t| t.2.clone()).collect();
    for &without in best.iter().filter(|c| !wanted.keep.contains(c)) {
        // Excluded by itself, it can't be in.
        let excludes = problem.excludes.iter().copied().chain([(without, without)]).collect();
        others.extend(best_sets(&Problem { excludes, ..problem.clone() }, WITHOUT).sets.into_iter().map(|s| s.1));
    }
    others.retain(|set| differs(set));
    others.sort_unstable();
    others.dedup();
    let clocked = times(&others);
    let runner_up = others.iter().zip(clocked).filter_map(|(set, time)| Some((base - time?, set)));
    let runner_up = runner_up.max_by(|a, b| a.0.total_cmp(&b.0)).map(|(_, set)| set);
    let top: Vec<&Vec<usize>> = std::iter::once(&best).chain(runner_up).collect();
    let need = Needs { needs: &problem.needs, cost: &problem.cost, hours: &problem.hours };
    found_sets.order = need.order(&best, wanted.month, base, &|set| times(&[set.to_vec()]).pop().flatten());
    let sides: Vec<Alternative> =
        std::iter::once(side(ask.plan, &[])).chain(top.iter().map(|set| side(ask.plan, &rows(set)))).collect();
    let pairs = [(1, 0), (2, 0), (1, 2)];
    let asked = if top.len() == 2 { &pairs[..] } else { &pairs[..1] };
    let found = paired(&field(ask, &sides), asked, ask.sampling)
        .map_err(|_| RankError::Impossible { name: "the best set".into() })?;
    found_sets.ahead = found.differences.get(2).cloned();
    found_sets.sets = top
        .iter()
        .zip(&found.differences)
        .map(|(set, gain)| Set {
            candidates: (*set).clone(),
            kg: set.iter().map(|&c| problem.kg[c]).sum::<f64>() + 0.0,
            cost: set.iter().map(|&c| problem.cost[c]).sum::<f64>() + 0.0,
            hours: set.iter().map(|&c| problem.hours[c]).sum::<f64>() + 0.0,
            gain: gain.clone(),
        })
        .collect();
    Ok(found_sets)
}

fn field<'a>(ask: &Ask<'a>, sides: &'a [Alternative]) -> Alternatives<'a> {
    Alternatives::new((ask.car, ask.inputs, ask.others), ask.legs, (&ask.plan.pieces, &ask.plan.own), sides)
}

/// What a set needs in which order, and what it takes.
struct Needs<'a> {
    needs: &'a [(usize, Vec<usize>)],
    cost: &'a [f64],
    hours: &'a [f64],
}

impl Needs<'_> {
    /// A candidate of a set and what of the set it can't be without, less what is done.
    fn bundle(&self, set: &[usize], done: &[usize], first: usize) -> Vec<usize> {
        let mut all = vec![first];
        let mut next = 0;
        while let Some(&c) = all.get(next) {
            next += 1;
            for (_, one_of) in self.needs.iter().filter(|(a, _)| *a == c) {
                let met = one_of.iter().any(|b| done.contains(b) || all.contains(b));
                if !met && let Some(&needed) = one_of.iter().find(|b| set.contains(b)) {
                    all.push(needed);
                }
            }
        }
        all.sort_unstable();
        all
    }

    /// The order in which the gain so far, summed over the months, comes out large: what gains most for what it takes
    /// first (W. E. Smith, Naval Research Logistics Quarterly 3, 1956), lapped on top of what is done. What it takes is
    /// its share of a month, or where nobody said what there is in one, of all that the set takes.
    fn order(
        &self,
        set: &[usize],
        month: [Option<f64>; 2],
        base_s: f64,
        time: &dyn Fn(&[usize]) -> Option<f64>,
    ) -> Vec<Step> {
        let sum = |of: &[f64], which: &[usize]| which.iter().map(|&c| of[c]).sum::<f64>() + 0.0;
        let all = [sum(self.cost, set), sum(self.hours, set)];
        let share = |amount: f64, there: f64| if there > 0.0 { amount / there } else { 0.0 };
        let takes = |cost: f64, hours: f64| match month {
            [None, None] => share(cost, all[0]) + share(hours, all[1]),
            [money, work] => {
                let of = |amount, there: Option<f64>| there.map_or(0.0, |there| share(amount, there));
                of(cost, money).max(of(hours, work))
            }
        };
        let (mut steps, mut done, mut so_far_s): (Vec<Step>, Vec<usize>, f64) = (Vec::new(), Vec::new(), 0.0);
        let mut spent = [0.0; 2];
        while done.len() < set.len() {
            let mut best: Option<(f64, Step)> = None;
            let mut seen: Vec<Vec<usize>> = Vec::new();
            for &first in set.iter().filter(|c| !done.contains(c)) {
                let candidates = self.bundle(set, &done, first);
                if seen.contains(&candidates) {
                    continue;
                }
                let mut then: Vec<usize> = done.iter().chain(&candidates).copied().collect();
                then.sort_unstable();
                let gained_s = time(&then).map_or(so_far_s, |time| base_s - time);
                let (cost, hours) = (sum(self.cost, &candidates), sum(self.hours, &candidates));
                let gain_s = gained_s - so_far_s;
                // What takes nothing comes first where it gains, and last where it loses.
                let worth = gain_s / takes(cost, hours).max(1e-9);
                if best.as_ref().is_none_or(|(most, _)| worth > *most) {
                    let step =
                        Step { candidates: candidates.clone(), cost, hours, gain_s, so_far_s: gained_s, month: None };
                    best = Some((worth, step));
                }
                seen.push(candidates);
            }
            let Some((_, mut step)) = best else { break };
            so_far_s = step.so_far_s;
            spent = [spent[0] + step.cost, spent[1] + step.hours];
            let months = [0, 1].map(|i| month[i].map_or(0.0, |there| share(spent[i], there)));
            let last = months[0].max(months[1]);
            step.month = (month != [None, None]).then(|| ((last - 1e-9).ceil().max(1.0)) as u32);
            done.extend(&step.candidates);
            steps.push(step);
        }
        steps
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Gains add up: 3 for 100, 4 for 400, and 2 for 50 that can't be without one that gains nothing and takes 50.
    #[test]
    fn closed_form_what_gains_most_for_its_money_comes_first() {
        let gains = [3.0, 4.0, 2.0, 0.0];
        let needs = [(2, vec![3])];
        let need = Needs { needs: &needs, cost: &[100.0, 400.0, 50.0, 50.0], hours: &[0.0; 4] };
        let time = |set: &[usize]| Some(100.0 - set.iter().map(|&c| gains[c]).sum::<f64>());
        let order = need.order(&[0, 1, 2, 3], [Some(200.0), None], 100.0, &time);
        let told: Vec<(Vec<usize>, f64, Option<u32>)> =
            order.iter().map(|s| (s.candidates.clone(), s.so_far_s, s.month)).collect();
        assert_eq!(told, [(vec![0], 3.0, Some(1)), (vec![2, 3], 5.0, Some(1)), (vec![1], 9.0, Some(3))]);
        assert!(need.order(&[0], [None; 2], 100.0, &time)[0].month.is_none());
    }
}
