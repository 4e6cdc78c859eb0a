//! Random draws that repeat: the same seed and sample number give the same numbers, in whatever order they are asked
//! for. Plain ones, and such as spread more evenly: a scrambled Sobol' sequence (A. B. Owen, J. Complexity 14, 1998; B.
//! Burley, J. Computer Graphics Techniques 9(4), 2020).

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};
use sobol_burley::{NUM_DIMENSIONS, sample};
use statrs::distribution::{ContinuousCDF, Normal};

/// The numbers of one sample: ChaCha with 8 rounds (D. J. Bernstein, 2008), the sample's number being the stream.
pub(crate) struct Draws {
    generator: ChaCha8Rng,
    normal: Normal,
}

impl Draws {
    pub(crate) fn new(seed: u64, sample: usize) -> Self {
        let mut generator = ChaCha8Rng::seed_from_u64(seed);
        generator.set_stream(sample as u64);
        Self { generator, normal: Normal::standard() }
    }

    /// Normal with mean 0 and standard deviation 1: the inverse of its distribution function at an even number
    /// between 0 and 1, both excluded.
    pub(crate) fn normal(&mut self) -> f64 {
        let even = ((self.generator.next_u64() >> 11) as f64 + 0.5) / (1u64 << 53) as f64;
        self.normal.inverse_cdf(even)
    }
}

/// A number of draw `index` for `unknown`, normal with mean 0 and standard deviation 1. Each `seed` has its own sequence; the
/// first 2ᵏ draws are even among themselves. Beyond 256 unknowns those a multiple of 256 apart are even each by itself. Measured
/// on the demo cars (`crates/study/tests/all/worth_spread.rs`): 128 of them tell a standard deviation of `worth` to 2 to 5 %, as
/// plain ones to 5 to 14 %.
pub(crate) fn even_normal(seed: u32, index: u32, unknown: usize) -> f64 {
    let whole = NUM_DIMENSIONS as usize;
    let further = (unknown / whole) as u32;
    let share = f64::from(sample(index, (unknown % whole) as u32, seed ^ (further << 16)));
    // Shares are multiples of 2⁻²⁴ from 0: the middle of each, so that none is 0.
    Normal::standard().inverse_cdf(share + 0.5 / f64::from(1 << 24))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Moments 0, 1, 0, 3 within five standard errors of 10⁵ numbers; one stream a sample, none like another.
    #[test]
    fn closed_form_moments_over_samples() {
        let all: Vec<f64> = (0..25_000)
            .flat_map(|i| {
                let mut draws = Draws::new(9, i);
                (0..4).map(move |_| draws.normal()).collect::<Vec<_>>()
            })
            .collect();
        let moment = |p: i32| all.iter().map(|x| x.powi(p)).sum::<f64>() / all.len() as f64;
        assert!(moment(1).abs() < 0.016 && (moment(2) - 1.0).abs() < 0.023);
        assert!(moment(3).abs() < 0.062 && (moment(4) - 3.0).abs() < 0.16);
        let neighbours: f64 = all.windows(5).map(|w| w[0] * w[4]).sum::<f64>() / all.len() as f64;
        assert!(neighbours.abs() < 0.016, "{neighbours}");
    }

    #[test]
    fn property_a_sample_does_not_depend_on_the_others() {
        let one = |seed, i| Draws::new(seed, i).normal();
        assert_eq!(one(1, 7), one(1, 7));
        assert!(one(1, 7) != one(1, 8) && one(1, 7) != one(2, 7));
    }

    /// Of 128 in each dimension one lies in each 128th: mean and variance closer to 0 and 1 than plain ones by far; products
    /// of two unknowns, beyond 256 as well, within four standard errors of plain ones.
    #[test]
    fn closed_form_moments_of_128() {
        for unknown in [0, 1, 7, 60, 255, 256, 700] {
            let all: Vec<f64> = (0..128).map(|i| even_normal(1, i, unknown)).collect();
            let mean = all.iter().sum::<f64>() / 128.0;
            let square = all.iter().map(|z| z * z).sum::<f64>() / 128.0;
            assert!(mean.abs() < 0.02 && (square - 1.0).abs() < 0.06, "{unknown}: {mean} {square}");
            let other = (0..128).map(|i| even_normal(1, i, unknown + 1) * all[i as usize]).sum::<f64>() / 128.0;
            assert!(other.abs() < 4.0 / 128f64.sqrt(), "{unknown}: {other}");
        }
        assert!((0..200).all(|i| even_normal(1, i, 3).is_finite() && even_normal(1, i, 3) != even_normal(2, i, 3)));
    }
}
