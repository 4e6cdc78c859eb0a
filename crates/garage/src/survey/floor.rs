//! How little noise of positions can be believed: a receiver's class and the digits that a file gives.

use super::Survey;

/// What a satellite receiver's positions are off by from lap to lap at least where the file does not show it, m, and
/// what noise found is believed at all. Judgement, no source: smoothed positions and copies of one lap show none, and
/// the best receivers show centimetres.
const RECEIVER: (f64, f64) = (0.3, 0.03);
/// Positions looked at.
const LOOK: usize = 300;
/// m a degree of latitude.
const DEGREE_M: f64 = 111_200.0;

/// The step of the last digit that numbers are given to.
fn step(values: impl Iterator<Item = f64> + Clone) -> f64 {
    let whole = |places: i32| {
        let scale = 10f64.powi(places);
        values.clone().all(|x| (x * scale - (x * scale).round()).abs() < 1e-4)
    };
    (0..9).find(|places| whole(*places)).map_or(0.0, |places| 10f64.powi(-places))
}

/// Keeps the greatest floor of all files.
pub(super) fn note(positions: &[[f64; 2]], timed: bool, degrees: bool, out: &mut Survey) {
    let every = (positions.len() / LOOK).max(1);
    let of = |axis: usize| step(positions.iter().step_by(every).map(move |p| p[axis]).filter(|x| x.is_finite()));
    let digit = of(0).max(of(1)) * if degrees { DEGREE_M } else { 1.0 };
    // A number cut to a step is off by step/√12.
    let digits = digit / f64::sqrt(12.0);
    let (least, believed) = if timed { RECEIVER } else { (0.0, 0.0) };
    let here = (digits.max(believed), digits.max(least));
    out.least_noise = (out.least_noise.0.max(here.0), out.least_noise.1.max(here.1));
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn closed_form_the_last_digit() {
        assert_eq!(step([52.123_456, -1.5].into_iter()), 1e-6);
        assert_eq!(step([12.0, 400.0].into_iter()), 1.0);
        assert_eq!(step([0.1 + 0.2, 7.25].into_iter()), 0.01);
        assert_eq!(step([1.0 / 3.0].into_iter()), 0.0);
    }
}
