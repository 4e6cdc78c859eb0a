//! What measuring is said to leave of an interval, held against the interval of the car so measured.

use unladen_lap::Course;
use unladen_study::measure::{Open, Reach, WAYS};
use unladen_study::uncertainty::alternative::{Alternative, Alternatives, Piece};
use unladen_study::uncertainty::paired::{Sampling, Sides, paired};
use unladen_study::{Input, Leg};
use unladen_track::{Segment, Track};
use unladen_vehicle::Number;

use crate::common::{car, input};

fn road() -> Course {
    let piece = |length: f64, kappa: f64| Segment {
        length,
        kappa: [kappa; 2],
        q: [0.0; 2],
        phi: [0.0; 2],
        gamma: 1.0,
        place: None,
    };
    let segments = vec![piece(250.0, 0.0), piece(60.0, 1.0 / 25.0), piece(150.0, 0.0), piece(90.0, -1.0 / 60.0)];
    let (name, start_speed) = ("short".into(), 15.0);
    Course::with_step(&Track { name, closed: false, start_speed, rho: 1.225, grip: 1.0, segments }, 4.0)
}

/// The gain of 60 kg less is open; each way is said to leave so wide an interval. Measured so, each interval is as wide
/// to a sixth: quantiles of 960 draws are known to about a twenty-fifth, two are compared, and it is first order only.
#[test]
fn property_what_a_measurement_leaves_is_what_is_left() {
    let car = car(0.02);
    let course = road();
    let (legs, pieces) = ([Leg::new(&course)], [Piece { adds: vec![(Number::M, -60.0)], ..Piece::default() }]);
    let sides = [Alternative::default(), Alternative { pieces: vec![0], times: Vec::new() }];
    let sampling = Sampling { samples: 960, all: true, ..Sampling::default() };
    let open = |inputs: &[Input]| {
        let field = Alternatives::new((&car, inputs, &[]), &legs, (&pieces, &[]), &sides);
        let found = paired(&field, &[(1, 0)], sampling).unwrap();
        Open::of_difference(&found.differences[0], field.unknowns())
    };
    let inputs = vec![
        input(Number::H, 0.05),
        input(Number::CD_A, 0.12),
        input(Number::EFFICIENCY, 0.04),
        input(Number::MU_Y_F, 0.10),
        input(Number::MU_X_R, 0.10),
    ];
    let before = open(&inputs);
    let width = |open: &Open| open.interval[1] - open.interval[0];
    let ways = before.ways(&car);
    assert!(!ways.is_empty(), "{before:?}");
    for next in &ways {
        let measured: Vec<Input> = inputs
            .iter()
            .map(|input| match next.knows.iter().find(|(name, _)| *name == input.key) {
                Some((_, [now, then])) => {
                    assert_eq!(*now, input.sd);
                    Input { sd: *then, ..input.clone() }
                }
                None => input.clone(),
            })
            .collect();
        let (said, is) = (next.interval[1] - next.interval[0], width(&open(&measured)));
        println!("{}: {:.4} s now, {said:.4} s said, {is:.4} s then", next.way.what, width(&before));
        assert!((said / is - 1.0).abs() < 1.0 / 6.0, "{}: {said} {is}", next.way.what);
    }
    assert!(WAYS.iter().flat_map(|way| way.knows).any(|(_, reach)| matches!(reach, Reach::Share(_))));
}
