//! The study of worth, on small invented tracks.

use std::f64::consts::PI;

use crate::common::{car, input};
use statrs::distribution::{ContinuousCDF, Normal};
use unladen_lap::{Course, LapError};
use unladen_study::{Caveat, Input, Leg, Study, StudyError, Subject, named_spots, worth};
use unladen_testkit::parts::due;
use unladen_testkit::roads::{corner, flat};
use unladen_track::Track;
use unladen_vehicle::mass::Part;
use unladen_vehicle::{Car, Number};

/// A circuit with corners of two radii, eased in and out by clothoids.
fn circuit() -> Track {
    let mut segments = vec![flat(350.0, [0.0; 2])];
    segments.extend(corner(40.0, 20.0, PI));
    segments.push(flat(350.0, [0.0; 2]));
    segments.extend(corner(70.0, 20.0, PI));
    Track { name: "circuit".into(), closed: true, start_speed: 0.0, rho: 1.2, grip: 0.95, segments }
}

/// From rest, up a straight.
fn drag_strip() -> Track {
    let segments = vec![flat(400.0, [0.0; 2])];
    Track { name: "strip".into(), closed: false, start_speed: 0.0, rho: 1.2, grip: 1.0, segments }
}

fn study(car: &Car, inputs: &[Input], legs: &[Leg]) -> Study {
    worth(&Subject { inputs, ..Subject::new(car) }, legs).unwrap()
}

/// The published numbers against full laps of cars with a little more and a little less.
#[test]
fn property_worth_is_what_full_laps_say() {
    let (car, course) = (car(0.006), Course::new(&circuit()));
    let study = study(&car, &[], &[Leg::new(&course)]);
    let found = &study.tracks[0];
    assert_eq!(found.lap_time_s, course.time(&car).unwrap());
    let slope = |moved: &dyn Fn(f64) -> Car, step: f64| {
        (course.time(&moved(step)).unwrap() - course.time(&moved(-step)).unwrap()) / (2.0 * step)
    };
    let number = |number: Number, unit: f64| {
        let car = car.clone();
        move |step: f64| {
            let mut car = car.clone();
            *car.number_mut(number).unwrap() += step * unit;
            car
        }
    };
    for (quantity, slope) in [
        (found.s_per_kg, slope(&number(Number::M, 1.0), 0.5)),
        (found.s_per_mm_height, slope(&number(Number::H, 1e-3), 0.5)),
        (found.s_per_mm_rearward, slope(&number(Number::A, 1e-3), 0.5)),
        (found.s_per_mm_right, slope(&number(Number::Y_CG, 1e-3), 0.5)),
    ] {
        assert!((quantity.value - slope).abs() < 5e-3 * slope.abs(), "{quantity:?} {slope}");
        assert_eq!(quantity.one_sided, None);
    }
    for place in &found.places {
        let [x, y, z] = place.spot.at;
        let with = |kg: f64| Car { mass: Part::from(car.mass).with(Part::point(kg, x, y, z)).into(), ..car.clone() };
        let slope = slope(&with, 0.5);
        assert!((place.s_per_kg.value - slope).abs() < 5e-3 * slope, "{place:?} {slope}");
    }
    assert!((found.elasticity - car.mass.m * found.s_per_kg.value / found.lap_time_s).abs() < 1e-15);
    assert!((found.limits.iter().sum::<f64>() - 1.0).abs() < 1e-9);
    assert_eq!(study.mix, study.tracks[0]);
}

#[test]
fn property_where_it_comes_from_adds_up() {
    let (car, course) = (car(0.006), Course::new(&circuit()));
    let study = study(&car, &[], &[Leg::new(&course)]);
    let (found, along) = (&study.tracks[0], study.tracks[0].along.as_ref().unwrap());
    let curves = [
        (&along.s_per_kg, found.s_per_kg.value),
        (&along.s_per_mm_height, found.s_per_mm_height.value),
        (&along.s_per_mm_rearward, found.s_per_mm_rearward.value),
        (&along.s_per_mm_right, found.s_per_mm_right.value),
    ];
    let places = along.places.iter().zip(&found.places).map(|(curve, place)| (curve, place.s_per_kg.value));
    for (curve, whole) in curves.into_iter().chain(places) {
        assert_eq!((curve.len(), curve[0]), (along.s_m.len(), 0.0));
        assert!((curve[curve.len() - 1] - whole).abs() < 1e-12 * whole.abs(), "{whole}");
    }
}

