//! Random but valid cars on random valid tracks: whatever comes out must mean something.
#![allow(clippy::unwrap_used)]

mod common;

use std::panic::{AssertUnwindSafe, catch_unwind};

use common::quantile;
use common::random::{Kind, Rng, car, track};
use rayon::prelude::*;
use unladen_lap::{Course, Lap, LapError, Limit, Row, STEP_M, Status};
use unladen_track::Track;
use unladen_vehicle::road::Shape;
use unladen_vehicle::{Car, Model};

/// As many as a run of all tests bears; `FROM=0 TO=10000` for the whole lot (open: some odd cars take a second each).
const CASES: u64 = 400;

fn cases() -> std::ops::Range<u64> {
    let n = |k: &str| std::env::var(k).ok().and_then(|v| v.parse().ok());
    n("FROM").unwrap_or(0)..n("TO").unwrap_or(CASES)
}

fn case(seed: u64) -> (Car, Track) {
    let mut r = Rng::new(seed);
    let kind = if seed.is_multiple_of(2) { Kind::Usual } else { Kind::Odd };
    let track = track(&mut r, kind, 700.0);
    (car(&mut r, kind), track)
}

/// The road at a row: on the side of the segment that starts there.
fn road_at(track: &Track, s: f64) -> unladen_vehicle::road::Road {
    let mut start = 0.0;
    let mut i = 0;
    while i + 1 < track.segments.len() && s >= start + track.segments[i].length - 1e-9 {
        start += track.segments[i].length;
        i += 1;
    }
    let g = &track.segments[i];
    let at = (s - start).clamp(0.0, g.length);
    let on = |[p, q]: [f64; 2]| p + (q - p) * at / g.length;
    Shape { kappa: on(g.kappa), q: on(g.q), dq: (g.q[1] - g.q[0]) / g.length, phi: on(g.phi), gamma: g.gamma }.road()
}

/// How far a row lies outside its own feasible set: (grip, power), as slacks; positive is inside.
fn slacks(model: &Model, track: &Track, row: &Row) -> (f64, f64) {
    let road = road_at(track, row.s);
    let x = row.v * row.v;
    let grip = model.grip(&road, x, row.a_x).value;
    let gearing = &model.gearing;
    let power = if row.limit == Limit::Shift {
        model.power(&road, x, row.a_x, 0.0, gearing.m_rot_shifting)
    } else {
        let modes = gearing.modes.iter().enumerate().filter(|(_, m)| m.gear == row.gear && x <= m.x_end * (1.0 + 1e-9));
        modes
            .map(|(i, mode)| {
                let (piece, _) = gearing.piece_at(i, x);
                model.power(&road, x, row.a_x, gearing.force(mode, &piece, x), mode.m_rot)
            })
            .fold(f64::NEG_INFINITY, f64::max)
    };
    // Braking needs no gear.
    let braking = model.axles(&road, x, row.a_x).f_x < 0.0;
    (grip, if braking { f64::INFINITY } else { power })
}

/// The best slack of grip and power that the mean a_x over each cell has at its middle, in any gear: below about −h²,
/// the profile jumps. Returns the worst and where.
fn jumps(model: &Model, track: &Track, rows: &[Row]) -> (f64, f64) {
    let mut worst = (f64::INFINITY, 0.0);
    for w in rows.windows(2) {
        let (s, ds) = (0.5 * (w[0].s + w[1].s), w[1].s - w[0].s);
        let road = road_at(track, s);
        let (x_0, x_1) = (w[0].v * w[0].v, w[1].v * w[1].v);
        let (x, a) = (0.5 * (x_0 + x_1), 0.5 * road.cos_theta * (x_1 - x_0) / ds);
        let grip = model.grip(&road, x, a).value;
        let gearing = &model.gearing;
        let power = (0..gearing.modes.len())
            .filter(|&i| x_0 <= gearing.modes[i].x_end * (1.0 + 1e-9))
            .map(|i| {
                let (piece, _) = gearing.piece_at(i, x);
                let mode = &gearing.modes[i];
                model.power(&road, x, a, gearing.force(mode, &piece, x), mode.m_rot)
            })
            .fold(f64::NEG_INFINITY, f64::max);
        let slack = if model.axles(&road, x, a).f_x < 0.0 { grip } else { grip.min(power) };
        if slack < worst.0 {
            worst = (slack, s);
        }
    }
    worst
}

