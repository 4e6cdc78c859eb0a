//! The fit against the truth that a synthetic logger was driven with.
#![allow(clippy::unwrap_used)]

use rayon::prelude::*;
use unladen_lap::Course;
use unladen_study::fit::{Fit, Knob, LoggedLap, applied, fit};
use unladen_study::synthetic::{Logger, drive};
use unladen_track::{Noise, Segment, Track};
use unladen_vehicle::example_car;

fn track() -> Track {
    let seg =
        |length: f64, kappa: [f64; 2]| Segment { length, kappa, q: [0.0; 2], phi: [0.0; 2], gamma: 1.0, place: None };
    let mut segments = Vec::new();
    for (straight, radius) in [(420.0, 30.0), (90.0, 55.0), (420.0, 30.0), (90.0, 55.0)] {
        let (k, l) = (1.0 / radius, 18.0);
        segments.extend([
            seg(straight, [0.0; 2]),
            seg(l, [0.0, k]),
            seg(std::f64::consts::FRAC_PI_2 * radius - l, [k; 2]),
            seg(l, [k, 0.0]),
        ]);
    }
    Track { name: "invented".into(), closed: true, start_speed: 0.0, segments, rho: 1.2, grip: 1.0 }
}

fn laps(samples: &[unladen_study::synthetic::Sample]) -> Vec<LoggedLap> {
    let mut all: Vec<LoggedLap> = vec![LoggedLap::default()];
    let mut last = 0.0;
    for p in samples {
        if p.s < last - 100.0 {
            all.push(LoggedLap::default());
        }
        last = p.s;
        let lap = all.last_mut().unwrap();
        lap.s_m.push(p.s);
        lap.v_mps.push(p.speed);
    }
    let n = all.len();
    all[1..n - 1].to_vec()
}

fn one(course: &Course, seed: u64) -> (Vec<f64>, Fit) {
    let mut noise = Noise::new(1000 + seed);
    let truth: Vec<f64> = Knob::ALL.iter().map(|k| 1.0 + k.prior_sd() * noise.normal().clamp(-2.5, 2.5)).collect();
    let car = example_car();
    let lap = course.lap(&applied(&car, &truth)).unwrap();
    let logger = Logger { seed, laps: 3, ..Logger::default() };
    let samples = drive(course.track(), &course.trace(&lap), &logger);
    (truth, fit(course, &car, &laps(&samples)).unwrap())
}

/// Truth drawn from the priors, 100 seeds: 90 % of all factors lie within 1.645 standard deviations, and each alone within what 100
/// draws scatter (binomial, three standard errors).
#[test]
fn property_truth_is_within_the_stated_deviation() {
    let course = Course::with_step(&track(), 4.0);
    let seeds: u64 = 100;
    let all: Vec<(Vec<f64>, Fit)> = (0..seeds).into_par_iter().map(|seed| one(&course, seed)).collect();
    let mut inside = [0u32; 8];
    for (truth, fit) in &all {
        for (k, found) in fit.found.iter().enumerate() {
            inside[k] += u32::from((found.factor - truth[k]).abs() <= 1.645 * found.sd);
        }
    }
    let share = f64::from(inside.iter().sum::<u32>()) / (8.0 * seeds as f64);
    println!("within 1.645 sd: {inside:?} of {seeds}, {share:.3} of all");
    for (k, knob) in Knob::ALL.iter().enumerate() {
        let told = all.iter().map(|a| a.1.found[k].told).sum::<f64>() / seeds as f64;
        println!("{}: told {told:.3}", knob.key());
    }
    assert!((share - 0.9).abs() <= 0.05, "{share} {inside:?}");
    assert!(inside.iter().all(|n| f64::from(*n) / seeds as f64 > 0.81), "{inside:?}");
}

/// Grip across the car and the driver's use of it act as one product: the log can't tell them apart, and says so.
#[test]
fn closed_form_a_product_is_not_told_apart() {
    let course = Course::with_step(&track(), 4.0);
    let (_, fit) = one(&course, 3);
    let pair = fit.alike.iter().find(|a| (a.a, a.b) == (Knob::GripLat, Knob::UseCornering)).expect("said");
    assert!(pair.correlation < -0.95, "{pair:?}");
    // The product is known far better than either.
    let (c, found) = (&fit.covariance, &fit.found);
    let product = (c[1][1] + c[5][5] + 2.0 * c[1][5]).sqrt();
    assert!(product < 0.2 * found[1].sd, "{product} {}", found[1].sd);
}

#[test]
fn bad_input_no_lap() {
    assert!(fit(&Course::with_step(&track(), 4.0), &example_car(), &[]).is_err());
}
