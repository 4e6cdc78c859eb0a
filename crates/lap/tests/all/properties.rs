//! What must hold for any car on any track: mirror images, another start line, cut segments, better cars.

use crate::common::judge::slacks;
use crate::common::random::{Kind, Rng, car, track};
use crate::common::{CARS, TRACKS, demo_car, demo_track, quantile};
use rayon::prelude::*;
use unladen_lap::{Course, LapError, Row, STEP_M, Status};
use unladen_testkit::parts;
use unladen_track::{Segment, Track};
use unladen_vehicle::car::{AntiLock, Day};
use unladen_vehicle::{Car, Model};

fn demos() -> impl Iterator<Item = (String, Car, Track)> {
    CARS.iter().flat_map(|&c| TRACKS.iter().map(move |&t| (format!("{c} on {t}"), demo_car(c), demo_track(t))))
}

/// A mirror shows the same lap: track and CG offset reversed, the same time. Tolerance 1e-9 s: the issue's; the same
/// roots, in sums of another order. The demo cars (put 20 mm off centre) on the demo tracks.
#[test]
fn property_mirror_image_of_the_demos() {
    let wrong: Vec<Off> = demos()
        .filter_map(|(what, mut car, track)| {
            car.mass.y_cg += 0.02;
            mirror(&what, &car, &track)
        })
        .collect();
    assert!(wrong.is_empty(), "{wrong:#?}");
}

/// The same for 400 random usual cars and tracks, but for one in a hundred (3 of 400), which only the stated errors hold: where a wheel
/// lifts, or where two pieces of the envelope coincide, rounding says which of them is followed.
#[test]
fn property_mirror_image_of_random_cars() {
    let look = |seed: u64| {
        let mut r = Rng::new(seed + 100_000);
        let track = track(&mut r, Kind::Usual, 500.0);
        mirror(&format!("seed {seed}"), &car(&mut r, Kind::Usual), &track)
    };
    let seeds = parts::seeds(0..400, 4);
    let count = seeds.end - seeds.start;
    let wrong: Vec<Off> = seeds.into_par_iter().filter_map(look).collect();
    println!("{wrong:#?}");
    assert!(wrong.len() as u64 * 50 <= count, "{} of {count}", wrong.len());
    assert!(wrong.iter().all(|w| w.off <= w.error));
}

/// A lap that its mirror image doesn't share.
#[derive(Debug)]
#[allow(dead_code)]
struct Off {
    what: String,
    off: f64,
    error: f64,
}

/// What is wrong with a mirror image, if anything.
fn mirror(what: &str, car: &Car, track: &Track) -> Option<Off> {
    let mut other = car.clone();
    other.mass.y_cg = -car.mass.y_cg;
    let splits = Model::new(car, Day::STANDARD).may_split;
    match (Course::new(track).lap(car), Course::new(&track.mirrored()).lap(&other)) {
        (Ok(a), Ok(b)) => {
            let (off, error) = ((b.time - a.time).abs(), a.error + b.error);
            let allowed = if splits { error } else { 1e-9 };
            (off > allowed).then(|| Off { what: what.into(), off, error })
        }
        (a, b) => {
            let (a, b) = (a.err(), b.err());
            (a != b).then(|| Off { what: format!("{what}: {a:?} {b:?}"), off: f64::INFINITY, error: 0.0 })
        }
    }
}

/// Where braking begins between two stations there is a row: the fastest of all is that of sixteen times as many stations to
/// 0.01 m/s (stations alone are up to 0.3 m/s low), in order and on the edge of what grip allows.
#[test]
fn property_peaks_of_speed_have_rows() {
    let fastest = |rows: &[Row]| rows.iter().map(|row| row.v).fold(0.0, f64::max);
    let mut low = 0.0f64;
    for (name, car, track) in demos() {
        let lap = Course::new(&track).lap(&car).unwrap();
        let (rows, stations) = (lap.trace_with_peaks(), lap.trace());
        assert!(rows.windows(2).all(|w| w[0].s < w[1].s && w[0].t < w[1].t), "{name}");
        assert!(stations.iter().all(|row| rows.contains(row)), "{name}");
        for peak in rows.iter().filter(|row| !stations.contains(row)) {
            let (grip, _) = slacks(lap.model(), &track, peak);
            assert!(grip > -1e-9 && peak.a_x < 0.0, "{name}: {grip} of {peak:?}");
        }
        let fine = Course::with_step(&track, STEP_M / 16.0).lap(&car).unwrap();
        let truth = fastest(&fine.trace_with_peaks());
        assert!((fastest(&rows) - truth).abs() < 0.01, "{name}: {} of {truth} m/s", fastest(&rows));
        low = low.max(truth - fastest(&stations));
    }
    assert!(low > 0.1, "stations would do: {low} m/s");
}