/// The best slack of grip that any a_x has at a row's speed: below 0, the row's speed itself is beyond the ceiling.
fn best_slack(model: &Model, track: &Track, row: &Row) -> f64 {
    let road = road_at(track, row.s);
    let at = |a: f64| model.grip(&road, row.v * row.v, a).value;
    let (mut best, mut step) = (row.a_x, 4.0);
    let coarse = (-100..=100).map(|i| f64::from(i) * 0.25).chain([row.a_x]);
    for a in coarse {
        if at(a) > at(best) {
            best = a;
        }
    }
    while step > 1e-12 {
        if at(best + step) > at(best) {
            best += step;
        } else if at(best - step) > at(best) {
            best -= step;
        } else {
            step *= 0.5;
        }
    }
    at(best)
}

/// The largest a_x that grip and any gear allow at X, on a net of 0.02 m/s²; `None` where there is none.
fn largest(model: &Model, road: &unladen_vehicle::road::Road, x: f64) -> Option<f64> {
    let gearing = &model.gearing;
    let power = |a: f64| {
        let modes = gearing.modes.iter().enumerate().filter(|(_, m)| x <= m.x_end);
        modes
            .map(|(i, mode)| {
                let (piece, _) = gearing.piece_at(i, x);
                model.power(road, x, a, gearing.force(mode, &piece, x), mode.m_rot)
            })
            .fold(f64::NEG_INFINITY, f64::max)
    };
    (-1000..=1000)
        .rev()
        .map(|i| f64::from(i) * 0.02)
        .find(|&a| model.grip(road, x, a).value >= 0.0 && (model.axles(road, x, a).f_x < 0.0 || power(a) >= 0.0))
}

/// Whether an error says what is so: looked up in the model itself, at and around the place it names.
fn is_true(error: &LapError, car: &Car, track: &Track) -> bool {
    let mut day = car.clone();
    (day.day.rho, day.day.gamma_0) = (track.rho, track.grip);
    let model = Model::new(&day);
    let around =
        |s: f64| (-16..=16).map(move |i| s + f64::from(i) * 0.25).filter(|s| (0.0..=track.length()).contains(s));
    match error {
        LapError::Stalls { s_m, .. } => {
            around(*s_m).any(|s| largest(&model, &road_at(track, s), 1e-6).is_none_or(|a| a <= 0.04))
        }
        LapError::CannotMoveOff => largest(&model, &road_at(track, 0.0), 1e-6).is_none_or(|a| a <= 0.04),
        LapError::NoSpeed { s_m, .. } => {
            let top = model.gearing.modes.iter().map(|m| m.x_end).fold(0.0, f64::max);
            let speeds = |s: f64| {
                let road = road_at(track, s);
                (0..=60).all(|i| largest(&model, &road, top * (f64::from(i) / 60.0).powi(4)).is_none())
            };
            around(*s_m).any(speeds)
        }
        LapError::StartTooFast { most_mps, .. } => {
            let slower = Track { start_speed: 0.999 * most_mps, ..track.clone() };
            !matches!(Course::new(&slower).lap(car), Err(LapError::StartTooFast { .. }))
        }
        #[allow(unreachable_patterns)]
        _ => false,
    }
}

struct Outcome {
    seed: u64,
    result: Result<(f64, f64, Status, f64, f64), LapError>,
    fault: Option<String>,
}

fn numbers_are_sound(lap: &Lap, rows: &[Row], track: &Track) -> Option<String> {
    if !(lap.time.is_finite() && lap.time > 0.0 && lap.error.is_finite() && lap.error >= 0.0) {
        return Some(format!("time {} ± {}", lap.time, lap.error));
    }
    for row in rows {
        let all = [row.s, row.t, row.v, row.a_x, row.a_y];
        if all.iter().chain(&row.load).any(|x| !x.is_finite()) || row.v < 0.0 || row.load.iter().any(|&n| n < 0.0) {
            return Some(format!("{row:?}"));
        }
    }
    if rows.windows(2).any(|w| w[1].t <= w[0].t || w[1].s <= w[0].s) {
        let w = rows.windows(2).find(|w| w[1].t <= w[0].t || w[1].s <= w[0].s).unwrap();
        return Some(format!("time or distance stands still: {:?} {:?}", w[0], w[1]));
    }
    let (first, last) = (rows.first().unwrap(), rows.last().unwrap());
    if (last.t - lap.time).abs() > 1e-9 || (last.s - track.length()).abs() > 1e-6 {
        return Some(format!("ends at {} m after {} s", last.s, last.t));
    }
    if track.closed && (first.v - last.v).abs() > 1e-9 * first.v && lap.status == Status::Settled {
        return Some(format!("starts with {} and ends with {} m/s", first.v, last.v));
    }
    None
}

