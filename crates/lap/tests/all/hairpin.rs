//! One hairpin (invented) in whose arc a light car without anti-lock has two ceilings: one braked, one nearly coasting.

use rayon::prelude::*;
use unladen_garage::{Overrides, read_car, read_track};
use unladen_lap::Course;
use unladen_testkit::files::root;

/// Lap times without shift time in steps of 0.5 m, by the road's grip.
fn times(grips: &[f64]) -> Vec<f64> {
    let case = root().join("crates/lap/tests/cases/hairpin");
    let mut car = read_car(case.join("car.toml"), &Overrides::none()).unwrap().car;
    car.driveline.shift_time = 0.0;
    let track = read_track(case.join("hairpin.toml"), &Overrides::none(), None).unwrap().track;
    let time = |&grip: &f64| {
        let mut track = track.clone();
        track.grip = grip;
        Course::with_step(&track, 0.5).time(&car).unwrap()
    };
    grips.par_iter().map(time).collect()
}

/// Another program from the same equations, steps of 0.25 m (0.125 m where it was run so: 12.0386), to 1 ms of its own.
#[test]
fn independent_laps_of_the_hairpin() {
    let others = [(0.95, 12.0647), (0.96, 12.0387), (0.97, 12.0127), (1.0, 11.932)];
    let own = times(&others.map(|o| o.0));
    println!("{own:?}");
    for ((grip, other), own) in others.into_iter().zip(own) {
        assert!((own - other).abs() < 1e-3, "grip {grip}: {own}, the other {other}");
    }
}

/// The ceiling changed from one top to the other late, where that was higher by a whole per cent: 3 ms between 0.9550 and
/// 0.9565. What is left, and not yet understood, is 0.8 ms.
#[test]
fn regression_the_hairpin_from_grip_to_grip() {
    let grips: Vec<f64> = (0..=100).map(|i| 0.94 + 5e-4 * f64::from(i)).collect();
    let steps: Vec<f64> = times(&grips).windows(2).map(|w| w[1] - w[0]).collect();
    let worst = steps.windows(2).map(|w| (w[1] - w[0]).abs()).fold(0.0, f64::max);
    println!("{:.1e}", worst);
    assert!(worst < 1e-3, "{worst}");
}

#[test]
fn look_at_hairpin() {
    let case = root().join("crates/lap/tests/cases/hairpin");
    let mut car = read_car(case.join("car.toml"), &Overrides::none()).unwrap().car;
    car.driveline.shift_time = 0.0;
    let track = read_track(case.join("hairpin.toml"), &Overrides::none(), None).unwrap().track;
    let steps = [2.0, 1.0, 0.5, 0.25, 0.125];
    let rows: Vec<String> = (0..=50).into_par_iter().map(|i| {
        let grip = 0.94 + 1e-3 * f64::from(i);
        let mut track = track.clone();
        track.grip = grip;
        let t: Vec<f64> = steps.iter().map(|&s| Course::with_step(&track, s).time(&car).unwrap()).collect();
        format!("{grip:.4} {:?} lin {:.6}", t.iter().map(|t| ((t - (12.0647 - (grip - 0.95) * 2.65)) * 1e5).round() / 1e2).collect::<Vec<_>>(), t[4])
    }).collect();
    println!("{}", rows.join("\n"));
    if let Ok(g) = std::env::var("GRIP") {
        let mut track = track.clone();
        track.grip = g.parse().unwrap();
        let st: f64 = std::env::var("STEP").unwrap().parse().unwrap();
        let lap = Course::with_step(&track, st).lap(&car).unwrap();
        println!("{} {:?}", lap.time, lap.status);
        for r in lap.trace() { println!("R {:.3} {:.5} {:.4} {} {}", r.s, r.v, r.a_x, r.limit.key(), r.t); }
    }
}