/// A circuit has no seam: the line moved to other places, stations and all, leaves the lap time the same within what the
/// two laps say of their error.
#[test]
fn property_start_line_moved() {
    let mut worst = 0.0f64;
    for (what, car, track) in demos().filter(|d| d.2.closed) {
        let lap = Course::new(&track).lap(&car).unwrap();
        for share in [0.013, 0.2, 0.41, 0.66, 0.87] {
            let moved = track.with_start_at(track.length() * share).unwrap();
            let other = Course::new(&moved).lap(&car).unwrap();
            let off = (lap.time - other.time).abs();
            worst = worst.max(off / (lap.error + other.error));
            println!("{what} from {share}: {off:.1e} s, errors {:.1e} and {:.1e}", lap.error, other.error);
            assert!(off <= lap.error + other.error, "{what} from {share}: {off:e}");
        }
    }
    println!("largest share of the stated errors: {worst:.2}");
}

/// Two halves of a segment are the segment: the same to the stated errors as they come (there are more stations), and
/// exactly once coalesced.
#[test]
fn property_two_half_segments_equal_one() {
    for (what, car, track) in demos() {
        let lap = Course::new(&track).lap(&car).unwrap();
        let halves = |g: &Segment| {
            let middle = |e: [f64; 2]| 0.5 * (e[0] + e[1]);
            let (k, q, p) = (middle(g.kappa), middle(g.q), middle(g.phi));
            let length = 0.5 * g.length;
            [
                Segment { length, kappa: [g.kappa[0], k], q: [g.q[0], q], phi: [g.phi[0], p], ..g.clone() },
                Segment { length, kappa: [k, g.kappa[1]], q: [q, g.q[1]], phi: [p, g.phi[1]], ..g.clone() },
            ]
        };
        let cut = Track { segments: track.segments.iter().flat_map(halves).collect(), ..track.clone() };
        let other = Course::new(&cut).lap(&car).unwrap();
        let off = (lap.time - other.time).abs();
        println!("{what}: {off:.1e} s, errors {:.1e} and {:.1e}", lap.error, other.error);
        assert!(off <= lap.error + other.error, "{what}: {off:e}");
        let again = Course::new(&cut.coalesced()).time(&car).unwrap();
        let plain = Course::new(&track.coalesced()).time(&car).unwrap();
        assert!((again - plain).abs() < 1e-9, "{what}: {again} {plain}");
    }
}

/// More grip, more power, less drag: never slower, beyond the laps' stated errors. 10³ random usual cars, each with one
/// change. Shift time is left out: a gear driven a little further may cost a whole shift later (that is the rule's own
/// doing). Less drag is asked of cars that brake as well as they can, with anti-lock on every wheel, and not
/// downhill: see below.
#[test]
fn property_better_cars_are_not_slower() {
    type Change = fn(&mut Car, f64);
    let changes: [(&str, Change); 3] = [
        ("grip", |car, by| {
            for tyre in [&mut car.front, &mut car.rear] {
                for n in [&mut tyre.mu_x0, &mut tyre.mu_y0, &mut tyre.k_x, &mut tyre.k_y] {
                    *n *= by;
                }
            }
        }),
        ("power", |car, by| car.engine.power *= by),
        ("drag", |car, by| car.aero.cd_a /= by),
    ];
    let seeds = parts::seeds(0..1000, 4);
    let count = (seeds.end - seeds.start) as usize;
    let outcomes: Vec<_> = seeds
        .into_par_iter()
        .filter_map(|seed| {
            let mut r = Rng::new(seed + 200_000);
            let mut track = track(&mut r, Kind::Usual, 500.0);
            let mut before = car(&mut r, Kind::Usual);
            before.driveline.shift_time = 0.0;
            let (name, change) = changes[seed as usize % 3];
            if name == "drag" {
                before.brakes.anti_lock = AntiLock::FourChannel;
                (before.driver.braking, before.driver.traction) = (1.0, 1.0);
                track.segments.iter_mut().for_each(|g| g.q = [0.0; 2]);
            }
            let mut after = before.clone();
            change(&mut after, 1.0 + r.log_range(0.001, 0.2));
            let course = Course::new(&track);
            let lap = course.lap(&before).ok()?;
            let (time, error) = course.lap(&after).map_or((f64::INFINITY, 0.0), |lap| (lap.time, lap.error));
            Some((seed, name, time - lap.time, lap.error + error))
        })
        .collect();
    let gains = |of: &str| {
        let mut gains: Vec<f64> = outcomes.iter().filter(|o| o.1 == of).map(|o| o.2).collect();
        gains.sort_by(f64::total_cmp);
        format!("{of}: {} laps, change {:.1e} … {:.1e} s", gains.len(), gains[0], quantile(&gains, 1.0))
    };
    for (name, _) in changes {
        println!("{}", gains(name));
    }
    let slower: Vec<_> = outcomes.iter().filter(|o| o.2 > o.3).collect();
    for o in &slower {
        println!("seed {} {}: {:.2e} s slower, errors {:.1e}", o.0, o.1, o.2, o.3);
    }
    assert!(10 * outcomes.len() > 9 * count, "{} laps of {count}", outcomes.len());
    assert!(slower.is_empty(), "{} of {} are slower", slower.len(), outcomes.len());
}