fn run(seed: u64) -> Outcome {
    let t0 = std::time::Instant::now();
    let out = run_(seed);
    let dt = t0.elapsed().as_secs_f64();
    if dt > 0.1 {
        eprintln!("slow {seed} {dt:.2} {:?}", out.result.as_ref().map(|r| r.2));
    }
    out
}
fn run_(seed: u64) -> Outcome {
    let (car, track) = case(seed);
    let solved = catch_unwind(AssertUnwindSafe(|| {
        let course = Course::with_step(&track, STEP_M);
        let lap = course.lap(&car)?;
        let rows = course.trace(&lap);
        let mut fault = numbers_are_sound(&lap, &rows, &track);
        let model = Model::new(lap.car());
        let (mut grip, mut power) = (f64::INFINITY, f64::INFINITY);
        for row in &rows {
            let (g, p) = slacks(&model, &track, row);
            (grip, power) = (grip.min(g), power.min(p));
            if g.is_nan() || p.is_nan() {
                fault = Some(format!("slack of {row:?}"));
            }
        }
        Ok((lap.time, lap.error, lap.status, grip, power, fault))
    }));
    match solved {
        Err(panic) => {
            let text = panic.downcast_ref::<String>().cloned();
            let text = text.or_else(|| panic.downcast_ref::<&str>().map(ToString::to_string)).unwrap_or_default();
            Outcome {
                seed,
                result: Ok((f64::NAN, 0.0, Status::Settled, 0.0, 0.0)),
                fault: Some(format!("panic: {text}")),
            }
        }
        Ok(Err(error)) => Outcome { seed, result: Err(error), fault: None },
        Ok(Ok((t, e, status, g, p, fault))) => Outcome { seed, result: Ok((t, e, status, g, p)), fault },
    }
}

#[test]
fn property_random_cars_on_random_tracks() {
    let outcomes: Vec<Outcome> =
        cases().into_par_iter().filter(|s| std::env::var("USUAL").is_err() || s % 2 == 0).map(run).collect();
    let mut count = std::collections::BTreeMap::<&str, usize>::new();
    for outcome in &outcomes {
        let key = match &outcome.result {
            Ok((_, _, Status::Settled, ..)) => "settled",
            Ok((_, _, Status::Unsettled, ..)) => "unsettled",
            Err(LapError::NoSpeed { .. }) => "no speed",
            Err(LapError::Stalls { .. }) => "stalls",
            Err(LapError::CannotMoveOff) => "cannot move off",
            Err(LapError::StartTooFast { .. }) => "start too fast",
        };
        *count.entry(key).or_default() += 1;
    }
    println!("{count:?}");
    for (what, pick) in [("grip", 3usize), ("power", 4)] {
        let mut slack: Vec<(f64, u64)> = outcomes
            .iter()
            .filter_map(|o| o.result.as_ref().ok().map(|r| (if pick == 3 { r.3 } else { r.4 }, o.seed)))
            .collect();
        slack.sort_by(|a, b| a.0.total_cmp(&b.0));
        let values: Vec<f64> = slack.iter().map(|s| s.0).collect();
        println!(
            "{what} slack: worst {:?}; 0.1 % {:.1e}, 1 % {:.1e}, 10 % {:.1e}, median {:.1e}; below -1e-9: {}",
            &slack[..8.min(slack.len())],
            quantile(&values, 0.001),
            quantile(&values, 0.01),
            quantile(&values, 0.1),
            quantile(&values, 0.5),
            values.iter().filter(|&&s| s < -1e-9).count(),
        );
    }
    let faults: Vec<_> = outcomes.iter().filter(|o| o.fault.is_some()).collect();
    for o in faults.iter().take(20) {
        println!("seed {}: {}", o.seed, o.fault.as_deref().unwrap_or(""));
    }
    println!("faults: {}", faults.len());
    for o in outcomes.iter().filter(|o| o.result.is_err()).take(40) {
        println!("seed {}: {}", o.seed, o.result.as_ref().err().unwrap());
    }
}

