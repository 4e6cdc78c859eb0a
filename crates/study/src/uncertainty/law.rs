//! The distribution of a difference, of draws that were lapped and of many more for which it is only guessed: the guess
//! tells most of each probability, and laps what it is off by (a control variate of every point of the distribution:
//! J. C. Hsu and B. L. Nelson, Management Science 36, 1990, from memory).

use crate::uncertainty::alone::{Alone, sum};
use crate::uncertainty::spread::quantile;

/// A distribution, known by weighed points: some of them count against it.
pub(crate) struct Law {
    /// Where and how much, rising.
    points: Vec<(f64, f64)>,
    /// Draws: (lapped, guessed). Empty without guesses.
    both: Vec<(f64, f64)>,
    lapped: Vec<f64>,
    /// Guesses without a lap: how many, and their variance.
    guesses: f64,
    spread: f64,
}

/// What is guessed of a difference: what the unknowns do alone, added up.
#[derive(Default)]
pub(crate) struct Guess {
    alone: Vec<Alone>,
    /// Of draws that nothing lapped, rising, and their variance.
    sums: Vec<f64>,
    spread: f64,
}

impl Guess {
    /// With draws that nothing laps.
    pub(crate) fn new(alone: Vec<Alone>, cheap: &[Vec<f64>]) -> Self {
        let mut sums: Vec<f64> = cheap.iter().map(|z| sum(&alone, z)).collect();
        sums.sort_by(f64::total_cmp);
        let spread = variance(sums.iter().copied());
        Self { alone, sums, spread }
    }
}

impl Law {
    /// Of what was lapped, nothing guessed.
    pub(crate) fn of_laps(lapped: impl Iterator<Item = f64>) -> Self {
        let mut lapped: Vec<f64> = lapped.collect();
        lapped.sort_by(f64::total_cmp);
        Self { points: Vec::new(), both: Vec::new(), lapped, guesses: 0.0, spread: 0.0 }
    }

    /// Of draws (what is off, lapped) and what is guessed of them and of many more. Laps alone where the guess is a poor
    /// one.
    pub(crate) fn guessed(drawn: &[(&[f64], f64)], guess: &Guess) -> Self {
        let plain = Self::of_laps(drawn.iter().map(|d| d.1));
        if guess.sums.is_empty() || drawn.len() < 2 {
            return plain;
        }
        let sums: Vec<f64> = drawn.iter().map(|(z, _)| sum(&guess.alone, z)).collect();
        let count = drawn.len() as f64;
        let mean = |of: &dyn Fn(usize) -> f64| (0..drawn.len()).map(of).sum::<f64>() / count;
        let (x, y) = (mean(&|i| sums[i]), mean(&|i| drawn[i].1));
        let over = mean(&|i| (sums[i] - x).powi(2));
        let beta = if over > 0.0 { mean(&|i| (sums[i] - x) * (drawn[i].1 - y)) / over } else { 0.0 };
        let mut left: Vec<f64> = drawn.iter().zip(&sums).map(|(d, s)| d.1 - beta * s).collect();
        left.sort_by(f64::total_cmp);
        let shift = quantile(&left, 0.5);
        let both: Vec<(f64, f64)> = drawn.iter().zip(&sums).map(|(d, s)| (d.1, shift + beta * s)).collect();
        let many = guess.sums.len() as f64;
        let mut points: Vec<(f64, f64)> = Vec::with_capacity(guess.sums.len() + 2 * drawn.len());
        points.extend(guess.sums.iter().map(|sum| (shift + beta * sum, 1.0 / many)));
        points.extend(both.iter().flat_map(|&(lapped, guessed)| [(lapped, 1.0 / count), (guessed, -1.0 / count)]));
        points.sort_by(|a, b| a.0.total_cmp(&b.0));
        let spread = beta * beta * guess.spread;
        let law = Self { points, both, lapped: plain.lapped, guesses: many, spread };
        let helps = [0.05, 0.5, 0.95].iter().map(|&q| law.variance(q, law.quantile(q)) / (q * (1.0 - q))).sum::<f64>();
        if helps < 3.0 { law } else { Self::of_laps(law.lapped.into_iter()) }
    }

    /// The least value that as much of it lies at or below.
    pub(crate) fn quantile(&self, q: f64) -> f64 {
        if self.points.is_empty() {
            return quantile(&self.lapped, q);
        }
        let mut below = 0.0;
        for &(x, weight) in &self.points {
            below += weight;
            if below >= q {
                return x;
            }
        }
        self.points.last().map_or(f64::NAN, |p| p.0)
    }

    /// How much of it lies above; of what lies right there, half.
    pub(crate) fn above(&self, x: f64) -> f64 {
        let part = |at: f64| f64::from(u8::from(at > x)) + 0.5 * f64::from(u8::from(at == x));
        if self.points.is_empty() {
            return self.lapped.iter().map(|&at| part(at)).sum::<f64>() / self.lapped.len() as f64;
        }
        self.points.iter().map(|&(at, weight)| weight * part(at)).sum::<f64>().clamp(0.0, 1.0)
    }

