//! The fewest straight pieces that stay within a tolerance of a sampled function: dynamic programming over knots at the
//! samples, each at one of a few heights within its tolerance.

/// Heights that a knot may take within its tolerance.
const LEVELS: usize = 9;
/// A piece spans this many samples at most.
const REACH: usize = 400;
/// What a knot's distance from its sample costs against one piece: only to choose among equally few.
const NEARNESS: f64 = 1e-3;

/// A corner of the broken line.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Knot {
    /// Which sample.
    pub(crate) at: usize,
    /// Value there.
    pub(crate) value: f64,
}

#[derive(Clone, Copy)]
struct Best {
    cost: f64,
    from: (usize, usize),
}

fn level(l: usize) -> f64 {
    2.0 * l as f64 / (LEVELS - 1) as f64 - 1.0
}

/// A broken line with the fewest pieces that is within `tolerance` of `values` at every sample. It starts and ends at
/// the first and last value itself.
pub(crate) fn fewest(values: &[f64], tolerance: &[f64]) -> Vec<Knot> {
    let n = values.len();
    if n < 2 {
        return values.iter().map(|v| Knot { at: 0, value: *v }).collect();
    }
    let exact = |i: usize| i == 0 || i == n - 1;
    let value = |i: usize, l: usize| if exact(i) { values[i] } else { values[i] + level(l) * tolerance[i] };
    let levels = |i: usize| if exact(i) { LEVELS / 2..LEVELS / 2 + 1 } else { 0..LEVELS };
    let none = Best { cost: f64::INFINITY, from: (0, 0) };
    let mut best = vec![[none; LEVELS]; n];
    best[0][LEVELS / 2].cost = 0.0;
    // What the dearest level of a knot costs: whoever pays more for one piece betters none of them.
    let mut dearest = vec![f64::INFINITY; n];
    let nearness: [f64; LEVELS] = std::array::from_fn(|l| NEARNESS * level(l).abs());
    for i in 0..n - 1 {
        for l in levels(i) {
            let (cost, v) = (best[i][l].cost, value(i, l));
            if !cost.is_finite() {
                continue;
            }
            let (mut low, mut high) = (f64::NEG_INFINITY, f64::INFINITY);
            for j in i + 1..n.min(i + 1 + REACH) {
                let run = (j - i) as f64;
                if cost + 1.0 < dearest[j] {
                    for k in levels(j) {
                        let new = cost + 1.0 + nearness[k];
                        if new >= best[j][k].cost {
                            continue;
                        }
                        let slope = (value(j, k) - v) / run;
                        // A neighbour can always be reached.
                        if (slope >= low && slope <= high) || j == i + 1 {
                            best[j][k] = Best { cost: new, from: (i, l) };
                        }
                    }
                    dearest[j] = levels(j).map(|k| best[j][k].cost).fold(0.0, f64::max);
                }
                low = low.max((values[j] - tolerance[j] - v) / run);
                high = high.min((values[j] + tolerance[j] - v) / run);
                if low > high {
                    break;
                }
            }
        }
    }
    let mut knots = Vec::new();
    let mut at = (n - 1, LEVELS / 2);
    loop {
        knots.push(Knot { at: at.0, value: value(at.0, at.1) });
        if at.0 == 0 {
            break;
        }
        at = best[at.0][at.1].from;
    }
    knots.reverse();
    knots
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn on(knots: &[Knot], i: usize) -> f64 {
        let k = knots.partition_point(|k| k.at <= i).clamp(1, knots.len() - 1);
        let (a, b) = (knots[k - 1], knots[k]);
        a.value + (b.value - a.value) * (i - a.at) as f64 / (b.at - a.at) as f64
    }

    #[test]
    fn closed_form_a_trapezium_is_five_pieces() {
        let shape = |i: usize| match i {
            0..=20 => 0.0,
            21..=30 => (i - 20) as f64 * 0.1,
            31..=50 => 1.0,
            51..=60 => 1.0 - (i - 50) as f64 * 0.1,
            _ => 0.0,
        };
        let values: Vec<f64> = (0..80).map(shape).collect();
        let knots = fewest(&values, &[1e-6; 80]);
        assert_eq!(knots.iter().map(|k| k.at).collect::<Vec<_>>(), [0, 20, 30, 50, 60, 79]);
    }

    proptest! {
        #[test]
        fn property_within_tolerance_everywhere(values in proptest::collection::vec(-1.0..1.0f64, 2..60), tolerance in 0.0..1.5f64) {
            let knots = fewest(&values, &vec![tolerance; values.len()]);
            prop_assert_eq!((knots[0].at, knots[knots.len() - 1].at), (0, values.len() - 1));
            for i in 0..values.len() {
                prop_assert!((on(&knots, i) - values[i]).abs() <= tolerance + 1e-9);
            }
        }
    }
}