#[test]
#[ignore = "to look at one case: SEED=…"]
fn look() {
    let seed: u64 = std::env::var("SEED").unwrap().parse().unwrap();
    let (car, track) = case(seed);
    println!("{car:?}\n{track:?}");
    let step = std::env::var("STEP").ok().and_then(|v| v.parse().ok()).unwrap_or(STEP_M);
    let course = Course::with_step(&track, step);
    let lap = match course.lap(&car) {
        Ok(lap) => lap,
        Err(e) => return println!("{e}"),
    };
    println!("{} ± {} {:?}", lap.time, lap.error, lap.status);
    let model = Model::new(lap.car());
    for row in course.trace(&lap) {
        let (g, p) = slacks(&model, &track, &row);
        println!(
            "s {:9.3} t {:9.4} v {:8.4} ax {:8.4} ay {:8.4} gear {} {:10} g {g:9.2e} p {p:9.2e} {}",
            row.s,
            row.t,
            row.v,
            row.a_x,
            row.a_y,
            row.gear,
            row.limit.key(),
            if g < -1e-9 || p < -1e-9 { "OUT" } else { "" }
        );
    }
}

#[test]
#[ignore = "survey of violations: FROM=… TO=…"]
fn survey() {
    let mut all: Vec<_> = cases()
        .into_par_iter()
        .filter(|s| s % 2 == 0)
        .filter_map(|seed| {
            let (car, track) = case(seed);
            let course = Course::with_step(&track, STEP_M);
            let lap = course.lap(&car).ok()?;
            let model = Model::new(lap.car());
            let rows = course.trace(&lap);
            let worst = rows
                .iter()
                .enumerate()
                .map(|(i, row)| {
                    let (g, p) = slacks(&model, &track, row);
                    let b = if g < 0.0 { best_slack(&model, &track, row) } else { g };
                    (if std::env::var("BEST").is_ok() { b } else { g.min(p) }, b, p, i, *row)
                })
                .min_by(|a, b| a.0.total_cmp(&b.0))?;
            Some((seed, lap.error, worst, rows.len()))
        })
        .collect();
    all.sort_by(|a, b| a.2.0.total_cmp(&b.2.0));
    for (seed, error, (w, g, p, i, row), n) in all.iter().take(120) {
        println!(
            "seed {seed} err {error:8.1e} worst {w:9.2e} best {g:9.2e} p {p:9.2e} row {i}/{n} s {:9.3} v {:7.3} ax {:8.3} {} gear {}",
            row.s,
            row.v,
            row.a_x,
            row.limit.key(),
            row.gear
        );
    }
}

#[test]
#[ignore = "grip against a_x at a place: SEED=… S=… V=… (LO=… HI=… N=…)"]
fn scan() {
    let get = |k: &str| std::env::var(k).ok().and_then(|v| v.parse::<f64>().ok());
    let (mut car, track) = case(get("SEED").unwrap() as u64);
    car.day.rho = track.rho;
    let model = Model::new(&car);
    let road = road_at(&track, get("S").unwrap());
    println!("{road:?}");
    let (lo, hi, n) = (get("LO").unwrap_or(-20.0), get("HI").unwrap_or(20.0), get("N").unwrap_or(40.0));
    let v = get("V").unwrap();
    for i in 0..=n as usize {
        let a = lo + (hi - lo) * i as f64 / n;
        let g = model.grip(&road, v * v, a);
        println!("a {a:9.5} slack {:12.4e} {:?}", g.value, g.bound);
    }
}

#[test]
#[ignore = "survey of jumps: FROM=… TO=…"]
fn survey_jumps() {
    let mut all: Vec<_> = cases()
        .into_par_iter()
        .filter(|s| s % 2 == 0)
        .filter_map(|seed| {
            let (car, track) = case(seed);
            let course = Course::with_step(&track, STEP_M);
            let lap = course.lap(&car).ok()?;
            let (slack, s) = jumps(&Model::new(lap.car()), &track, &course.trace(&lap));
            Some((slack, s, seed, lap.time, lap.error))
        })
        .collect();
    all.sort_by(|a, b| a.0.total_cmp(&b.0));
    for (slack, s, seed, t, e) in all.iter().take(40) {
        println!("seed {seed} slack {slack:9.2e} at s {s:.3} lap {t:.3} ± {e:.1e}");
    }
    let values: Vec<f64> = all.iter().map(|a| a.0).collect();
    println!(
        "1 % {:.1e}, 5 % {:.1e}, 20 % {:.1e}, 50 % {:.1e}",
        quantile(&values, 0.01),
        quantile(&values, 0.05),
        quantile(&values, 0.2),
        quantile(&values, 0.5)
    );
}

