//! How fast: a paired uncertainty of a ranking of fifteen items, every one of 500 draws lapped.
//!
//! `cargo bench -p unladen-study`. The target is 20 s on two cores.

use std::hint::black_box;

use divan::{Bencher, counter::ItemsCount};
use unladen_lap::Course;
use unladen_study::uncertainty::alternative::{Alternative, Alternatives, Piece};
use unladen_study::uncertainty::paired::{Sampling, Unknown, paired};
use unladen_study::{Input, Leg};
use unladen_testkit::files::{demo_car_file, demo_track};
use unladen_vehicle::change::Change;
use unladen_vehicle::mass::Part;

const ITEMS: usize = 15;
const DRAWS: usize = 500;

#[divan::bench(args = [1, 2], sample_count = 1, sample_size = 1)]
fn ranking_of_15_items_by_500_draws(bencher: Bencher, threads: usize) {
    let file = demo_car_file("saloon-awd");
    let course = Course::new(&demo_track("valley"));
    let legs = [Leg::new(&course)];
    let inputs: Vec<Input> =
        file.uncertainties.iter().map(|u| Input { key: u.key.clone(), sd: u.sd, onto: u.onto.clone() }).collect();
    let own: Vec<Unknown> =
        (0..ITEMS).map(|i| Unknown { name: format!("mass of {i}"), sd: 0.5, unit: "kg".into() }).collect();
    let piece = |i: usize| Piece {
        change: Change { before: Some(Part::point(3.0 + i as f64, 0.2 * i as f64, 0.0, 0.5)), after: None },
        errors: vec![(i, [0.5, 0.0])],
        ..Piece::default()
    };
    let pieces: Vec<Piece> = (0..ITEMS).map(piece).collect();
    let mut sides = vec![Alternative::default()];
    sides.extend((0..ITEMS).map(|i| Alternative { pieces: vec![i], ..Alternative::default() }));
    let field = Alternatives::new((&file.car, &inputs, &[]), &legs, (&pieces, &own), &sides);
    let pairs: Vec<(usize, usize)> = (1..=ITEMS).flat_map(|i| (0..i).map(move |j| (i, j))).collect();
    let sampling = Sampling { samples: DRAWS, all: true, ..Sampling::default() };
    let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap_or_else(|e| panic!("{e}"));
    bencher
        .counter(ItemsCount::new(DRAWS * (ITEMS + 1)))
        .bench_local(|| pool.install(|| black_box(paired(&field, &pairs, sampling).is_ok())));
}

fn main() {
    divan::main();
}
