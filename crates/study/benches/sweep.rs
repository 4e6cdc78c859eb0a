//! How fast: a sweep of mass, CG height and split over the valley circuit at the default accuracy, each lap with its
//! error and three derivatives.
//!
//! `cargo bench -p unladen-study --bench sweep`. The ratio of threads comes from runs in turns, so that a busy machine
//! slows both.

use std::hint::black_box;
use std::time::{Duration, Instant};

use divan::{Bencher, counter::ItemsCount};
use unladen_lap::{Course, STEP_M};
use unladen_study::sweep::{Axis, Grid, Sweep};
use unladen_testkit::files::{demo_car, demo_track};
use unladen_vehicle::Car;

fn read() -> (Car, Course) {
    (demo_car("saloon-awd"), Course::new(&demo_track("valley")))
}

fn grid(count: u64) -> Grid {
    Grid {
        mass: Axis::new(1000.0, 1300.0, count),
        cg_height: Axis::new(0.42, 0.56, count),
        front_share: Axis::new(0.45, 0.60, count),
        ..Grid::default()
    }
}

/// Laps found of all cells, in pieces as the command line takes them.
fn sweep(car: &Car, course: &Course, grid: &Grid) -> usize {
    let sweep = Sweep { car, course, step_m: STEP_M, grid };
    let cells = grid.cells().unwrap_or(0);
    let piece = |from: u64| sweep.cells(from..(from + 256).min(cells), &|| true);
    (0..cells).step_by(256).map(|from| piece(from).iter().filter(|c| c.found.is_ok()).count()).sum()
}

fn pool(threads: usize) -> rayon::ThreadPool {
    rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap_or_else(|e| panic!("{e}"))
}

#[divan::bench(args = [1, 2], sample_count = 1, sample_size = 1)]
fn sweep_of_21_by_21_by_21(bencher: Bencher, threads: usize) {
    let ((car, course), grid, pool) = (read(), grid(21), pool(threads));
    let cells = grid.cells().unwrap_or(0);
    bencher.counter(ItemsCount::new(cells)).bench_local(|| pool.install(|| black_box(sweep(&car, &course, &grid))));
}

fn ratio() {
    let ((car, course), grid) = (read(), grid(8));
    let pools = [pool(1), pool(2)];
    let mut best = [Duration::MAX; 2];
    for _ in 0..7 {
        for (best, pool) in best.iter_mut().zip(&pools) {
            let start = Instant::now();
            black_box(pool.install(|| sweep(&car, &course, &grid)));
            *best = start.elapsed().min(*best);
        }
    }
    let [one, two] = best.map(|t| grid.cells().unwrap_or(0) as f64 / t.as_secs_f64());
    println!(
        "\n8 × 8 × 8 cells, fastest of 7, in turns: {one:.0} laps/s on 1 thread, {two:.0} on 2, ratio {:.3}",
        two / one
    );
}

fn main() {
    divan::main();
    if std::env::args().any(|a| a == "--bench") {
        ratio();
    }
}
