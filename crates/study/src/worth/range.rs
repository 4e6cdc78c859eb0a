//! How far one figure may be off, by what laps say of it.

use crate::uncertainty::alone::Alone;
use crate::uncertainty::spread::{NINETY, quantile};

/// Joint draws with which slopes are checked.
pub(crate) const CHECKS: usize = 16;
/// Slopes hold where laps differ from them by no more than this share of the standard deviation.
const BENT: f64 = 0.1;
/// A standard deviation is known well enough when its own standard error is below this share of it: an end of the
/// interval then to a twentieth of its width, as wherever else draws are taken.
const SETTLED: f64 = 0.1;

/// How far a figure may be off.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Range {
    /// One standard deviation.
    pub(crate) sd: f64,
    /// The 90 % interval.
    pub(crate) interval: [f64; 2],
    /// The share of each unknown in the variance, by its number, largest first; one at a time.
    pub(crate) shares: Vec<(usize, f64)>,
}

/// So many standard deviations, taken from the middle nine tenths, beyond the middle a value is brought back: a derivative right
/// at a kink may be anything, and one such lap would decide the whole.
const WILD: f64 = 5.0;

/// The values with wild ones brought back.
pub(crate) fn clipped(mut values: Vec<f64>) -> Vec<f64> {
    if values.is_empty() {
        return values;
    }
    let mut sorted = values.clone();
    sorted.sort_by(f64::total_cmp);
    let [low, middle, high] = [0.05, 0.5, 0.95].map(|q| quantile(&sorted, q));
    let most = WILD * (high - low) / (2.0 * NINETY);
    values.iter_mut().for_each(|x| *x = x.clamp(middle - most, middle + most));
    values
}

/// One figure, less what it is with nothing off.
pub(crate) struct Figure {
    pub(crate) nominal: f64,
    pub(crate) error: f64,
    pub(crate) alone: Vec<Alone>,
    /// By draw: the sum of what the unknowns do alone, and what the laps say.
    pub(crate) drawn: Vec<(f64, f64)>,
    /// What slopes alone say of the same draws.
    pub(crate) straight: Vec<f64>,
    /// The sum for many draws without a lap.
    pub(crate) cheap: Vec<f64>,
}

impl Figure {
    fn slopes_sd(&self) -> f64 {
        self.alone.iter().map(|a| a.slope * a.slope).sum::<f64>().sqrt()
    }

    /// Root mean square of what laps differ from the slopes by: unknowns alone, and draws.
    fn off_slopes(&self) -> [f64; 2] {
        let alone: f64 = self.alone.iter().map(|a| a.off).sum();
        let square = |((_, lap), said): (&(f64, f64), &f64)| (lap - said).powi(2);
        let drawn: f64 = self.drawn.iter().zip(&self.straight).map(square).sum();
        [alone.sqrt(), (drawn / (self.drawn.len() as f64).max(1.0)).sqrt()]
    }

    /// Do slopes hold?
    fn holds(&self) -> bool {
        let allowed = BENT * self.slopes_sd() + self.error;
        self.drawn.len() >= CHECKS / 2 && self.off_slopes().iter().all(|&off| off <= allowed)
    }

    /// The line of the laps over the sum, and what is left over, draw by draw.
    fn left_over(&self) -> (f64, Vec<f64>) {
        let means = mean(self.drawn.iter().map(|d| d.0)).zip(mean(self.drawn.iter().map(|d| d.1)));
        let Some((x, y)) = means else { return (0.0, Vec::new()) };
        let over: f64 = self.drawn.iter().map(|d| (d.0 - x).powi(2)).sum();
        let both: f64 = self.drawn.iter().map(|d| (d.0 - x) * (d.1 - y)).sum();
        let beta = if over > 0.0 { both / over } else { 0.0 };
        (beta, self.drawn.iter().map(|d| d.1 - beta * d.0).collect())
    }

    /// Is its standard deviation known well enough? The standard error of one found with a control variate is
    /// √((κ − 1)(1 − ρ⁴)/4n) of it: κ the kurtosis, ρ the correlation with the sum (both normal: √((1 − ρ⁴)/2n)).
    pub(crate) fn settled(&self) -> bool {
        if self.holds() {
            return true;
        }
        let count = self.drawn.len() as f64;
        let Some(middle) = mean(self.drawn.iter().map(|d| d.1)) else { return false };
        let moment = |p: i32| self.drawn.iter().map(|d| (d.1 - middle).powi(p)).sum::<f64>() / count;
        let variance = moment(2);
        if variance.sqrt() <= self.error {
            return true;
        }
        let (_, rest) = self.left_over();
        let unexplained = variance_of(&rest) / variance;
        let kurtosis = (moment(4) / (variance * variance)).max(3.0);
        let square = (kurtosis - 1.0) * (1.0 - (1.0 - unexplained.min(1.0)).powi(2)) / (4.0 * count);
        square.sqrt() <= SETTLED
    }

    pub(crate) fn range(&self) -> Range {
        let shares = self.shares();
        let normal =
            |sd: f64| Range { sd, interval: [-NINETY, NINETY].map(|z| self.nominal + z * sd), shares: Vec::new() };
        let found = if self.holds() || self.drawn.len() < 2 {
            normal(self.slopes_sd().hypot(self.off_slopes()[1]))
        } else {
            let (beta, rest) = self.left_over();
            let one = |(i, sum): (usize, &f64)| self.nominal + beta * sum + rest[i % rest.len()];
            let mut all: Vec<f64> = self.cheap.iter().enumerate().map(one).collect();
            all.sort_by(f64::total_cmp);
            let sums: Vec<f64> = self.cheap.iter().map(|sum| beta * sum).collect();
            let sd = (variance_of(&sums) + variance_of(&rest)).sqrt();
            Range { sd, interval: [0.05, 0.95].map(|q| quantile(&all, q)), shares: Vec::new() }
        };
        Range { shares, ..found }
    }

    fn shares(&self) -> Vec<(usize, f64)> {
        let whole: f64 = self.alone.iter().map(|a| a.square).sum();
        let mut shares: Vec<(usize, f64)> =
            self.alone.iter().map(|a| a.square / whole).enumerate().filter(|(_, share)| *share >= 1e-3).collect();
        shares.sort_by(|a, b| b.1.total_cmp(&a.1));
        shares
    }
}

fn mean(all: impl Iterator<Item = f64>) -> Option<f64> {
    let (count, sum) = all.fold((0usize, 0.0), |(n, sum), x| (n + 1, sum + x));
    (count > 0).then(|| sum / count as f64)
}

fn variance_of(all: &[f64]) -> f64 {
    let Some(middle) = mean(all.iter().copied()) else { return 0.0 };
    all.iter().map(|x| (x - middle).powi(2)).sum::<f64>() / (all.len() as f64 - 1.0).max(1.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn closed_form_wild_values_are_brought_back() {
        let mut values: Vec<f64> = (0..1000).map(|i| f64::from(i) / 999.0).collect();
        assert_eq!(clipped(values.clone()), values);
        values[500] = 1e6;
        assert!((clipped(values)[500] - (0.5 + 5.0 * 0.9 / 3.29)).abs() < 0.01);
        assert!(clipped(Vec::new()).is_empty());
    }
}