/// Of one input, σ is what one standard deviation of it does; of two, the root of the sum of squares: to a hundredth, which is what
/// laps may differ from slopes that hold (a tenth of σ, in squares).
#[test]
fn closed_form_uncertainties_add_in_squares() {
    let (car, course) = (car(0.006), Course::new(&circuit()));
    let legs = [Leg::new(&course)];
    assert_eq!(study(&car, &[], &legs).mix.lap_time_sd_s, None);
    let mass = study(&car, &[input(Number::M, 2.0)], &legs).mix;
    let (sd, slope) = (mass.lap_time_sd_s.unwrap(), mass.s_per_kg.value);
    assert!((sd - 2.0 * slope).abs() < 1e-3 * sd, "{sd} {slope}");
    let drag = study(&car, &[input(Number::CD_A, 0.04)], &legs).mix;
    let both = study(&car, &[input(Number::M, 2.0), input(Number::CD_A, 0.04)], &legs).mix;
    let squares = |of: fn(&unladen_study::Worth) -> f64| (of(&mass).hypot(of(&drag)) / of(&both) - 1.0).abs();
    assert!(squares(|w| w.lap_time_sd_s.unwrap()) < 0.01);
    assert!(squares(|w| w.s_per_kg.sd.unwrap()) < 0.01);
    assert!(squares(|w| w.places[1].s_per_kg.sd.unwrap()) < 0.01);
}

/// σ of a derivative is its own change, found by full laps: here of ∂T/∂m with grip.
#[test]
fn property_uncertainty_of_a_derivative_is_its_change() {
    if !due(2, 4) {
        return;
    }
    let (car, course) = (car(0.006), Course::new(&circuit()));
    let sd = 0.05;
    let inputs = [input(Number::MU_Y_F, sd)];
    let found = study(&car, &inputs, &[Leg::new(&course)]).mix.s_per_kg.sd.unwrap();
    let at = |step: f64| {
        let mut car = car.clone();
        car.front.mu_y0 += step;
        study(&car, &[], &[Leg::new(&course)]).mix.s_per_kg.value
    };
    // The normal distribution in 40 parts of equal probability, each by its middle; the study's own draws leave 3 %.
    let normal = Normal::standard();
    let parts: Vec<f64> = (0..40).map(|i| at(sd * normal.inverse_cdf((f64::from(i) + 0.5) / 40.0))).collect();
    let mean = parts.iter().sum::<f64>() / 40.0;
    let want = (parts.iter().map(|x| (x - mean).powi(2)).sum::<f64>() / 40.0).sqrt();
    assert!((found / want - 1.0).abs() < 0.1 && want > 0.0, "{found} {want}");
}

#[test]
fn closed_form_a_mix_is_the_weighted_mean() {
    let car = car(0.006);
    let (circuit, strip) = (Course::new(&circuit()), Course::new(&drag_strip()));
    let inputs = [input(Number::M, 2.0)];
    let legs = [Leg { weight: 3.0, ..Leg::new(&circuit) }, Leg::new(&strip)];
    let Study { tracks, mix } = study(&car, &inputs, &legs);
    let mean = |a: f64, b: f64| 0.75 * a + 0.25 * b;
    assert!((mix.lap_time_s - mean(tracks[0].lap_time_s, tracks[1].lap_time_s)).abs() < 1e-12);
    assert!((mix.s_per_kg.value - mean(tracks[0].s_per_kg.value, tracks[1].s_per_kg.value)).abs() < 1e-15);
    // The car's mass is wrong on both tracks at once.
    let [a, b, both] = [&tracks[0], &tracks[1], &mix].map(|w| w.lap_time_sd_s.unwrap());
    assert!((both - mean(a, b)).abs() < 1e-4 * both, "{a} {b} {both}");
    assert!((mix.limits.iter().sum::<f64>() - 1.0).abs() < 1e-9);
    assert_eq!((mix.track.as_str(), mix.along.is_none()), ("75 % circuit, 25 % strip", true));
    // The same track twice is that track.
    let twice = study(&car, &inputs, &[legs[0], legs[0]]);
    assert!((twice.mix.s_per_kg.value - tracks[0].s_per_kg.value).abs() < 1e-15);
    assert!((twice.mix.lap_time_sd_s.unwrap() - a).abs() < 1e-12);
}

