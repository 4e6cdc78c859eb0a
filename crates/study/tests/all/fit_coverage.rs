//! How often the truth is within what a fit says: on the true track, and on one made of the same log's positions.

use std::ops::Range;

use rayon::prelude::*;
use unladen_lap::Course;
use unladen_positions::{Line, Noise, Run, Tolerance};
use unladen_study::fit::{Because, Fit, Knob, LoggedLap, Prediction, applied, fit_told_apart, predict};
use unladen_study::made_track::lines::Lines;
use unladen_study::made_track::synthetic::{Logger, Sample, drive};
use unladen_track::{Segment, Track};
use unladen_vehicle::example_car;

use crate::coverage::random;
use crate::figures::WISH;

/// Whole laps of a log: positions with heights, speeds and gears.
fn laps(samples: &[Sample]) -> Vec<(Run, Vec<f64>, Vec<u8>)> {
    let mut all: Vec<(Run, Vec<f64>, Vec<u8>)> = vec![Default::default()];
    let mut last = 0.0;
    for p in samples {
        if p.s < last - 100.0 {
            all.push(Default::default());
        }
        last = p.s;
        let (run, speeds, gears) = all.last_mut().unwrap();
        let [x, y, z] = p.position.unwrap();
        run.points.push([x, y]);
        run.t.push(p.t);
        run.z.push(z);
        speeds.push(p.speed);
        gears.push(p.gear);
    }
    let n = all.len();
    all[1..n - 1].to_vec()
}

/// With hills: waves that end as they begin.
fn hilly(track: &Track, seed: u64) -> Track {
    let mut noise = Noise::new(seed ^ 0x51);
    let length = track.length();
    let waves: Vec<(f64, f64, f64)> = [1.0, 2.0, 5.0]
        .iter()
        .map(|k| (k * std::f64::consts::TAU / length, 0.03 * noise.normal().abs(), 6.0 * noise.even()))
        .collect();
    let q = |s: f64| waves.iter().map(|(w, a, p)| a * (w * s + p).sin()).sum::<f64>();
    let mut at = 0.0;
    let mut segments = Vec::new();
    for g in &track.segments {
        let parts = (g.length / 15.0).ceil().max(1.0);
        let step = g.length / parts;
        for i in 0..parts as usize {
            let k = |j: usize| g.kappa[0] + (g.kappa[1] - g.kappa[0]) * j as f64 / parts;
            segments.push(Segment { length: step, kappa: [k(i), k(i + 1)], q: [q(at), q(at + step)], ..g.clone() });
            at += step;
        }
    }
    Track { segments, ..track.clone() }
}

struct One {
    truth: Vec<f64>,
    fit: Fit,
    all: Fit,
    said: Prediction,
}

fn one(track: &Track, seed: u64, made: bool, scatter: f64) -> Option<One> {
    let mut noise = Noise::new(90_000 + seed);
    let truth: Vec<f64> = Knob::ALL.iter().map(|k| 1.0 + k.prior_sd() * noise.normal().clamp(-2.5, 2.5)).collect();
    let car = example_car();
    let course = Course::with_step(track, 1.0);
    let _ = scatter;
    let lap = course.lap(&applied(&car, &truth)).ok()?;
    let logger = Logger { seed, laps: 5, ..Logger::default() };
    let all = laps(&drive(track, &lap.trace(), &logger));
    let runs: Vec<Run> = all.iter().map(|l| l.0.clone()).collect();
    let line = Line::through(&runs, WISH).ok()?;
    let on = if made { Track { segments: line.build(Tolerance::default()).segments, ..track.clone() } } else { track.clone() };
    let lies = line.align(&on).ok()?;
    let logged = |(run, speeds, gears): &(Run, Vec<f64>, Vec<u8>)| {
        let mut rows: Vec<(f64, f64, u8)> =
            lies.distances(&line, run).into_iter().zip(speeds).zip(gears).map(|((s, v), g)| (s, *v, *g)).collect();
        rows.sort_by(|a, b| a.0.total_cmp(&b.0));
        LoggedLap {
            s_m: rows.iter().map(|r| r.0).collect(),
            v_mps: rows.iter().map(|r| r.1).collect(),
            gear: rows.iter().map(|r| r.2).collect(),
            time_s: lap.time,
        }
    };
    let mut logged: Vec<LoggedLap> = all.iter().map(logged).collect();
    let out = logged.pop()?;
    let course = Course::with_step(&on, 4.0);
    let lines = if made { Lines::of(&line, &on, 8) } else { None };
    let t = std::time::Instant::now();
    let (free, fit) = fit_told_apart(&course, &car, &logged, lines.as_ref()).ok()?;
    if seed % 25 == 0 { println!("fit {:.2} s", t.elapsed().as_secs_f64()); }
    let said = predict(&fit, &course, &car, &out, &[]).ok()?;
    Some(One { truth, fit, all: free, said: Prediction { logged_s: lap.time, ..said } })
}