#[test]
#[ignore = "survey of error bounds: FROM=… TO=…"]
fn survey_errors() {
    let mut all: Vec<_> = cases()
        .into_par_iter()
        .filter(|s| s % 2 == 0)
        .filter_map(|seed| {
            let (car, track) = case(seed);
            let lap = Course::with_step(&track, STEP_M).lap(&car).ok()?;
            let fine = match Course::with_step(&track, STEP_M / 16.0).lap(&car) {
                Ok(l) => l,
                Err(e) => {
                    println!("seed {seed}: fine run fails: {e}");
                    return None;
                }
            };
            let off = lap.time - fine.time;
            Some((off.abs() / lap.error, off, lap.error, fine.error, seed, lap.time))
        })
        .collect();
    all.sort_by(|a, b| b.0.total_cmp(&a.0));
    for (ratio, off, error, fine, seed, t) in all.iter().take(50) {
        println!("seed {seed} ratio {ratio:9.2e} off {off:9.2e} error {error:9.2e} fine error {fine:8.1e} lap {t:.3}");
    }
    let values: Vec<f64> = all.iter().map(|a| a.1.abs()).rev().collect();
    let mut sorted = values.clone();
    sorted.sort_by(f64::total_cmp);
    println!(
        "{} laps, ratio > 1: {}, off > 1 ms: {}, median off {:.1e}, 95 % {:.1e}",
        all.len(),
        all.iter().filter(|a| a.0 > 1.0).count(),
        all.iter().filter(|a| a.1.abs() > 1e-3).count(),
        quantile(&sorted, 0.5),
        quantile(&sorted, 0.95)
    );
    let mut errors: Vec<f64> = all.iter().map(|a| a.2).collect();
    errors.sort_by(f64::total_cmp);
    println!("reported: median {:.1e}, 95 % {:.1e}", quantile(&errors, 0.5), quantile(&errors, 0.95));
}

#[test]
#[ignore = "survey of errors: FROM=… TO=…"]
fn survey_meaning() {
    let all: Vec<_> = cases()
        .into_par_iter()
        .filter_map(|seed| {
            let (car, track) = case(seed);
            let error = Course::with_step(&track, STEP_M).lap(&car).err()?;
            let mut free = car.clone();
            free.driveline.shift_time = 0.0;
            let t0 = std::time::Instant::now();
            let freely = Course::with_step(&track, STEP_M).lap(&free).err();
            if t0.elapsed().as_secs_f64() > 1.0 {
                println!("slow lap {seed} {:?}", t0.elapsed());
            }
            let t0 = std::time::Instant::now();
            let truth = is_true(&error, &car, &track);
            if t0.elapsed().as_secs_f64() > 1.0 {
                println!("slow truth {seed} {:?} {error}", t0.elapsed());
            }
            Some((seed, truth, error, car.driveline.shift_time, freely))
        })
        .collect();
    for (seed, _, error, shift, freely) in
        all.iter().filter(|a| !a.1 && !(a.3 > 0.0 && !matches!(a.2, LapError::NoSpeed { .. })))
    {
        println!(
            "seed {seed} shift {shift:.2}: {error}; without shift time: {}",
            freely.as_ref().map_or("laps".into(), ToString::to_string)
        );
    }
    println!("{} errors, {} not true", all.len(), all.iter().filter(|a| !a.1).count());
}

#[test]
#[ignore = "feasible speeds about a place: SEED=… S=… W=…"]
fn speeds() {
    let get = |k: &str| std::env::var(k).ok().and_then(|v| v.parse::<f64>().ok());
    let (mut car, track) = case(get("SEED").unwrap() as u64);
    (car.day.rho, car.day.gamma_0) = (track.rho, track.grip);
    let model = Model::new(&car);
    let (s, w) = (get("S").unwrap(), get("W").unwrap_or(2.0));
    for i in -10..=10 {
        let s = s + w * f64::from(i) / 10.0;
        let road = road_at(&track, s);
        let mut bands: Vec<(f64, f64, f64)> = vec![];
        let mut inside = false;
        for j in 0..=400 {
            let v = 0.1 * f64::from(j);
            match largest(&model, &road, (v * v).max(1e-6)) {
                Some(a) if inside => {
                    let b = bands.last_mut().unwrap();
                    b.1 = v;
                    b.2 = a
                }
                Some(a) => {
                    bands.push((v, v, a));
                    inside = true
                }
                None => inside = false,
            }
        }
        println!(
            "s {s:.4} gamma {:.2} y_0 {:.3} y_x {:.4} x_0 {:.3}: v from, to, largest a_x at top {bands:.2?}",
            road.gamma, road.y_0, road.y_x, road.x_0
        );
    }
}
