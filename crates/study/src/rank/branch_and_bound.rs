//! The best set within a budget: branch and bound over candidates whose gains add up but for pairs.

/// Candidates and limits. Gains of pairs are what two do together beyond the sum of both.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Problem {
    /// s.
    pub gain: Vec<f64>,
    /// s; symmetric, zero on the diagonal.
    pub pair: Vec<Vec<f64>>,
    /// Money.
    pub cost: Vec<f64>,
    /// Work.
    pub hours: Vec<f64>,
    /// Change of mass.
    pub kg: Vec<f64>,
    /// Those that can't be together.
    pub excludes: Vec<(usize, usize)>,
    /// (one, of which others it can't be without one).
    pub needs: Vec<(usize, Vec<usize>)>,
    /// Those that must be in.
    pub keep: Vec<usize>,
    /// At most.
    pub most_cost: Option<f64>,
    /// At most.
    pub most_hours: Option<f64>,
    /// Change of mass at most: −30 for thirty kilograms to lose.
    pub most_kg: Option<f64>,
}

/// What was found.
#[derive(Clone, Debug, PartialEq)]
pub struct BestSets {
    /// The best sets, best first: gain and members, rising.
    pub sets: Vec<(f64, Vec<usize>)>,
    /// No set that is not among them has more than this, s.
    pub rest: f64,
    /// Every set was looked at or ruled out; else `rest` is a bound that may be far above all there is.
    pub complete: bool,
}

/// Sets looked at before the search gives up and says how good what it has can be.
const NODES: usize = 3_000_000;
/// Money, hours and kilograms may be over by rounding.
const ROUNDING: f64 = 1e-9;

/// The `count` best sets.
pub fn best_sets(problem: &Problem, count: usize) -> BestSets {
    let n = problem.gain.len();
    let positive: Vec<f64> = (0..n).map(|i| problem.pair[i].iter().map(|c| c.max(0.0)).sum()).collect();
    let most: Vec<f64> = (0..n).map(|i| problem.gain[i] + 0.5 * positive[i]).collect();
    let mut order: Vec<usize> = (0..n).collect();
    // What decides most first.
    order.sort_by(|&a, &b| most[b].abs().total_cmp(&most[a].abs()).then(a.cmp(&b)));
    let mut search = Search {
        p: problem,
        most,
        order,
        count,
        nodes: 0,
        found: Vec::new(),
        dropped: f64::NEG_INFINITY,
        unseen: f64::NEG_INFINITY,
    };
    search.go(0, &mut vec![None; n], Sum::default());
    let complete = search.nodes <= NODES;
    let rest = search.dropped.max(search.unseen);
    BestSets { sets: search.found, rest, complete }
}

#[derive(Clone, Copy, Default)]
struct Sum {
    gain: f64,
    cost: f64,
    hours: f64,
    kg: f64,
}

struct Search<'a> {
    p: &'a Problem,
    most: Vec<f64>,
    order: Vec<usize>,
    count: usize,
    nodes: usize,
    found: Vec<(f64, Vec<usize>)>,
    /// The most that a set which was ruled out, or pushed off the list, can have.
    dropped: f64,
    /// The same of what was not looked at for want of time.
    unseen: f64,
}