/// Grip that is uncertain on each track on its own: 1/√2 of it in an even mix of two alike.
#[test]
fn closed_form_tracks_vary_on_their_own() {
    let (car, course) = (car(0.006), Course::new(&circuit()));
    let grip = [Input { key: "grip".into(), sd: 0.02, onto: vec![(Number::GAMMA_0, 1.0)] }];
    let leg = Leg { inputs: &grip, ..Leg::new(&course) };
    let one = study(&car, &[], &[leg]).mix.lap_time_sd_s.unwrap();
    let two = study(&car, &[], &[leg, leg]).mix.lap_time_sd_s.unwrap();
    assert!((one / two / 2f64.sqrt() - 1.0).abs() < 0.02, "{one} {two}");
    // As two days of that grip say.
    let day = |grip: f64| Course::new(&Track { grip, ..circuit() }).time(&car).unwrap();
    let (low, here, high) = (day(0.93), day(0.95), day(0.97));
    let want = (0.5 * ((low - here).powi(2) + (high - here).powi(2))).sqrt();
    assert!((one - want).abs() < 0.02 * want, "{one} {want}");
}

/// On the strip an open differential sends each wheel what the lighter one can take: with the CG in the middle either
/// way is slower, and with it 6 mm off there are no two sides.
#[test]
fn property_a_kink_has_two_sides() {
    let course = Course::new(&drag_strip());
    let mut car = car(0.006);
    car.mass.y_cg = 0.0;
    car.driveline.layout = unladen_vehicle::car::Layout::Rear;
    car.driveline.rear_bias = 1.0;
    let mix = study(&car, &[], &[Leg::new(&course)]).mix;
    let (minus, plus) = mix.s_per_mm_right.one_sided.unwrap();
    assert!(plus > 0.0 && (plus + minus).abs() < 1e-3 * plus, "{minus} {plus}");
    assert_eq!((mix.s_per_kg.one_sided, mix.s_per_mm_height.one_sided), (None, None));
    // A kilogram in the middle plane doesn't move the CG sideways.
    assert_eq!(mix.places[1].s_per_kg.one_sided, None);
    let mut subject = Subject::new(&car);
    subject.spots = named_spots(&car, Some([1.35, 0.35, 0.42]));
    let mix = worth(&subject, &[Leg::new(&course)]).unwrap().mix;
    let (minus, plus) = mix.places[2].s_per_kg.one_sided.unwrap();
    assert!(plus > minus);
    car.mass.y_cg = 0.006;
    assert_eq!(study(&car, &[], &[Leg::new(&course)]).mix.s_per_mm_right.one_sided, None);
}

/// With as many right-hand corners as left-hand ones lap time is least with the CG near the middle, and flat there: the
/// slope is nothing, and not two small things.
#[test]
fn regression_a_flat_extremum_is_no_kink() {
    let track = circuit();
    let mirrored = track.segments.iter().cloned().map(|mut s| {
        s.kappa = s.kappa.map(|k| -k);
        s
    });
    let segments = track.segments.iter().cloned().chain(mirrored).collect();
    let course = Course::new(&Track { segments, closed: false, start_speed: 20.0, ..track.clone() });
    let mut car = car(0.006);
    car.driveline.centre_bias = 1.0;
    car.driveline.front_bias = f64::INFINITY;
    car.driveline.rear_bias = f64::INFINITY;
    let right = |y_cg: f64| {
        let mut car = car.clone();
        car.mass.y_cg = y_cg;
        study(&car, &[], &[Leg::new(&course)]).mix.s_per_mm_right
    };
    let (mut left_of, mut right_of) = (-0.05, 0.05);
    assert!(right(left_of).value < 0.0 && right(right_of).value > 0.0);
    for _ in 0..12 {
        let middle = 0.5 * (left_of + right_of);
        if right(middle).value < 0.0 { left_of = middle } else { right_of = middle }
    }
    let flat = right(0.5 * (left_of + right_of));
    assert!(flat.one_sided.is_none() && flat.value.abs() < 1e-5, "{flat:?}");
}

#[test]
fn bad_input_no_track_no_weight_no_lap() {
    let (car, course) = (car(0.006), Course::new(&drag_strip()));
    let refused = |car: &Car, legs: &[Leg]| worth(&Subject::new(car), legs).unwrap_err();
    assert_eq!(refused(&car, &[]), StudyError::NoTrack);
    for weight in [0.0, -1.0, f64::NAN, f64::INFINITY] {
        let leg = Leg { weight, ..Leg::new(&course) };
        assert!(matches!(refused(&car, &[leg]), StudyError::Weight { .. }), "{weight}");
    }
    let mut weak = car.clone();
    weak.engine.power = 0.0;
    let error = refused(&weak, &[Leg::new(&course)]);
    assert_eq!(error, StudyError::Lap { track: "strip".into(), source: LapError::CannotMoveOff });
    assert!(error.to_string().starts_with("strip: the car cannot move off"));
}

