//! Re-tuning, on small invented tracks.

use unladen_lap::Course;
use unladen_study::retune::{End, Reach, Settings, retune};
use unladen_study::{Leg, StudyError};
use unladen_testkit::{
    parts,
    roads::{bends, flat},
};
use unladen_track::{Segment, Track};
use unladen_vehicle::car::AntiLock;
use unladen_vehicle::{Car, example_car};

fn track(closed: bool, segments: Vec<Segment>) -> Track {
    Track { name: "t".into(), closed, start_speed: 20.0, rho: 1.2, grip: 1.0, segments }
}

/// Corners of three radii and straights between them.
fn lanes() -> Track {
    track(false, bends(120.0, &[18.0, 45.0, 110.0], 90.0))
}

/// Without anti-lock and limiter, so that both shares count.
fn plain() -> Car {
    let mut car = example_car();
    car.brakes.rear_limiter = None;
    car
}

fn reach() -> Reach {
    Reach { chi: Some([0.35, 0.80]), beta_f: Some([0.50, 0.85]), front_first: None }
}

/// On a circle without drag the quickest is where both axles let go at once: of a car that is the same at both ends,
/// even stiffness.
#[test]
fn closed_form_an_even_car_wants_even_stiffness() {
    let mut car = plain();
    car.mass.a = 0.5 * car.chassis.l;
    car.mass.y_cg = 0.0;
    (car.chassis.t_r, car.chassis.h_rr) = (car.chassis.t_f, car.chassis.h_rf);
    car.rear = car.front;
    (car.front.inv_c_alpha, car.rear.inv_c_alpha) = (0.0, 0.0);
    (car.aero.cd_a, car.aero.cf_a, car.aero.cr_a, car.aero.c_rr) = (0.0, 0.0, 0.0, 0.0);
    let radius = 40.0;
    let circle = track(true, vec![flat(std::f64::consts::TAU * radius, [1.0 / radius; 2])]);
    let course = Course::new(&circle);
    let found =
        retune(&car, &[Leg::new(&course)], &Reach { chi: Some([0.2, 0.9]), beta_f: None, front_first: None }).unwrap();
    assert!((found.settings.chi - 0.5).abs() < 1e-3, "{found:?}");
    assert!(found.gain_s() > 0.0 && found.ends == [None, None] && found.free == [true, false], "{found:?}");
}

/// Against every point of a fine grid, for cars whose weight lies in different places: never above it, and by no more
/// than a cell below it.
#[test]
fn independent_grid_finds_no_better_settings() {
    let lanes = lanes();
    let course = Course::new(&lanes);
    let legs = [Leg::new(&course)];
    let reach = reach();
    let ([c0, c1], [b0, b1]) = (reach.chi.unwrap(), reach.beta_f.unwrap());
    let cars = [(1.05, 0.50, 1.0), (1.30, 0.42, 2.0), (1.45, 0.55, 1.5)];
    for turn in parts::seeds(0..3, 3) {
        let (a, h, locked) = cars[turn as usize];
        let mut car = plain();
        (car.mass.a, car.mass.h, car.driveline.rear_bias) = (a, h, locked);
        let found = retune(&car, &legs, &reach).unwrap();
        let n = 36;
        let at = |i: usize, j: usize| Settings {
            chi: c0 + (c1 - c0) * i as f64 / n as f64,
            beta_f: b0 + (b1 - b0) * j as f64 / n as f64,
        };
        let time = |s: Settings| course.time(&s.on(&car)).unwrap_or(f64::INFINITY);
        let brute = (0..=n).flat_map(|i| (0..=n).map(move |j| (i, j))).map(|(i, j)| time(at(i, j)));
        let brute = brute.fold(f64::INFINITY, f64::min);
        assert!(found.time_s <= brute + 1e-6, "{} {brute} {found:?}", found.time_s);
        assert!(found.time_s > brute - 0.02, "{} {brute} {found:?}", found.time_s);
        assert_eq!(found.time_s, course.time(&found.settings.on(&car)).unwrap());
    }
}