impl Search<'_> {
    fn go(&mut self, depth: usize, state: &mut Vec<Option<bool>>, sum: Sum) {
        if !self.can_be(depth, state, sum) {
            return;
        }
        let bound = self.bound(depth, state, sum);
        if self.found.len() == self.count && self.found.last().is_some_and(|worst| bound <= worst.0) {
            self.dropped = self.dropped.max(bound);
            return;
        }
        self.nodes += 1;
        if self.nodes > NODES {
            self.unseen = self.unseen.max(bound);
            return;
        }
        let Some(&i) = self.order.get(depth) else { return self.keep(state, sum.gain) };
        let together: f64 = (0..state.len()).filter(|&j| state[j] == Some(true)).map(|j| self.p.pair[i][j]).sum();
        let with = Sum {
            gain: sum.gain + self.p.gain[i] + together,
            cost: sum.cost + self.p.cost[i],
            hours: sum.hours + self.p.hours[i],
            kg: sum.kg + self.p.kg[i],
        };
        let ways = if self.most[i] > 0.0 { [true, false] } else { [false, true] };
        for into in ways {
            state[i] = Some(into);
            self.go(depth + 1, state, if into { with } else { sum });
        }
        state[i] = None;
    }

    /// Whether what is decided can still become a set.
    fn can_be(&self, depth: usize, state: &[Option<bool>], sum: Sum) -> bool {
        let p = self.p;
        let within =
            |have: f64, most: Option<f64>| most.is_none_or(|most| have <= most + ROUNDING * most.abs().max(1.0));
        let lightest: f64 = self.order[depth..].iter().map(|&i| p.kg[i].min(0.0)).sum();
        within(sum.cost, p.most_cost)
            && within(sum.hours, p.most_hours)
            && within(sum.kg + lightest, p.most_kg)
            && p.excludes.iter().all(|&(a, b)| !(state[a] == Some(true) && state[b] == Some(true)))
            && p.needs.iter().all(|(a, b)| state[*a] != Some(true) || b.iter().any(|&b| state[b] != Some(false)))
            && p.keep.iter().all(|&i| state[i] != Some(false))
    }

    /// The most that the undecided can add: each its gain, what it does with those that are in, and half of all that it
    /// may do with others; and of each limit only as much as it leaves room for, the last one in part (G. B. Dantzig,
    /// Operations Research 5(2), 1957).
    fn bound(&self, depth: usize, state: &[Option<bool>], sum: Sum) -> f64 {
        let p = self.p;
        let worth = |&i: &usize| -> f64 {
            let together: f64 =
                (0..state.len()).filter(|&j| state[j] == Some(true)).map(|j| p.pair[i][j].min(0.0)).sum();
            let positive: f64 =
                (0..state.len()).filter(|&j| state[j] == Some(true)).map(|j| 0.5 * p.pair[i][j].max(0.0)).sum();
            self.most[i] + positive + together
        };
        let left: Vec<(usize, f64)> =
            self.order[depth..].iter().map(|i| (*i, worth(i))).filter(|(_, worth)| *worth > 0.0).collect();
        let room = |used: f64, most: Option<f64>, of: &[f64]| -> f64 {
            let Some(most) = most else { return left.iter().map(|(_, worth)| worth).sum() };
            let mut room = (most - used).max(0.0);
            let mut by_price: Vec<(f64, f64)> = left.iter().map(|&(i, worth)| (of[i].max(0.0), worth)).collect();
            by_price.sort_by(|a, b| (a.0 * b.1).total_cmp(&(b.0 * a.1)));
            let take = |(price, worth): (f64, f64)| {
                let share = if price <= room { 1.0 } else { room / price };
                room -= share * price;
                share * worth
            };
            by_price.into_iter().map(take).sum()
        };
        sum.gain + room(sum.cost, p.most_cost, &p.cost).min(room(sum.hours, p.most_hours, &p.hours))
    }

    fn keep(&mut self, state: &[Option<bool>], gain: f64) {
        let members = (0..state.len()).filter(|&i| state[i] == Some(true)).collect();
        let at = self.found.partition_point(|f| f.0 >= gain);
        self.found.insert(at, (gain, members));
        if self.found.len() > self.count
            && let Some((gain, _)) = self.found.pop()
        {
            self.dropped = self.dropped.max(gain);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// All sets, written out.
    fn brute(p: &Problem) -> Vec<(f64, Vec<usize>)> {
        let n = p.gain.len();
        let mut all = Vec::new();
        for bits in 0..1usize << n {
            let set: Vec<usize> = (0..n).filter(|i| bits >> i & 1 == 1).collect();
            let has = |i: usize| bits >> i & 1 == 1;
            let sum = |of: &[f64]| set.iter().map(|&i| of[i]).sum::<f64>();
            let fits = |have: f64, most: Option<f64>| most.is_none_or(|m| have <= m + 1e-9 * m.abs().max(1.0));
            if fits(sum(&p.cost), p.most_cost)
                && fits(sum(&p.hours), p.most_hours)
                && fits(sum(&p.kg), p.most_kg)
                && p.excludes.iter().all(|&(a, b)| !(has(a) && has(b)))
                && p.needs.iter().all(|(a, b)| !has(*a) || b.iter().any(|&b| has(b)))
                && p.keep.iter().all(|&i| has(i))
            {
                let pairs: f64 =
                    set.iter().map(|&i| set.iter().filter(|&&j| j < i).map(|&j| p.pair[i][j]).sum::<f64>()).sum();
                all.push((sum(&p.gain) + pairs, set));
            }
        }
        all.sort_by(|a, b| b.0.total_cmp(&a.0));
        all
    }

    fn problem() -> impl Strategy<Value = Problem> {
        let n = 2usize..11;
        n.prop_flat_map(|n| {
            let numbers = |range: std::ops::Range<f64>| proptest::collection::vec(range, n);
            let indices = || proptest::collection::vec((0..n, 0..n), 0..4);
            let limits = (
                proptest::option::of(0.0..20.0f64),
                proptest::option::of(0.0..20.0f64),
                proptest::option::of(-40.0..10.0f64),
            );
            let pairs = proptest::collection::vec(-0.05..0.05f64, n * n);
            (
                numbers(-0.1..0.3),
                numbers(0.0..9.0),
                numbers(0.0..9.0),
                numbers(-15.0..10.0),
                pairs,
                indices(),
                indices(),
                limits,
                proptest::option::of(0..n),
            )
        })
        .prop_map(|(gain, cost, hours, kg, flat, excludes, needs, (most_cost, most_hours, most_kg), keep)| {
            let n = gain.len();
            let pair = (0..n)
                .map(|i| (0..n).map(|j| if i == j { 0.0 } else { flat[i.min(j) * n + i.max(j)] }).collect())
                .collect();
            let apart = |all: Vec<(usize, usize)>| all.into_iter().filter(|(a, b)| a != b).collect::<Vec<_>>();
            Problem {
                gain,
                pair,
                cost,
                hours,
                kg,
                excludes: apart(excludes),
                needs: apart(needs).into_iter().map(|(a, b)| (a, vec![b, (b + 1) % n])).collect(),
                keep: keep.into_iter().collect(),
                most_cost,
                most_hours,
                most_kg,
            }
        })
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(400))]

        #[test]
        fn independent_brute_force_has_the_same_best_sets(p in problem()) {
            let (all, found) = (brute(&p), best_sets(&p, 4));
            prop_assert!(found.complete);
            prop_assert_eq!(found.sets.len(), all.len().min(4));
            for (a, b) in all.iter().zip(&found.sets) {
                prop_assert!((a.0 - b.0).abs() < 1e-12, "{:?} {:?}", a, b);
            }
            prop_assert!(all.iter().skip(4).all(|a| a.0 <= found.rest + 1e-12));
        }
    }

    /// Twenty-five candidates are settled, not given up on.
    #[test]
    fn property_twenty_five_are_exact() {
        let n = 25;
        let value = |i: usize, by: f64| ((i as f64 * by).sin() + 1.1) * 0.1;
        let p = Problem {
            gain: (0..n).map(|i| value(i, 1.7)).collect(),
            pair: (0..n)
                .map(|i| (0..n).map(|j| if i == j { 0.0 } else { -1e-3 * value(i + j, 0.9) }).collect())
                .collect(),
            cost: (0..n).map(|i| 1000.0 * value(i, 2.3)).collect(),
            hours: (0..n).map(|i| 40.0 * value(i, 3.1)).collect(),
            kg: (0..n).map(|i| -50.0 * value(i, 1.1)).collect(),
            most_cost: Some(1000.0),
            most_hours: Some(45.0),
            ..Problem::default()
        };
        let found = best_sets(&p, 12);
        assert!(found.complete && found.sets.len() == 12);
    }
}
