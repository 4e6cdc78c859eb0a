//! How many laps of usual cars say that they are not feasible, *beyond* (`docs/model.md` §§6, 7), and some that did and are.

use crate::common::random::{Kind, Rng, car, track};
use rayon::prelude::*;
use unladen_lap::{Course, Status};
use unladen_testkit::parts;
use unladen_track::Track;
use unladen_vehicle::Car;

/// The usual cars of `random.rs`.
fn case(seed: u64) -> (Car, Track) {
    let mut r = Rng::new(seed);
    let track = track(&mut r, Kind::Usual, 700.0);
    (car(&mut r, Kind::Usual), track)
}

/// 5 of 3000 are: the set falls into parts in three, K ends at a gear's limiter in two.
#[test]
fn property_three_in_a_thousand_usual_cars_are_beyond() {
    let seeds: Vec<u64> = parts::seeds(0..3000, 4).map(|i| 2 * i).collect();
    let is_beyond = |seed: &u64| {
        let (car, track) = case(*seed);
        Course::new(&track).lap(&car).is_ok_and(|lap| matches!(lap.status, Status::Beyond { .. }))
    };
    let beyond: Vec<u64> = seeds.par_iter().copied().filter(is_beyond).collect();
    println!("{} of {} beyond: {beyond:?}", beyond.len(), seeds.len());
    assert!(beyond.len() <= 1 + 3 * seeds.len() / 1000, "{beyond:?}");
}

/// A higher gear, kept or taken to spare a shift, pulled less than grip asked for where the tail must be driven: the lower
/// one that has enough takes over. Rows are looked up in their own gears, and shifts are not for nothing.
#[test]
fn regression_a_gear_that_lacks_drive_is_changed_down() {
    let seeds = [112, 150, 738, 858, 1120, 1204, 1380, 1636, 3020, 4506, 4736, 5094, 5704];
    seeds.into_par_iter().for_each(|seed| {
        let (mut car, track) = case(seed);
        let course = Course::new(&track);
        let lap = course.lap(&car).unwrap();
        assert_eq!(lap.status, Status::Settled, "seed {seed}");
        car.driveline.shift_time = 0.0;
        let unshifted = course.lap(&car).unwrap();
        assert!(lap.time + lap.error >= unshifted.time - unshifted.error, "seed {seed}");
    });
}

/// Two gears of which each seemed the better one at the end of a step, where power alone would lift an axle: the car changed
/// to and fro on the spot, and was said to come to rest. Gears that change at no cost are no slower.
#[test]
fn regression_gears_that_cost_nothing_are_not_changed_for_ever() {
    let seeds = [634, 1300, 1392, 1830, 2304, 2592, 2844, 4910, 5470, 5626];
    seeds.into_par_iter().for_each(|seed| {
        let (mut car, track) = case(seed);
        let course = Course::new(&track);
        let lap = course.lap(&car).unwrap();
        car.driveline.shift_time = 0.0;
        let unshifted = course.lap(&car).unwrap();
        assert!(lap.time + lap.error >= unshifted.time - unshifted.error, "seed {seed}");
    });
}

/// On the point of rolling over, a ceiling falls at just the one a_x that it allows: nothing is cut off there.
#[test]
fn regression_a_ceiling_that_falls_as_its_a_x_leads_is_no_cut() {
    for seed in [838, 3894, 4682] {
        let (car, track) = case(seed);
        assert_eq!(Course::new(&track).lap(&car).unwrap().status, Status::Settled, "seed {seed}");
    }
}
