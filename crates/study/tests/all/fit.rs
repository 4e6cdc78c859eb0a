//! The fit against the truth that a synthetic logger was driven with.

use rayon::prelude::*;
use unladen_lap::Course;
use unladen_positions::{Line, Noise, Run, Wish};
use unladen_study::fit::{Because, Fit, Knob, LoggedLap, applied, fit, fit_told_apart, predict};
use unladen_study::made_track::synthetic::{Logger, drive};
use unladen_testkit::{
    parts,
    roads::{corner, flat},
};
use unladen_track::Track;
use unladen_vehicle::example_car;

fn track() -> Track {
    let mut segments = Vec::new();
    for (straight, radius) in [(420.0, 30.0), (90.0, 55.0), (420.0, 30.0), (90.0, 55.0)] {
        segments.push(flat(straight, [0.0; 2]));
        segments.extend(corner(radius, 18.0, std::f64::consts::FRAC_PI_2));
    }
    Track { name: "invented".into(), closed: true, start_speed: 0.0, segments, rho: 1.2, grip: 1.0 }
}

/// Whole laps of a log: positions as runs, and speed over the true distance.
fn laps(samples: &[unladen_study::made_track::synthetic::Sample]) -> (Vec<Run>, Vec<LoggedLap>) {
    let mut all = vec![(Run::default(), LoggedLap::default())];
    let mut last = 0.0;
    for p in samples {
        if p.s < last - 100.0 {
            all.push(Default::default());
        }
        last = p.s;
        let (run, lap) = all.last_mut().unwrap();
        let [x, y, _] = p.position.unwrap();
        run.points.push([x, y]);
        run.t.push(p.t);
        lap.s_m.push(p.s);
        lap.v_mps.push(p.speed);
        lap.gear.push(p.gear);
    }
    let n = all.len();
    all[1..n - 1].iter().cloned().unzip()
}

/// The same with distances as `fit` gets them: by a line through the noisy positions, laid onto the track.
fn aligned(track: &Track, (runs, laps): &(Vec<Run>, Vec<LoggedLap>)) -> Vec<LoggedLap> {
    let line = Line::through(runs, Wish { closed: true, noise_m: None, height_noise_m: None }).unwrap();
    let lies = line.align(track).unwrap();
    let lap = |(run, lap): (&Run, &LoggedLap)| {
        let mut pairs: Vec<(f64, f64)> =
            lies.distances(&line, run).into_iter().zip(lap.v_mps.iter().copied()).collect();
        pairs.sort_by(|a, b| a.0.total_cmp(&b.0));
        let (s_m, v_mps) = pairs.into_iter().unzip();
        LoggedLap { s_m, v_mps, ..LoggedLap::default() }
    };
    runs.iter().zip(laps).map(lap).collect()
}

/// How the log's places are known.
#[derive(Clone, Copy, PartialEq)]
enum Places {
    True,
    Aligned,
}

fn one(course: &Course, seed: u64, places: Places) -> (Vec<f64>, Fit) {
    let mut noise = Noise::new(1000 + seed);
    let truth: Vec<f64> = Knob::ALL.iter().map(|k| 1.0 + k.prior_sd() * noise.normal().clamp(-2.5, 2.5)).collect();
    let car = example_car();
    let lap = course.lap(&applied(&car, &truth)).unwrap();
    let logger = Logger { seed, laps: 3, ..Logger::default() };
    let all = laps(&drive(course.track(), &lap.trace(), &logger));
    let all = if places == Places::True { all.1 } else { aligned(course.track(), &all) };
    (truth, fit(course, &car, &all, None).unwrap())
}

/// Truth drawn from the priors, 100 seeds: 90 % of all factors lie within 1.645 standard deviations, and each alone
/// within what 100 draws scatter (binomial, three standard errors); by turns where the log's places are known, and where they
/// are by its noisy positions only.
#[test]
fn property_truth_is_within_the_stated_deviation() {
    for (turn, places) in [(1, Places::True), (5, Places::Aligned)] {
        if parts::due(turn, 8) {
            covers(places);
        }
    }
}

