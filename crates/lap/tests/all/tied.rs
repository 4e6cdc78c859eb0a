//! Derivatives of a car whose limits tie exactly, left and right.

use crate::common::demo_track;
use unladen_lap::Course;
use unladen_vehicle::{Number, example_car};

/// ∂T/∂y of the car that everybody starts with was 1.6e9 s for 10 mm: two pieces of the envelope that coincide, and a root
/// placed where the one is left for the other. Now each derivative lies between the slopes of laps a small step to either
/// side, or by 2 % of itself or 2e-5 of the lap time beside them.
#[test]
fn regression_the_symmetric_car_on_the_valley() {
    let course = Course::new(&demo_track("valley"));
    let car = example_car();
    assert_eq!(car.mass.y_cg, 0.0);
    let lap = course.lap(&car).unwrap();
    let numbers = [(Number::M, 1e-2), (Number::H, 1e-5), (Number::A, 1e-5), (Number::Y_CG, 1e-5)];
    let slopes = lap.derivatives(&numbers.map(|n| n.0));
    let gradient = lap.gradient();
    for (d, (number, step)) in slopes.iter().zip(numbers) {
        let side = |by: f64| {
            let mut moved = car.clone();
            *moved.number_mut(number).unwrap() += by;
            (course.time(&moved).unwrap() - lap.time) / by
        };
        let sides = [side(-step), side(step)];
        let unit = car.number(number).unwrap().abs().max(0.1);
        let allowed = (0.02 * d.value.abs()).max(2e-5 * lap.time / unit);
        println!("{}: {:.5e}, laps {sides:?}", number.key(), d.value);
        let (lo, hi) = (sides[0].min(sides[1]), sides[0].max(sides[1]));
        assert!(d.value >= lo - allowed && d.value <= hi + allowed, "{}: {} {sides:?}", number.key(), d.value);
        let backwards = gradient.iter().find(|s| s.number == number).unwrap().value;
        assert!((backwards - d.value).abs() < 1e-6 * (1.0 + d.value.abs()), "{backwards} {}", d.value);
    }
}
