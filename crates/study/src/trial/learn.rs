//! What a measured difference says of the car's uncertain numbers: a Gaussian update.
//!
//! With z the numbers in their standard deviations, the gain is p + gᵀz and was measured as m ± e: the mean of z becomes
//! g (m − p)/S and its variance of each 1 − g²/S, S = gᵀg + r² + e², r being what belongs to the change or the day alone.

/// How the gain hangs on one number.
#[derive(Clone, Debug, PartialEq)]
pub struct Slope {
    /// Its key in the car's file.
    pub key: String,
    /// s per standard deviation of it.
    pub gain_s: f64,
}

/// What is learnt of one number.
#[derive(Clone, Debug, PartialEq)]
pub struct Learnt {
    /// Its key in the car's file.
    pub key: String,
    /// By how much it moves, in its standard deviations.
    pub by_sds: f64,
    /// What is left of its standard deviation, as a share.
    pub left: f64,
}

/// A number whose standard deviation keeps more than this was not spoken about.
const SPOKEN: f64 = 0.98;

/// Learns; numbers that the gain hardly hangs on are left out. `rest_s` is what the prediction is unsure of for other
/// reasons, s.
pub fn learn(slopes: &[Slope], rest_s: f64, predicted_s: f64, (measured_s, error_s): (f64, f64)) -> Vec<Learnt> {
    let all = slopes.iter().map(|s| s.gain_s * s.gain_s).sum::<f64>() + rest_s * rest_s + error_s * error_s;
    let one = |s: &Slope| Learnt {
        key: s.key.clone(),
        by_sds: s.gain_s * (measured_s - predicted_s) / all,
        left: (1.0 - s.gain_s * s.gain_s / all).max(0.0).sqrt(),
    };
    let mut learnt: Vec<Learnt> =
        slopes.iter().filter(|s| s.gain_s != 0.0).map(one).filter(|l| l.left < SPOKEN).collect();
    learnt.sort_by(|a, b| a.left.total_cmp(&b.left));
    learnt
}
