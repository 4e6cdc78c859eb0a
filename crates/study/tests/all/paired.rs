//! Paired differences, on sides whose times are formulas.

use unladen_study::uncertainty::paired::{Paired, PairedError, Sampling, Sides, Unknown, paired};
use unladen_study::uncertainty::reversal::{Settles, reversal};
use unladen_study::uncertainty::spread::How;

/// A side's time as a function of what is off.
type Time = fn(&[f64]) -> Option<f64>;

/// Sides that are formulas.
struct Formulas {
    unknowns: Vec<Unknown>,
    times: Vec<Time>,
    possible: fn(&[f64]) -> bool,
}

impl Sides for Formulas {
    fn unknowns(&self) -> &[Unknown] {
        &self.unknowns
    }

    fn count(&self) -> usize {
        self.times.len()
    }

    fn moves(&self, _: usize, _: usize) -> bool {
        true
    }

    fn possible(&self, z: &[f64]) -> bool {
        (self.possible)(z)
    }

    fn time(&self, side: usize, z: &[f64]) -> Option<f64> {
        (self.times[side])(z)
    }
}

fn formulas(sds: &[f64], times: &[Time]) -> Formulas {
    let unknown = |(i, &sd): (usize, &f64)| Unknown { name: format!("u{i}"), sd, unit: "m".into() };
    Formulas { unknowns: sds.iter().enumerate().map(unknown).collect(), times: times.to_vec(), possible: |_| true }
}

fn of(sides: &Formulas, sampling: Sampling) -> Paired {
    paired(sides, &[(1, 0)], sampling).unwrap()
}

/// 60 + 0.5 z₀ on both sides cancels; what is left is 0.03 z₁ − 0.04 z₂ about 0.1.
#[test]
fn closed_form_what_both_share_cancels() {
    let sides = formulas(
        &[1.0, 2.0, 0.5],
        &[|z| Some(60.0 + 0.5 * z[0] + 0.03 * z[1]), |z| Some(59.9 + 0.5 * z[0] + 0.04 * z[2])],
    );
    let found = of(&sides, Sampling::default());
    let d = &found.differences[0];
    assert_eq!(d.how, How::FirstOrder);
    assert!((d.gain - 0.1).abs() < 1e-12 && d.gain == d.median && (d.sd - 0.05).abs() < 1e-9, "{d:?}");
    assert!((d.interval[0] - (0.1 - 1.644_854 * 0.05)).abs() < 1e-7 && (d.chance - 0.977_250).abs() < 1e-6, "{d:?}");
    let shares: Vec<usize> = d.shares.iter().map(|s| s.0).collect();
    assert_eq!(shares, [2, 1]);
    assert!((d.shares[0].1 - 0.64).abs() < 1e-9 && (d.shares[1].1 - 0.36).abs() < 1e-9);
    // Sampled all the same, it is that within the standard errors of 2000 draws (2 % of the sd and three of them).
    let all = of(&sides, Sampling { samples: 2000, all: true, ..Sampling::default() });
    let s = &all.differences[0];
    assert_eq!(s.how, How::Sampled { draws: 2000, lost: 0, settled: true });
    assert!((s.sd / d.sd - 1.0).abs() < 0.06 && (s.median - d.median).abs() < 0.0045, "{s:?}");
    assert!(s.interval.iter().zip(d.interval).all(|(a, b)| (a - b).abs() < 0.008), "{s:?}");
}

/// |z| has the quantiles of the folded normal: 0.0627, 0.6745, 1.9600. Slopes would say that nothing is unknown.
#[test]
fn closed_form_a_kink_is_sampled() {
    let sides = formulas(&[1.0], &[|z| Some(60.0 + 0.1 * z[0].abs()), |_| Some(60.0)]);
    let d = &of(&sides, Sampling { samples: 4000, all: true, ..Sampling::default() }).differences[0];
    let want = [0.006_27, 0.067_45, 0.196_00];
    let got = [d.interval[0], d.median, d.interval[1]];
    // Three standard errors √(q(1 − q)/4000)/density each.
    assert!(got.iter().zip(want).zip([0.0013, 0.0038, 0.009]).all(|((g, w), e)| (g - w).abs() < e), "{got:?}");
    assert!((d.gain, d.chance) == (0.0, 1.0) && d.shares == [(0, 1.0)]);
    let few = &of(&sides, Sampling::default()).differences[0];
    assert!(matches!(few.how, How::Sampled { draws: 32..=500, lost: 0, settled: true }), "{few:?}");
}

/// A kink that a standard deviation either way doesn't show is found by the draws in which two are off.
#[test]
fn property_what_two_do_together_is_not_missed() {
    let sides = formulas(&[1.0; 2], &[|z| Some(60.0 + 0.2 * z[0] * z[1] + 0.01 * z[0]), |_| Some(60.0)]);
    assert!(matches!(of(&sides, Sampling::default()).differences[0].how, How::Sampled { .. }));
}

