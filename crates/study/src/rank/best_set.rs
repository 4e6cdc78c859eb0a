//! The best set of planned changes within a budget: the candidates' gains, alone and in pairs, are lapped; the best
//! sets by these are found exactly, and lapped as a whole.

use rayon::prelude::*;

use crate::rank::branch_and_bound::{BestSets, Problem, best_sets};
use crate::rank::candidates::clash;
use crate::rank::{Ask, RankError, side};
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
    /// The best, then the runner-up; empty where nothing meets the budget.
    pub sets: Vec<Set>,
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

/// Sets that are lapped as a whole.
const LAPPED: usize = 24;
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
        (0..sides.len()).into_par_iter().map(|i| field.time(i, &zero)).collect()
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
    let top: Vec<&Vec<usize>> = tried.iter().take(2).map(|t| t.2).collect();
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