fn covers(places: Places) {
    // The truth is to be no coarser than the fit's laps: with 4 m its own numerical error shows as power.
    let course = Course::with_step(&track(), 1.0);
    let seeds: u64 = 100;
    let all: Vec<(Vec<f64>, Fit)> = (0..seeds).into_par_iter().map(|seed| one(&course, seed, places)).collect();
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
    let (_, fit) = one(&course, 3, Places::True);
    let pair = fit.alike.iter().find(|a| (a.a, a.b) == (Knob::GripLat, Knob::UseCornering)).expect("said");
    assert!(pair.correlation < -0.95, "{pair:?}");
    // The product is known far better than either.
    let (c, found) = (&fit.covariance, &fit.found);
    let product = (c[1][1] + c[5][5] + 2.0 * c[1][5]).sqrt();
    assert!(product < 0.2 * found[1].sd, "{product} {}", found[1].sd);
}

/// What can't be told apart is held where the file has it; what is found for the other is the product. A lap that was
/// not fitted to is predicted within what is said of it.
#[test]
fn closed_form_one_of_a_product_is_held() {
    let course = Course::with_step(&track(), 4.0);
    let truth = [1.0, 0.95, 0.97, 1.0, 1.0, 0.96, 0.95, 1.0];
    let car = example_car();
    let lap = course.lap(&applied(&car, &truth)).unwrap();
    let mut all = laps(&drive(course.track(), &lap.trace(), &Logger { laps: 5, ..Logger::default() })).1;
    // Traffic in one lap.
    let slow = all[1].s_m.partition_point(|s| *s < 200.0)..all[1].s_m.partition_point(|s| *s < 330.0);
    all[1].v_mps[slow].iter_mut().for_each(|v| *v *= 0.7);
    let out = all.pop().unwrap();
    let (_, fit) = fit_told_apart(&course, &car, &all, None).unwrap();
    let of = |k: Knob| fit.found.iter().find(|f| f.knob == k).unwrap();
    assert_eq!(of(Knob::UseCornering).held, Some(Because::With(Knob::GripLat)));
    assert_eq!(of(Knob::UseCornering).factor, 1.0);
    let (grip, product) = (of(Knob::GripLat), truth[1] * truth[5]);
    assert!((grip.factor - product).abs() < 3.0 * grip.sd && grip.sd < 0.01, "{} ± {} {product}", grip.factor, grip.sd);
    assert!(fit.alike.is_empty(), "{:?}", fit.alike);
    assert!(fit.left_out.iter().any(|l| l.lap == 1 && l.from_m < 230.0 && l.to_m > 300.0), "{:?}", fit.left_out);
    let said = predict(&fit, &course, &car, &out, &[]).unwrap();
    assert!((said.model_s - lap.time).abs() < 3.0 * said.model_sd_s.max(0.02), "{said:?} {}", lap.time);
}

#[test]
fn bad_input_no_lap() {
    assert!(fit(&Course::with_step(&track(), 4.0), &example_car(), &[], None).is_err());
}

/// Without noise nothing is left over: the fit's own laps are as fine as those of the truth. What remains, up to 0.6
/// km/h, is where braking begins between two samples of the log.
#[test]
fn closed_form_no_noise_leaves_no_residual() {
    let course = Course::with_step(&track(), 1.0);
    let lap = course.lap(&example_car()).unwrap();
    let logger = Logger { laps: 3, rate_hz: 50.0, position_noise_m: 0.0, speed_noise_mps: 0.0, ..Logger::default() };
    let all = laps(&drive(course.track(), &lap.trace(), &logger)).1;
    let fit = fit(&course, &example_car(), &all, None).unwrap();
    let most = fit.residuals_mps.iter().filter(|r| r.is_finite()).fold(0.0f64, |a, r| a.max(r.abs()));
    assert!(most < 0.2, "{most}");
}
