//! Derivatives of cars whose limits tie exactly, left and right, front and rear: finite, and what laps close by say.

use crate::common::random::{Kind, Rng, car, track};
use rayon::prelude::*;
use unladen_lap::{Course, Status};
use unladen_track::Track;
use unladen_vehicle::{Car, Number};

/// An exactly symmetric car; every second one with the same tyres and track widths front and rear as well, every third on a
/// track that is flat and turns as far left as right.
fn tied(seed: u64) -> (Car, Track) {
    let mut r = Rng::new(seed + 900_000);
    let mut road = track(&mut r, Kind::Usual, 400.0);
    let mut car = car(&mut r, Kind::Usual);
    car.mass.y_cg = 0.0;
    if seed.is_multiple_of(2) {
        car.rear = car.front.clone();
    }
    if seed.is_multiple_of(3) {
        for s in &mut road.segments {
            (s.q, s.phi) = ([0.0; 2], [0.0; 2]);
        }
        let mirrored = road.mirrored().segments;
        road.segments.extend(mirrored);
        road.closed = false;
        road.start_speed = 10.0;
    }
    (car, road)
}

/// What is wrong with a derivative: elasticities, and the slopes of laps a small step to either side.
fn wrong(course: &Course, car: &Car, here: f64, number: Number, exact: f64, error: f64) -> Option<String> {
    let value = car.number(number)?.abs();
    let unit = if value > 0.0 { value } else { 0.1 };
    let slope = |by: f64| {
        let mut moved = car.clone();
        *moved.number_mut(number)? += by * unit;
        let lap = course.lap(&moved).ok().filter(|lap| lap.status == Status::Settled)?;
        Some((lap.time - here) / (by * here))
    };
    let (exact, error) = (exact * unit / here, error * unit / here);
    let sides = [-1e-4, -2e-5, 2e-5, 1e-4].map(slope);
    let sides: Vec<f64> = sides.into_iter().collect::<Option<_>>()?;
    let (lo, hi) = sides.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(lo, hi), &x| (lo.min(x), hi.max(x)));
    let allowed = 2e-5 + 0.02 * exact.abs();
    let off = (lo - exact).max(exact - hi);
    // Not a number is off as well.
    (off.is_nan() || off > allowed).then(|| format!("{} {}: {exact:.3e} ± {error:.1e}, off {off:.1e} laps {sides:?}", if off < error { "known" } else { "UNKNOWN" }, number.key()))
}

/// `LAPS=10000` by hand.
#[test]
fn property_derivatives_of_tied_cars_are_what_laps_say() {
    let count = std::env::var("LAPS").ok().and_then(|n| n.parse().ok()).unwrap_or(100u64);
    let found: Vec<(usize, Vec<String>)> = (0..count)
        .into_par_iter()
        .filter_map(|seed| {
            let (car, road) = tied(seed);
            let course = Course::new(&road);
            let lap = course.lap(&car).ok().filter(|lap| lap.status == Status::Settled)?;
            let numbers = [Number::M, Number::A, Number::H, Number::Y_CG, Number::CHI];
            let slopes = lap.derivatives(&numbers);
            let wrong = slopes.iter().filter_map(|d| wrong(&course, &car, lap.time, d.number, d.value, d.error));
            Some((numbers.len(), wrong.map(|w| format!("seed {seed}, {w}")).collect()))
        })
        .collect();
    let all: usize = found.iter().map(|f| f.0).sum();
    let wrong: Vec<&String> = found.iter().flat_map(|f| &f.1).collect();
    println!("{} of {all}: {wrong:#?}", wrong.len());
    assert!(wrong.is_empty(), "{} of {all}", wrong.len());
}

#[test]
fn where_it_goes_wrong() {
    let seed: u64 = std::env::var("SEED").ok().and_then(|n| n.parse().ok()).unwrap_or(8);
    let key = std::env::var("KEY").unwrap_or("mass.total".into());
    let (car, road) = tied(seed);
    let course = Course::new(&road);
    let lap = course.lap(&car).unwrap();
    let number = [Number::M, Number::A, Number::H, Number::Y_CG, Number::CHI].into_iter().find(|n| n.key() == key).unwrap();
    let d = lap.derivatives(&[number]).remove(0);
    let value = car.number(number).unwrap().abs();
    let unit = if value > 0.0 { value } else { 0.1 };
    let at = |by: f64| {
        let mut moved = car.clone();
        *moved.number_mut(number).unwrap() += by * unit;
        course.lap(&moved).unwrap()
    };
    let h = std::env::var("STEP").ok().and_then(|n| n.parse().ok()).unwrap_or(2e-5);
    let (a, b) = (at(-h), at(h));
    let (ra, rb, rows) = (a.trace(), b.trace(), lap.trace());
    println!("{} {:?} exact {:.5e} laps {:.5e}", lap.time, lap.status, d.value * unit / lap.time, (b.time - a.time) / (2.0 * h * lap.time));
    println!("{:?}", car);
    if let Ok(at) = std::env::var("AT") {
        let at: f64 = at.parse().unwrap();
        let i = rows.iter().position(|r| r.s >= at).unwrap();
        let r = &rows[i];
        let road = crate::common::judge::road_at(&road, r.s);
        println!("{:?}", r);
        let width: f64 = std::env::var("W").ok().and_then(|n| n.parse().ok()).unwrap_or(0.5);
        for j in -20..=20 {
            let a = r.a_x + f64::from(j) * width / 20.0;
            let g = lap.model().grip(&road, r.v * r.v, a);
            let x = lap.model().axles(&road, r.v * r.v, a);
            println!("a {a:.6} slack {:.4e} {:?} fx {:.1} wheels {:?}", g.value, g.bound, x.f_x, lap.model().wheels(&x, &mut unladen_vehicle::branches::Free).n);
        }
    }
    let mut last = 0.0;
    for i in 0..rows.len() {
        let fd = (rb[i].t - ra[i].t) / (2.0 * h * lap.time);
        let ex = d.along[i] * unit / lap.time;
        let off = ex - fd;
        if (off - last).abs() > 1e-4 {
            println!("s {:.2} v {:.4} ax {:.3} gear {} {} : off {:.3e} more; exact {:.4e} fd {:.4e} limits {} {}", rows[i].s, rows[i].v, rows[i].a_x, rows[i].gear, rows[i].limit.key(), off - last, ex, fd, ra[i].limit.key(), rb[i].limit.key());
        }
        last = off;
    }
}