/// Drag brakes: a car with much power and badly shared brakes (no anti-lock) gains by more of it, on every mesh. So
/// "less drag is never slower" holds only for cars that brake at least as well as they drive, and not downhill.
#[test]
fn property_drag_can_help_a_car_that_brakes_badly() {
    let mut r = Rng::new(383 + 200_000);
    let track = track(&mut r, Kind::Usual, 500.0);
    let mut car = car(&mut r, Kind::Usual);
    car.driveline.shift_time = 0.0;
    assert_eq!(car.brakes.anti_lock, AntiLock::None);
    for step in [STEP_M, STEP_M / 4.0] {
        let course = Course::with_step(&track, step);
        let time = |share: f64| {
            let mut car = car.clone();
            car.aero.cd_a *= share;
            course.time(&car).unwrap()
        };
        let lap = course.lap(&car).unwrap();
        let gain = time(0.5) - time(1.0);
        println!("half the drag costs {gain:.4} s at {step} m (stated error {:.1e})", lap.error);
        assert!(gain > 10.0 * lap.error);
    }
}

/// The same lap again, on another thread and after others: to the last bit, trace and derivatives too.
#[test]
fn property_laps_repeat_to_the_last_bit() {
    let run = |seed: u64| {
        let mut r = Rng::new(seed + 300_000);
        let track = track(&mut r, if seed.is_multiple_of(2) { Kind::Usual } else { Kind::Odd }, 400.0);
        let car = car(&mut r, if seed.is_multiple_of(2) { Kind::Usual } else { Kind::Odd });
        let course = Course::new(&track);
        let lap = course.lap(&car)?;
        let per_kg = lap.derivatives(&[unladen_vehicle::Number::M]);
        let bits = [lap.time, lap.error, per_kg[0].value, per_kg[0].error].map(f64::to_bits);
        Ok::<_, LapError>((bits, lap.status == Status::Settled, format!("{:?}", lap.trace())))
    };
    let seeds = parts::seeds(0..200, 4);
    let first: Vec<_> = seeds.clone().map(run).collect();
    // The other way round, in any order.
    let back: Vec<u64> = seeds.clone().rev().collect();
    let again: Vec<_> = back.into_par_iter().map(run).collect();
    for (seed, (a, b)) in seeds.zip(first.iter().zip(again.iter().rev())) {
        assert!(a == b, "seed {seed}");
    }
}

/// `Course::time` is the lap's own time, and the default step is the stated one.
#[test]
fn property_time_alone_is_the_laps_time() {
    for (what, car, track) in demos() {
        let (course, stated) = (Course::new(&track), Course::with_step(&track, STEP_M));
        let lap = course.lap(&car).unwrap();
        assert_eq!(course.time(&car).unwrap().to_bits(), lap.time.to_bits(), "{what}");
        assert_eq!(stated.time(&car).unwrap().to_bits(), lap.time.to_bits(), "{what}");
        assert_eq!(lap.status, Status::Settled, "{what}");
    }
}
