//! How far one figure may be off, by what laps say of it.

use crate::uncertainty::alone::Alone;
use crate::uncertainty::spread::{NINETY, quantile};

/// Joint draws with which slopes are checked.
pub(crate) const CHECKS: usize = 16;
/// Slopes hold where laps differ from them by no more than this share of the standard deviation.
const BENT: f64 = 0.1;
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
    /// What the laps say, by draw.
    pub(crate) drawn: Vec<f64>,
    /// What slopes alone say of the same draws.
    pub(crate) straight: Vec<f64>,
}

impl Figure {
    fn slopes_sd(&self) -> f64 {
        self.alone.iter().map(|a| a.slope * a.slope).sum::<f64>().sqrt()
    }

    /// Root mean square of what laps differ from the slopes by: unknowns alone, and draws.
    fn off_slopes(&self) -> [f64; 2] {
        let alone: f64 = self.alone.iter().map(|a| a.off).sum();
        let square = |(lap, said): (&f64, &f64)| (lap - said).powi(2);
        let drawn: f64 = self.drawn.iter().zip(&self.straight).map(square).sum();
        [alone.sqrt(), (drawn / (self.drawn.len() as f64).max(1.0)).sqrt()]
    }

    /// Do slopes hold?
    pub(crate) fn holds(&self) -> bool {
        let allowed = BENT * self.slopes_sd() + self.error;
        self.drawn.len() >= CHECKS / 2 && self.off_slopes().iter().all(|&off| off <= allowed)
    }

    pub(crate) fn range(&self) -> Range {
        let shares = self.shares();
        if self.holds() || self.drawn.len() < 2 {
            let sd = self.slopes_sd().hypot(self.off_slopes()[1]);
            return Range { sd, interval: [-NINETY, NINETY].map(|z| self.nominal + z * sd), shares };
        }
        let mut all: Vec<f64> = self.drawn.iter().map(|off| self.nominal + off).collect();
        all.sort_by(f64::total_cmp);
        Range { sd: variance_of(&all).sqrt(), interval: [0.05, 0.95].map(|q| outer(&all, q)), shares }
    }

    fn shares(&self) -> Vec<(usize, f64)> {
        let whole: f64 = self.alone.iter().map(|a| a.square).sum();
        let mut shares: Vec<(usize, f64)> =
            self.alone.iter().map(|a| a.square / whole).enumerate().filter(|(_, share)| *share >= 1e-3).collect();
        shares.sort_by(|a, b| b.1.total_cmp(&a.1));
        shares
    }
}

/// The quantile below which a further draw lies with this probability, linear between draws (R. J. Hyndman and Y. Fan, The
/// American Statistician 50(4), 1996, definition 6): what few draws leave out of their tails is in.
fn outer(sorted: &[f64], q: f64) -> f64 {
    let last = sorted.len() - 1;
    quantile(sorted, (q * (sorted.len() + 1) as f64 - 1.0) / last.max(1) as f64)
}

fn variance_of(all: &[f64]) -> f64 {
    let count = all.len() as f64;
    let middle = all.iter().sum::<f64>() / count;
    all.iter().map(|x| (x - middle).powi(2)).sum::<f64>() / (count - 1.0).max(1.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Of 19 draws a further one is below the least with probability 1/20.
    #[test]
    fn closed_form_ends_of_few_draws() {
        let all: Vec<f64> = (0..19).map(f64::from).collect();
        assert_eq!([outer(&all, 0.05), outer(&all, 0.5), outer(&all, 0.95)], [0.0, 9.0, 18.0]);
        assert_eq!(outer(&[3.0, 4.0], 0.05), 3.0);
    }

    #[test]
    fn closed_form_wild_values_are_brought_back() {
        let mut values: Vec<f64> = (0..1000).map(|i| f64::from(i) / 999.0).collect();
        assert_eq!(clipped(values.clone()), values);
        values[500] = 1e6;
        assert!((clipped(values)[500] - (0.5 + 5.0 * 0.9 / 3.29)).abs() < 0.01);
        assert!(clipped(Vec::new()).is_empty());
    }
}