/// What a factor stands for: with uses that were held beside it, their product.
fn meant(o: &One, k: usize) -> f64 {
    let with = |u: &&unladen_study::fit::FittedFactor| u.held == Some(Because::With(Knob::ALL[k]));
    let uses = [Knob::UseCornering, Knob::UseBraking, Knob::UseTraction];
    o.fit.found.iter().filter(with).filter(|u| uses.contains(&u.knob)).map(|u| {
        o.truth[Knob::ALL.iter().position(|q| *q == u.knob).unwrap()]
    }).product::<f64>() * o.truth[k]
}

fn tell(name: &str, all: &[One]) {
    let n = all.len() as f64;
    println!("{name}: {n} logs");
    for (k, knob) in Knob::ALL.iter().enumerate() {
        let free: Vec<&One> = all.iter().filter(|o| o.fit.found[k].held.is_none()).collect();
        let z = |o: &&One| (o.fit.found[k].factor - meant(o, k)) / o.fit.found[k].sd;
        let inside = free.iter().filter(|o| z(o).abs() < 1.645).count();
        let za = |o: &One| (o.all.found[k].factor - o.truth[k]) / o.all.found[k].sd;
        let m = free.len() as f64;
        println!(
            "  {:18} free in {:3}: inside {:.3}, z {:+.2} ± {:.2}, sd {:.4}, err {:+.4}; all free: inside {:.3}, z {:+.2} ± {:.2}",
            knob.key(), free.len(), inside as f64 / m,
            free.iter().map(z).sum::<f64>() / m,
            (free.iter().map(|o| z(o).powi(2)).sum::<f64>() / m).sqrt(),
            free.iter().map(|o| o.fit.found[k].sd).sum::<f64>() / m,
            free.iter().map(|o| o.fit.found[k].factor - meant(o, k)).sum::<f64>() / m,
            all.iter().filter(|o| za(o).abs() < 1.645).count() as f64 / n,
            all.iter().map(za).sum::<f64>() / n,
            (all.iter().map(|o| za(o).powi(2)).sum::<f64>() / n).sqrt(),
        );
        let mut why = std::collections::BTreeMap::new();
        all.iter().filter_map(|o| o.fit.found[k].held).for_each(|b| *why.entry(format!("{b:?}")).or_insert(0) += 1);
        println!("      held {why:?}");
    }
    let z = |o: &One| (o.said.model_s - o.said.logged_s) / o.said.model_sd_s;
    println!("  lap time: inside {:.3}, z {:+.2} ± {:.2}, sd {:.4}", all.iter().filter(|o| z(o).abs() < 1.645).count() as f64 / n,
        all.iter().map(z).sum::<f64>() / n, (all.iter().map(|o| z(o).powi(2)).sum::<f64>() / n).sqrt(), all.iter().map(|o| o.said.model_sd_s).sum::<f64>() / n);
}

fn lines() -> Vec<Track> {
    let from: u64 = std::env::var("ZZL").map_or(40_001, |v| v.parse().unwrap());
    (from..from + 8).filter_map(random).take(3).map(|t| hilly(&t, t.length() as u64)).collect()
}

#[test]
fn zz_fit() {
    let seeds: Range<u64> = 0..std::env::var("ZZN").unwrap_or("20".into()).parse().unwrap();
    for made in [false, true] {
        if std::env::var("ZZM").is_ok_and(|m| m != made.to_string()) { continue; }
        for (l, track) in lines().into_iter().enumerate() {
            println!("{} {:.0} m", track.name, track.length());
            let all: Vec<One> = seeds.clone().into_par_iter().filter_map(|s| one(&track, s + 1000 * l as u64, made, 0.0)).collect();
            tell(&format!("{} made {made}", track.name), &all);
        }
    }
}
