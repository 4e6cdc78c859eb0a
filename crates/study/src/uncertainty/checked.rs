//! Which pairs need laps of their own in every draw, and for which something else will do: laps at a few draws, many
//! unknowns off at once, tell how far that is off. More of them where it is nearly too far.

use crate::threads::{each, each_of};
use crate::uncertainty::law::Guess;
use crate::uncertainty::paired::{Draw, Pairs, Sampling, off};
use crate::uncertainty::spread::Spread;
use crate::uncertainty::ways::{Lapped, Way, Ways};

/// Draws that are checked at once: a power of two.
const CHECKS: usize = 4;
/// Of what may scatter, so much is surely little enough after the first of them, and so much surely too much.
const SURELY: [f64; 2] = [0.5, 2.0];

/// What the checks came to.
pub(crate) struct Checked {
    /// The draws that were needed for it.
    pub(crate) taken: Vec<Draw>,
    /// Pairs that laps alone will do for.
    pub(crate) exact: Vec<bool>,
    rest: Rest,
}

impl Checked {
    /// Checks what stands in for the laps of these pairs, and says so in `ways.by`.
    pub(crate) fn of(ways: &mut Ways, pairs: &Pairs, nominal: &[f64], sampling: Sampling) -> Self {
        let all = pairs.wanted(|_| true);
        let samples = sampling.samples;
        let mut taken = drawn(ways, sampling, 0..CHECKS.min(samples), [&all, &all]);
        let guess = Guess::default();
        let scatter = |i: usize, taken: &[Draw]| {
            let spread = Spread { nominal, steps: &[], taken, guess: &guess, pair: pairs.all[i], exact: false };
            spread.scatter(i < pairs.wide)
        };
        let poor: Vec<usize> = (0..pairs.wide).filter(|&i| scatter(i, &taken) > 1.0).collect();
        let mut again = vec![false; all.len()];
        for side in poor.iter().flat_map(|&i| [pairs.all[i].0, pairs.all[i].1]) {
            again[side] = ways.by[side] == Way::Priced && !ways.is_base(side);
        }
        (0..again.len()).filter(|&side| again[side]).for_each(|side| ways.by[side] = Way::Rough);
        let ways = &*ways;
        let times = each_of(&taken, |draw| ways.instead(&again, draw.off()));
        taken.iter_mut().zip(times).for_each(|(draw, times)| {
            (0..again.len()).filter(|&side| again[side]).for_each(|side| draw.instead[side] = times[side]);
        });
        let scatters: Vec<f64> = (0..pairs.all.len()).map(|i| scatter(i, &taken)).collect();
        let open = |i: usize| scatters[i] > SURELY[0] && scatters[i] <= SURELY[1];
        let mut second = Vec::new();
        if (0..scatters.len()).any(open) && samples > CHECKS {
            let some = pairs.wanted(open);
            second = drawn(ways, sampling, CHECKS..(2 * CHECKS).min(samples), [&some, &some]);
        }
        let both = [&taken[..], &second].concat();
        let too_much = |i: usize| if open(i) { scatter(i, &both) > 1.0 } else { scatters[i] > 1.0 };
        let exact = (0..scatters.len()).map(too_much).collect();
        let rest = Rest::of(&mut taken);
        Self { taken, exact, rest }
    }

    /// Laps of everything.
    pub(crate) fn none(pairs: &Pairs) -> Self {
        Self { taken: Vec::new(), exact: vec![true; pairs.all.len()], rest: Rest(Vec::new()) }
    }

    /// More draws, up to so many, of pairs that are still open.
    pub(crate) fn draw(&mut self, ways: &Ways, pairs: &Pairs, sampling: Sampling, open: &[usize]) {
        let [exact, instead] = [true, false].map(|exact| pairs.wanted(|i| self.exact[i] == exact && open.contains(&i)));
        let from = self.taken.len();
        let mut more = drawn(ways, sampling, from..sampling.samples, [&exact, &instead]);
        more.iter_mut().enumerate().for_each(|(i, draw)| self.rest.onto(draw, from + i));
        self.taken.extend(more);
    }
}

/// Draws with the sides that are wanted, by laps and by what stands in for them.
fn drawn(
    ways: &Ways,
    sampling: Sampling,
    samples: std::ops::Range<usize>,
    [exact, instead]: [&Vec<bool>; 2],
) -> Vec<Draw> {
    let one = |sample: usize| {
        let z = off(ways.sides, sampling, sample);
        let (exact, instead) = (ways.exact(exact, z.as_deref()), ways.instead(instead, z.as_deref()));
        Draw { z: z.unwrap_or_default(), exact, instead }
    };
    each(samples.len(), |i| one(samples.start + i))
}

/// What stood in for laps was off by in the draws that checked it, side by side: later draws take it on in turn, so that
/// it is in their spread.
struct Rest(Vec<Vec<f64>>);

impl Rest {
    /// Of draws in which laps take the place of what stood in for them.
    fn of(checks: &mut [Draw]) -> Self {
        let one = |draw: &mut Draw| {
            let off = |(said, is): (&mut Lapped, &Lapped)| match (*said, *is) {
                (Lapped::In(time), Lapped::In(lapped)) => {
                    *said = *is;
                    lapped - time
                }
                _ => 0.0,
            };
            draw.instead.iter_mut().zip(&draw.exact).map(off).collect()
        };
        Self(checks.iter_mut().map(one).collect())
    }

    /// Onto the draw of this number.
    fn onto(&self, draw: &mut Draw, sample: usize) {
        let Some(rest) = self.0.get(sample % self.0.len().max(1)) else { return };
        for (time, rest) in draw.instead.iter_mut().zip(rest) {
            if let Lapped::In(time) = time {
                *time += rest;
            }
        }
    }
}