/// The same along one share, finely, with anti-lock: its brakes' share has no say.
#[test]
fn independent_fine_scan_of_one_share() {
    let (lanes, circle) = (lanes(), track(true, vec![flat(300.0, [std::f64::consts::TAU / 300.0; 2])]));
    let courses = [Course::new(&lanes), Course::new(&circle)];
    let legs = [Leg { weight: 2.0, ..Leg::new(&courses[0]) }, Leg::new(&courses[1])];
    for turn in parts::seeds(0..4, 4) {
        let mut car = plain();
        car.brakes.anti_lock = AntiLock::FourChannel;
        car.mass.a = [1.0, 1.15, 1.3, 1.4][turn as usize];
        let found = retune(&car, &legs, &reach()).unwrap();
        let time = |chi: f64| {
            let car = Settings { chi, beta_f: car.brakes.beta_f }.on(&car);
            (2.0 * courses[0].time(&car).unwrap() + courses[1].time(&car).unwrap()) / 3.0
        };
        let brute = (0..=450).map(|i| time(0.35 + 0.001 * f64::from(i))).fold(f64::INFINITY, f64::min);
        assert!(found.time_s <= brute + 1e-6 && found.time_s > brute - 2e-3, "{} {brute} {found:?}", found.time_s);
        assert_eq!((found.settings.beta_f, found.free), (car.brakes.beta_f, [true, false]));
        assert!((found.as_set_time_s - time(car.chassis.chi)).abs() < 1e-12);
    }
}

#[test]
fn property_nothing_to_set_changes_nothing() {
    let (lanes, strip) = (lanes(), track(false, vec![flat(300.0, [0.0; 2])]));
    let (course, flat_out) = (Course::new(&lanes), Course::new(&strip));
    let car = plain();
    let found = retune(&car, &[Leg::new(&course)], &Reach::none()).unwrap();
    assert_eq!((found.settings, found.gain_s(), found.free), (Settings::of(&car), 0.0, [false, false]));
    // On a straight, flat out, no setting gains: they stay as they are.
    let found = retune(&car, &[Leg::new(&flat_out)], &reach()).unwrap();
    assert_eq!((found.settings, found.ends), (Settings::of(&car), [None, None]));
}

/// What would be best lies beyond: the end of the reach, and said so. A reach that leaves out the car as set holds it
/// all the same.
#[test]
fn property_ends_of_the_reach_are_told() {
    let lanes = lanes();
    let course = Course::new(&lanes);
    let mut car = plain();
    car.brakes.anti_lock = AntiLock::FourChannel;
    let best = retune(&car, &[Leg::new(&course)], &reach()).unwrap().settings.chi;
    car.chassis.chi = best - 0.10;
    let near = Reach { chi: Some([best - 0.2, best - 0.05]), beta_f: None, front_first: None };
    let found = retune(&car, &[Leg::new(&course)], &near).unwrap();
    assert_eq!((found.ends[0], found.settings.chi), (Some(End::Most), best - 0.05));
    let beyond = Reach { chi: Some([best - 0.05, best - 0.02]), beta_f: None, front_first: None };
    assert!(retune(&car, &[Leg::new(&course)], &beyond).unwrap().gain_s() > 0.0);
}

#[test]
fn bad_input_no_track_and_no_lap() {
    assert_eq!(retune(&plain(), &[], &reach()).unwrap_err(), StudyError::NoTrack);
    let lanes = lanes();
    let course = Course::new(&lanes);
    let leg = Leg { weight: f64::NAN, ..Leg::new(&course) };
    assert!(matches!(retune(&plain(), &[leg], &reach()), Err(StudyError::Weight { .. })));
    let mut tall = plain();
    tall.mass.h = 30.0;
    assert!(matches!(retune(&tall, &[Leg::new(&course)], &reach()), Err(StudyError::Lap { .. })));
}