/// The gain bends at a place that nobody knows: truth is even over ten standard deviations about it, what the file says
/// is off the truth by its own spread. A 90 % interval must then hold the truth nine times in ten: in 200 trials in 85
/// to 95 % (2.4 standard deviations of the count).
#[test]
fn property_the_interval_holds_the_truth_as_often_as_it_says() {
    struct Trial {
        said: [f64; 2],
        unknowns: Vec<Unknown>,
    }
    fn gain(p: f64, q: f64) -> f64 {
        0.05 + 0.06 * p.max(0.4 * p) - 0.02 * q + 0.015 * (p - q).abs()
    }
    impl Sides for Trial {
        fn unknowns(&self) -> &[Unknown] {
            &self.unknowns
        }
        fn count(&self) -> usize {
            2
        }
        fn moves(&self, side: usize, _: usize) -> bool {
            side == 1
        }
        fn possible(&self, _: &[f64]) -> bool {
            true
        }
        fn time(&self, side: usize, z: &[f64]) -> Option<f64> {
            let off = |i: usize| self.said[i] + z[i];
            Some(if side == 0 { 70.0 } else { 70.0 - gain(off(0), off(1)) })
        }
    }
    let mut noise = unladen_positions::Noise::new(77);
    let mut held = 0;
    for trial in 0..200 {
        let truth = [0, 1].map(|_| 10.0 * (noise.even() - 0.5));
        let said = truth.map(|t| t + noise.normal());
        let unknowns = vec![Unknown { name: "p".into(), sd: 1.0, unit: "1".into() }; 2];
        let sampling = Sampling { seed: trial, ..Sampling::default() };
        let d = &paired(&Trial { said, unknowns }, &[(1, 0)], sampling).unwrap().differences[0];
        held += usize::from((d.interval[0]..=d.interval[1]).contains(&gain(truth[0], truth[1])));
    }
    assert!((170..=190).contains(&held), "{held} of 200");
}

#[test]
fn property_threads_change_nothing() {
    let sides = formulas(&[1.0; 3], &[|z| Some(60.0 + z[0].abs() + z[1]), |z| Some(60.0 + z[1] + z[2].sin())]);
    let run = |threads| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
        format!("{:?}", pool.install(|| of(&sides, Sampling::default())))
    };
    assert_eq!(run(1), run(2));
}

#[test]
fn property_cars_that_cannot_be_are_not_drawn_and_laps_that_are_not_are_counted() {
    let mut sides = formulas(&[1.0], &[|_| Some(60.0), |z| (z[0] > -1.5).then_some(60.0 - z[0])]);
    let d = of(&sides, Sampling { all: true, ..Sampling::default() }).differences.remove(0);
    // A share of 6.7 % lies below −1.5: of 500 draws 33 ± 6.
    assert!(matches!(d.how, How::Sampled { lost: 17..=50, .. }), "{d:?}");
    sides.possible = |z| z[0] > -0.5;
    let d = of(&sides, Sampling { all: true, ..Sampling::default() }).differences.remove(0);
    assert!(matches!(d.how, How::Sampled { draws: 500, lost: 0, .. }) && d.interval[0] > -0.5, "{d:?}");
}

#[test]
fn bad_input_a_side_without_a_lap() {
    let sides = formulas(&[1.0], &[|_| Some(60.0), |_| None]);
    assert_eq!(paired(&sides, &[(1, 0)], Sampling::default()).unwrap_err(), PairedError::NoLap { side: 1 });
}

/// 0.1 + 0.04 z₀ − 0.05 z₁ is zero at z₀ = −2.5 or z₁ = 2. With the spread of z₀, 0.04 s, left, z₁ may add
/// √((0.1/1.645)² − 0.04²) = 0.0458 s: 0.915 of its standard deviation.
#[test]
fn closed_form_the_unknown_that_flips_the_order() {
    let sides = formulas(&[1.0, 0.3], &[|z| Some(60.0 + 0.04 * z[0]), |z| Some(59.9 + 0.05 * z[1])]);
    let found = of(&sides, Sampling::default());
    let f = reversal(&sides, &found, 1, 0).unwrap();
    assert!(f.unknown == 1 && (f.sds - 2.0).abs() < 1e-3, "{f:?}");
    let Settles::At(sd) = f.settles else { panic!("{f:?}") };
    let want = 0.3 * ((0.1f64 / 1.645).powi(2) - 0.0016).sqrt() / 0.05;
    assert!((sd - want).abs() < 1e-9, "{sd} {want}");
    let sure = formulas(&[1.0], &[|_| Some(60.0), |z| Some(59.9 + 0.01 * z[0])]);
    assert_eq!(reversal(&sure, &of(&sure, Sampling::default()), 1, 0), None);
    let open = formulas(&[1.0; 2], &[|z| Some(60.0 + 0.4 * z[0]), |z| Some(59.9 + 0.5 * z[1])]);
    let f = reversal(&open, &of(&open, Sampling::default()), 1, 0).unwrap();
    assert_eq!((f.unknown, f.settles), (1, Settles::Never));
}
