//! What few even draws, guessed ones, rough laps and priced ones say against 20 000 plain draws of laps on all stations (2500
//! where not all parts are asked for). A question at every second commit, by turns.

use unladen_garage::CarFile;
use unladen_lap::Course;
use unladen_study::compare::builds::{Builds, Kin, compare, doubts};
use unladen_study::relocate::stint::{Question, ask};
use unladen_study::relocate::{self, Relocation};
use unladen_study::retune::Reach;
use unladen_study::uncertainty::alternative::{Alternative, Alternatives, Piece};
use unladen_study::uncertainty::paired::{Sampling, Unknown, paired_and_ordered};
use unladen_study::uncertainty::spread::Difference;
use unladen_study::{Input, Leg};
use unladen_testkit::files::{demo_car_file, demo_track};
use unladen_testkit::parts::seeds;
use unladen_vehicle::Number;
use unladen_vehicle::change::Change;
use unladen_vehicle::mass::Part;

fn plain() -> Sampling {
    Sampling { seed: 2, samples: 2500 * seeds(0..8, 8).count(), all: true }
}

fn inputs(file: &CarFile) -> Vec<Input> {
    file.uncertainties.iter().map(|u| Input { key: u.key.clone(), sd: u.sd, onto: u.onto.clone() }).collect()
}

/// Draws end when ends and median have a standard error of a twentieth of the interval's width: of that, two; probabilities are
/// known to 0.02. There, to what as many plain draws know (of a normal law's 5 % the standard error is 0.64 of the width over √n):
/// of that, three.
fn held(what: &str, few: &Difference, many: &Difference) -> bool {
    let width = many.interval[1] - many.interval[0];
    let off = [(few.interval[0], many.interval[0]), (few.median, many.median), (few.interval[1], many.interval[1])]
        .map(|(a, b)| (a - b).abs() / width);
    let chance = (few.chance - many.chance).abs();
    let known = (many.chance * (1.0 - many.chance) / plain().samples as f64).sqrt();
    println!("{what}: {:.4?} {:.4?} off {off:.3?}, chance {chance:.3}, {:?}", few.interval, many.interval, few.how);
    few.gain == many.gain
        && off.iter().all(|off| *off < 0.10 + 3.0 * 0.64 / (plain().samples as f64).sqrt())
        && chance < 0.02 + 3.0 * known
}

/// A demo car less something at four places, and with 1 % more grip: intervals, and which is surely ahead of which.
fn ranked(seed: u64) -> bool {
    let file = demo_car_file("saloon-awd");
    let course = Course::new(&demo_track("carpark"));
    let legs = [Leg::new(&course)];
    let inputs = inputs(&file);
    let own: Vec<Unknown> =
        (0..4).map(|i| Unknown { name: format!("mass of {i}"), sd: 1.0, unit: "kg".into() }).collect();
    let piece = |i: usize| Piece {
        change: Change {
            before: Some(Part::point(4.0 + 10.0 * i as f64, 0.8 * i as f64, 0.0, 0.3 + 0.2 * i as f64)),
            after: None,
        },
        errors: vec![(i, [0.5 + 0.4 * i as f64, 0.0])],
        ..Piece::default()
    };
    let pieces: Vec<Piece> = (0..4).map(piece).collect();
    let mut sides = vec![Alternative::default()];
    sides.extend((0..4).map(|i| Alternative { pieces: vec![i], times: Vec::new() }));
    let grip = [Number::USE_CORNERING, Number::USE_BRAKING, Number::USE_TRACTION].map(|n| (n, 1.01)).to_vec();
    sides.push(Alternative { pieces: Vec::new(), times: grip });
    let field = Alternatives::new((&file.car, &inputs, &[]), &legs, (&pieces, &own), &sides);
    let wide: Vec<(usize, usize)> = (1..6).map(|i| (i, 0)).collect();
    let orders: Vec<(usize, usize)> = (2..5).flat_map(|i| (1..i).map(move |j| (i, j))).collect();
    let few = paired_and_ordered(&field, &wide, &orders, Sampling { seed, ..Sampling::default() }).unwrap();
    let many = paired_and_ordered(&field, &wide, &orders, plain()).unwrap();
    let both = || few.differences.iter().zip(&many.differences);
    let sure = |chance: f64| chance >= 0.95 || chance <= 0.05;
    let near = |chance: f64| [0.95, 0.05].iter().any(|edge| (chance - edge).abs() < 0.03);
    let wide = both().take(5).map(|(a, b)| held(&format!("rank {}", a.of), a, b)).collect::<Vec<_>>();
    wide.into_iter().all(|held| held) && both().skip(5).all(|(a, b)| near(b.chance) || sure(a.chance) == sure(b.chance))
}

/// All-wheel drive and rear drive, as they are set.
fn compared(seed: u64) -> bool {
    let [a, b] = ["saloon-awd", "saloon-rwd"].map(demo_car_file);
    let course = Course::new(&demo_track("carpark"));
    let doubts = doubts([&a.car, &b.car], [&inputs(&a), &inputs(&b)], ["A", "B"], Kin::default());
    let found = |sampling| {
        let builds = Builds { cars: [&a.car, &b.car], reach: [Reach::none(); 2], doubts: &doubts, sampling };
        compare(&builds, &[Leg::new(&course)]).unwrap().as_set.gain
    };
    held("compare", &found(Sampling { seed, ..Sampling::default() }), &found(plain()))
}

/// 20 kg that move forward and down.
fn moved(seed: u64) -> bool {
    let file = demo_car_file("saloon-awd");
    let course = Course::new(&demo_track("carpark"));
    let at = |x: f64, z: f64| Some(Part::point(20.0, x, 0.0, z));
    let change = Change { before: at(2.65, 0.6), after: at(0.9, 0.3) };
    let piece = relocate::Piece { name: "battery".into(), change, sd: 0.5 };
    let relocation = Relocation { pieces: vec![piece], ..Relocation::default() };
    let found = |sampling| {
        let question = Question {
            car: &file.car,
            inputs: &inputs(&file),
            reach: Reach::none(),
            relocation: &relocation,
            loads: &[0.0],
            brackets: [0.9, 0.0, 0.3],
            stint: [1e-3, 0.0],
            sampling,
        };
        ask(&question, &[Leg::new(&course)]).unwrap().as_set.gain
    };
    held("move", &found(Sampling { seed, ..Sampling::default() }), &found(plain()))
}

#[test]
fn independent_plain_draws_say_the_same() {
    let questions = [ranked, compared, moved];
    for turn in seeds(0..questions.len() as u64, 2 * questions.len() as u64) {
        assert!(questions[turn as usize](1 + turn), "{turn}");
    }
}