    /// Its standard deviation.
    pub(crate) fn sd(&self) -> f64 {
        if self.both.is_empty() {
            return variance(self.lapped.iter().copied()).sqrt();
        }
        let over = variance(self.both.iter().map(|b| b.0)) - variance(self.both.iter().map(|b| b.1));
        let left = variance(self.both.iter().map(|b| b.0 - b.1));
        // What laps add to the variance of the guess; never less than what they leave over of it.
        (self.spread + over.max(-left)).max(left).sqrt()
    }

    /// Variance, for one draw, of how much is found to lie at or below a place where the truth is `q`.
    fn variance(&self, q: f64, at: f64) -> f64 {
        let count = self.lapped.len() as f64;
        if self.both.is_empty() {
            // As if one more lay on either side: few draws on one prove little.
            let share = (q * count + 1.0) / (count + 2.0);
            return share * (1.0 - share);
        }
        let differ = self.both.iter().filter(|(lapped, guessed)| (*lapped <= at) != (*guessed <= at)).count();
        // As if one more had differed: none among few proves little.
        (differ as f64 + 1.0) / (self.both.len() as f64 + 2.0)
    }

    /// Of how much lies at or below a place.
    pub(crate) fn standard_error_of_share(&self, at: f64) -> f64 {
        let q = 1.0 - self.above(at);
        self.off(q, at)
    }

    fn off(&self, q: f64, at: f64) -> f64 {
        let guessed = if self.guesses > 0.0 { q * (1.0 - q) / self.guesses } else { 0.0 };
        (self.variance(q, at) / self.lapped.len() as f64 + guessed).sqrt()
    }

    /// Half of what lies between the quantiles a standard error below and above: how well a quantile is known
    /// (no distribution is assumed).
    pub(crate) fn standard_error(&self, q: f64) -> f64 {
        let off = self.off(q, self.quantile(q));
        0.5 * (self.quantile((q + off).min(1.0)) - self.quantile((q - off).max(0.0)))
    }
}

fn variance(all: impl Iterator<Item = f64>) -> f64 {
    let all: Vec<f64> = all.collect();
    let mean = all.iter().sum::<f64>() / all.len() as f64;
    all.iter().map(|x| (x - mean).powi(2)).sum::<f64>() / (all.len() as f64 - 1.0).max(1.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::uncertainty::draws::Draws;
    use statrs::distribution::{ContinuousCDF, Normal};

    fn draws(from: usize, to: usize) -> Vec<Vec<f64>> {
        (from..to).map(|i| vec![Draws::new(3, i).normal()]).collect()
    }

    /// A kinked and bent difference, of which the guess knows two points: quantiles as 10⁵ even shares of the normal distribution
    /// have them, within five standard errors; these are a fifth less than without a guess.
    #[test]
    fn closed_form_of_a_bent_difference() {
        let f = |z: f64| z + 0.15 * z * z + 0.3 * (z - 0.5).abs();
        let normal = Normal::standard();
        let mut truth: Vec<f64> = (0..100_000).map(|i| f(normal.inverse_cdf((f64::from(i) + 0.5) / 1e5))).collect();
        truth.sort_by(f64::total_cmp);
        let alone = [Alone::through([-1.0, 1.0].map(|z: f64| Some((z, f(z) - f(0.0))))).unwrap()];
        let (lapped, cheap) = (draws(0, 200), draws(1000, 5000));
        let drawn: Vec<(&[f64], f64)> = lapped.iter().map(|z| (&z[..], f(z[0]))).collect();
        let (law, plain) =
            (Law::guessed(&drawn, &Guess::new(alone.to_vec(), &cheap)), Law::of_laps(drawn.iter().map(|d| d.1)));
        for q in [0.05, 0.5, 0.95] {
            let (got, want, off) = (law.quantile(q), quantile(&truth, q), law.standard_error(q));
            assert!((got - want).abs() < 5.0 * off, "{q}: {got} {want} {off}");
        }
        let off = |law: &Law| [0.05, 0.5, 0.95].iter().map(|&q| law.standard_error(q)).sum::<f64>();
        assert!(off(&law) < 0.8 * off(&plain), "{} {}", off(&law), off(&plain));
        let above = truth.iter().filter(|x| **x > 0.2).count() as f64 / 1e5;
        assert!((law.above(0.2) - above).abs() < 5.0 * law.standard_error_of_share(0.2));
        let mean = truth.iter().sum::<f64>() / 1e5;
        let sd = (truth.iter().map(|x| (x - mean).powi(2)).sum::<f64>() / 1e5).sqrt();
        assert!((law.sd() / sd - 1.0).abs() < 0.1, "{} {sd}", law.sd());
    }

    /// A guess that has nothing to do with it is left out: what is left are the laps.
    #[test]
    fn property_a_poor_guess_is_none() {
        let all = draws(0, 100);
        let drawn: Vec<(&[f64], f64)> = all.iter().enumerate().map(|(i, z)| (&z[..], (i * 37 % 100) as f64)).collect();
        let alone = [Alone { slope: 1.0, ..Alone::default() }];
        let law = Law::guessed(&drawn, &Guess::new(alone.to_vec(), &draws(1000, 3000)));
        assert!(law.points.is_empty());
        assert_eq!((law.quantile(0.5), law.above(49.5)), (49.5, 0.5));
    }
}
