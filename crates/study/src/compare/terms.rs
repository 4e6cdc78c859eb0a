//! Why one build is quicker: the groups of numbers in which two cars differ, exchanged one after another. In which
//! order would make a difference; so each group's part is its mean over all orders (the Shapley value), and the parts
//! add up.

use unladen_vehicle::Car;
pub use unladen_vehicle::car::Group;

use crate::input::leg::{Leg, mean_time};
use crate::threads::each;

/// The part that a group has in a difference.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Term {
    /// Which.
    pub group: Group,
    /// What it gains, s: the mean over all orders of exchanging; positive where the second car is quicker by it.
    pub gain_s: f64,
    /// The least and the most that it gains, whatever was exchanged before it.
    pub range_s: [f64; 2],
}

/// The parts of the difference in weighted mean lap time; they sum to it. `None` where a car half-way between the two
/// has no lap. 2ⁿ laps a track for n groups.
pub fn terms(cars: [&Car; 2], legs: &[Leg]) -> Option<Vec<Term>> {
    let groups = Group::between(cars);
    let n = groups.len();
    let time = |set: usize| {
        let mut car = cars[0].clone();
        for (_, group) in groups.iter().enumerate().filter(|(i, _)| set >> i & 1 == 1) {
            group.put(cars[1], &mut car);
        }
        mean_time(&car, legs, &[])
    };
    let times: Vec<f64> = each(1 << n, time).into_iter().collect::<Option<_>>()?;
    let term = |i: usize| {
        let (mut sum, mut range) = (0.0, [f64::INFINITY, f64::NEG_INFINITY]);
        for set in (0..1usize << n).filter(|set| set >> i & 1 == 0) {
            let gain = times[set] - times[set | 1 << i];
            range = [range[0].min(gain), range[1].max(gain)];
            sum += gain * weight(set.count_ones() as usize, n);
        }
        Term { group: groups[i], gain_s: sum, range_s: range }
    };
    Some((0..n).map(term).collect())
}

/// Share of the orders of n in which exactly such a set of k comes before: k! (n − k − 1)!/n!.
fn weight(k: usize, n: usize) -> f64 {
    let factorial = |n: usize| (1..=n).map(|i| i as f64).product::<f64>();
    factorial(k) * factorial(n - k - 1) / factorial(n)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn closed_form_weights_of_orders() {
        for n in 1..9 {
            // Over the subsets of the other n − 1 they sum to one.
            let sum: f64 = (0..1usize << (n - 1)).map(|set: usize| weight(set.count_ones() as usize, n)).sum();
            assert!((sum - 1.0).abs() < 1e-12);
        }
        assert!((weight(0, 3) - 1.0 / 3.0).abs() < 1e-15 && (weight(1, 3) - 1.0 / 6.0).abs() < 1e-15);
    }
}