/// An uncertain number that reaches beyond what is possible, or to where there is no lap.
#[test]
fn bad_input_uncertainty_beyond_the_possible() {
    let (car, course) = (car(0.006), Course::new(&drag_strip()));
    let legs = [Leg::new(&course)];
    // χ 0.58 ± 0.5: half a step up is possible.
    let share = study(&car, &[input(Number::CHI, 0.5)], &legs);
    assert_eq!((share.tracks[0].caveats.len(), share.mix.s_per_kg.sd.is_some()), (0, true));
    // No driveline has an efficiency above 1.
    let mut ideal = car.clone();
    ideal.driveline.efficiency = 1.0;
    let one = study(&ideal, &[input(Number::EFFICIENCY, 0.05)], &legs);
    assert!(matches!(&one.tracks[0].caveats[..], [Caveat::OneSide { why: None, .. }]), "{:?}", one.tracks[0].caveats);
    assert!(one.mix.lap_time_sd_s.unwrap() > 0.0);
    // Without power there is no lap.
    let mut weak = car.clone();
    weak.engine.torque = vec![(100.0, 200.0)];
    let power = study(&weak, &[input(Number::POWER, 1.0)], &legs);
    assert!(
        matches!(&power.tracks[0].caveats[..], [Caveat::OneSide { why: Some(LapError::CannotMoveOff), .. }]),
        "{:?}",
        power.tracks[0].caveats
    );
}

/// With the CG in the middle, 10 mm to one side cost as much as to the other: no slope says that.
#[test]
fn property_steps_that_a_slope_does_not_hold_for_are_told() {
    let course = Course::new(&drag_strip());
    let mut car = car(0.006);
    car.driveline.layout = unladen_vehicle::car::Layout::Rear;
    car.driveline.rear_bias = 1.0;
    car.mass.y_cg = 0.005;
    let found = study(&car, &[], &[Leg::new(&course)]).tracks.remove(0);
    let (right, caveats) = (found.s_per_mm_right, &found.caveats);
    assert!(right.value > 0.0 && right.one_sided.is_none());
    let told = |c: &Caveat| match c {
        Caveat::Bent { step, lap_s, slope_s } => {
            step == "the centre of gravity 10 mm further to the left" && lap_s.abs() < 1e-3 && *slope_s < -2e-3
        }
        _ => false,
    };
    assert!(caveats.len() == 1 && told(&caveats[0]), "{right:?} {caveats:?}");
    assert!(caveats[0].to_string().contains("a limit changes hands on the way"));
}

/// A car that a kilogram less lets shift up once more. Gears are chosen for the time, so that the lap is no other for it:
/// the slope holds across, and nothing is said.
#[test]
fn property_another_sequence_that_is_as_quick_is_not_told() {
    let (mut car, course) = (car(0.006), Course::new(&drag_strip()));
    let gears = |car: &Car| course.lap(car).unwrap().gears().len();
    // The mass at which the last shift just happens before the end.
    let (mut light, mut heavy) = (1000.0, 2500.0);
    let at = |car: &Car, m: f64| Car { mass: unladen_vehicle::car::Mass { m, ..car.mass }, ..car.clone() };
    let many = gears(&at(&car, light));
    assert!(gears(&at(&car, heavy)) < many);
    while heavy - light > 0.2 {
        let middle = 0.5 * (light + heavy);
        if gears(&at(&car, middle)) == many { light = middle } else { heavy = middle }
    }
    car.mass.m = heavy;
    let worth = &study(&car, &[], &[Leg::new(&course)]).tracks[0];
    assert!(!worth.caveats.iter().any(|c| matches!(c, Caveat::Gears { .. })), "{:?}", worth.caveats);
    let (before, after) = (course.lap(&car).unwrap(), course.lap(&at(&car, heavy - 1.0)).unwrap());
    assert!(before.gears() != after.gears());
    let off = (before.time - after.time - worth.s_per_kg.value).abs();
    assert!(off < 0.2 * worth.s_per_kg.value + before.error + after.error, "{off}");
}
