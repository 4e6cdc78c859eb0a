//! How fast: one lap of the valley circuit, its derivatives, sweeps, one evaluation of the envelope.
//!
//! `cargo bench -p unladen-lap`. Ratios come from one run of their own, in turns, so that a busy machine slows both sides.

use std::hint::black_box;
use std::time::{Duration, Instant};

use divan::{Bencher, counter::ItemsCount};
use rayon::prelude::*;
use unladen_lap::Course;
use unladen_testkit::files::{demo_car, demo_track};
use unladen_vehicle::car::Day;
use unladen_vehicle::road::Shape;
use unladen_vehicle::{Car, Model, Number};

fn saloon() -> Car {
    demo_car("saloon-awd")
}

fn valley() -> Course {
    Course::new(&demo_track("valley"))
}

/// 1000 cars of 900 to 1500 kg with CG heights of 0.40 to 0.60 m.
fn sweep() -> Vec<Car> {
    let base = saloon();
    let mut cars = vec![];
    for i in 0..1000 {
        let mut car = base.clone();
        car.mass.m = 900.0 + 600.0 * f64::from(i % 40) / 39.0;
        car.mass.h = 0.40 + 0.20 * f64::from(i / 40) / 24.0;
        cars.push(car);
    }
    cars
}

fn pool(threads: usize) -> rayon::ThreadPool {
    rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap_or_else(|e| panic!("{e}"))
}

fn laps(course: &Course, cars: &[Car]) -> f64 {
    cars.par_iter().map(|car| course.time(car).unwrap_or(f64::NAN)).sum()
}

const FOUR: [Number; 4] = [Number::M, Number::A, Number::Y_CG, Number::H];

#[divan::bench]
fn one_lap_time_alone(bencher: Bencher) {
    let (course, car) = (valley(), saloon());
    bencher.bench_local(|| black_box(course.time(&car)));
}

#[divan::bench]
fn one_lap_with_its_error(bencher: Bencher) {
    let (course, car) = (valley(), saloon());
    bencher.bench_local(|| black_box(course.lap(&car).is_ok()));
}

#[divan::bench]
fn one_lap_with_four_derivatives(bencher: Bencher) {
    let (course, car) = (valley(), saloon());
    bencher.bench_local(|| course.lap(&car).map(|lap| black_box(lap.derivatives(&FOUR))));
}

#[divan::bench]
fn one_lap_with_all_derivatives(bencher: Bencher) {
    let (course, car) = (valley(), saloon());
    bencher.bench_local(|| course.lap(&car).map(|lap| black_box(lap.gradient())));
}

#[divan::bench(args = [1, 2], sample_count = 5)]
fn sweep_of_1000_cars(bencher: Bencher, threads: usize) {
    let (course, cars) = (valley(), sweep());
    let pool = pool(threads);
    bencher.counter(ItemsCount::new(cars.len())).bench_local(|| pool.install(|| black_box(laps(&course, &cars))));
}

#[divan::bench]
fn one_grip_evaluation(bencher: Bencher) {
    let model = Model::new(&saloon(), Day::STANDARD);
    let road = Shape { kappa: 0.02, q: 0.01, dq: 0.0, phi: 0.02, gamma: 1.0 }.road();
    let mut i = 0u32;
    bencher.bench_local(|| {
        i = i.wrapping_add(1);
        let (x, a) = (300.0 + f64::from(i % 1000) * 0.1, -5.0 + f64::from(i % 77) * 0.1);
        black_box(model.grip(&road, black_box(x), black_box(a)).value)
    });
}

/// Something to time, and what to call it.
type Timed<'a> = (&'a str, Box<dyn FnMut() + 'a>);

/// The fastest of many turns of each, taken in turns.
fn fastest(of: &mut [Timed], turns: usize) -> Vec<Duration> {
    let mut best = vec![Duration::MAX; of.len()];
    for _ in 0..turns {
        for (best, (_, run)) in best.iter_mut().zip(of.iter_mut()) {
            let start = Instant::now();
            run();
            *best = start.elapsed().min(*best);
        }
    }
    best
}

fn ratios() {
    let (course, car) = (valley(), saloon());
    let cars = sweep();
    let lap = || course.lap(&car).ok();
    let mut of: Vec<Timed> = vec![
        ("time alone", Box::new(|| assert!(black_box(course.time(&car)).is_ok()))),
        ("with its error", Box::new(|| assert!(black_box(course.lap(&car)).is_ok()))),
        ("with its error and four derivatives", Box::new(|| drop(black_box(lap().map(|lap| lap.derivatives(&FOUR)))))),
        ("with its error and all derivatives", Box::new(|| drop(black_box(lap().map(|lap| lap.gradient()))))),
    ];
    let best = fastest(&mut of, 200);
    println!(
        "\none lap of {:.0} m in {} cells, fastest of 200, in turns:",
        course.track().length(),
        course.stations().len() - 1
    );
    for ((name, _), time) in of.iter().zip(&best) {
        let times = |of: Duration| time.as_secs_f64() / of.as_secs_f64();
        let (alone, with_error) = (times(best[0]), times(best[1]));
        let ms = time.as_secs_f64() * 1e3;
        println!("  {name}: {ms:.3} ms, {alone:.2} × the time alone, {with_error:.2} × the lap with its error");
    }
    println!("  ({} numbers in all)", car.on(course.day()).numbers().len());
    let (one, two) = (pool(1), pool(2));
    let mut sweeps: Vec<Timed> = vec![
        ("1 thread", Box::new(|| assert!(black_box(one.install(|| laps(&course, &cars))) > 0.0))),
        ("2 threads", Box::new(|| assert!(black_box(two.install(|| laps(&course, &cars))) > 0.0))),
    ];
    let best = fastest(&mut sweeps, 5);
    for ((name, _), time) in sweeps.iter().zip(&best) {
        println!("  sweep of {} cars, {name}: {:.0} laps/s", cars.len(), cars.len() as f64 / time.as_secs_f64());
    }
}

fn main() {
    divan::main();
    if std::env::args().any(|a| a == "--bench") {
        ratios();
    }
}
