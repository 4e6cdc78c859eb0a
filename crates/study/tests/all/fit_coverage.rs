//! How often the truth is within what a fit says: on the true track, and on one made of the same log's positions.

use rayon::prelude::*;
use unladen_lap::Course;
use unladen_positions::{Line, Noise, Run, Tolerance};
use unladen_study::fit::{Because, Fit, Knob, LoggedLap, Prediction, applied, fit_told_apart, predict};
use unladen_study::made_track::lines::Lines;
use unladen_study::made_track::synthetic::{Logger, Sample, drive};
use unladen_testkit::parts::{due, seeds};
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

/// A log, what was true, and what is said.
struct One {
    truth: Vec<f64>,
    all: Fit,
    fit: Fit,
    said: Prediction,
}

/// How a driver's lap times scatter, a share of them.
const SCATTER: f64 = 0.004;

/// Truth drawn from what is believed before any log; five laps at 10 Hz with half a metre, four of them fitted to.
fn one(track: &Track, seed: u64, made: bool) -> Option<One> {
    let mut noise = Noise::new(90_000 + seed);
    let truth: Vec<f64> = Knob::ALL.iter().map(|k| 1.0 + k.prior_sd() * noise.normal().clamp(-2.5, 2.5)).collect();
    let car = example_car();
    // The truth is to be no coarser than the fit's laps.
    let lap = Course::with_step(track, 1.0).lap(&applied(&car, &truth)).ok()?;
    let logger = Logger { seed, laps: 5, ..Logger::default() };
    let all = laps(&drive(track, &lap.trace(), &logger));
    let runs: Vec<Run> = all.iter().map(|l| l.0.clone()).collect();
    let line = Line::through(&runs, WISH).ok()?;
    let segments = if made { line.build(Tolerance::default()).segments } else { track.segments.clone() };
    let on = Track { segments, ..track.clone() };
    let lies = line.align(&on).ok()?;
    let mut logged = |(run, speeds, gears): &(Run, Vec<f64>, Vec<u8>)| {
        let mut rows: Vec<(f64, f64, u8)> =
            lies.distances(&line, run).into_iter().zip(speeds).zip(gears).map(|((s, v), g)| (s, *v, *g)).collect();
        rows.sort_by(|a, b| a.0.total_cmp(&b.0));
        LoggedLap {
            s_m: rows.iter().map(|r| r.0).collect(),
            v_mps: rows.iter().map(|r| r.1).collect(),
            gear: rows.iter().map(|r| r.2).collect(),
            time_s: lap.time * (1.0 + SCATTER * noise.normal()),
        }
    };
    let mut logged: Vec<LoggedLap> = all.iter().map(&mut logged).collect();
    let out = logged.pop()?;
    // Half the stations of a fit by hand: the noise is far above what that leaves.
    let course = Course::with_step(&on, 4.0);
    let lines = if made { Lines::of(&line, &on, 8) } else { None };
    let (all, fit) = fit_told_apart(&course, &car, &logged, lines.as_ref()).ok()?;
    let times: Vec<f64> = logged.iter().map(|l| l.time_s).collect();
    let said = predict(&fit, &course, &car, &out, &times).ok()?;
    Some(One { truth, all, fit, said })
}

/// What a factor stands for: with uses of grip that were held beside it, their product.
fn meant(o: &One, k: usize) -> f64 {
    let uses = [Knob::UseCornering, Knob::UseBraking, Knob::UseTraction];
    let beside = |u: usize| {
        let found = &o.fit.found[u];
        found.held == Some(Because::With(Knob::ALL[k])) && uses.contains(&found.knob)
    };
    (0..Knob::ALL.len()).filter(|u| beside(*u)).map(|u| o.truth[u]).product::<f64>() * o.truth[k]
}

/// How many were inside of how many.
#[derive(Clone, Copy, Default)]
struct Count {
    inside: u32,
    all: u32,
}

impl Count {
    fn add(&mut self, inside: bool) {
        self.inside += u32::from(inside);
        self.all += 1;
    }

    fn share(self) -> f64 {
        f64::from(self.inside) / f64::from(self.all)
    }

    /// Within 86 to 94 %, as far as so many can tell: three standard errors of a share of 90 %, and one that is inside or not.
    fn holds(self) -> bool {
        let n = f64::from(self.all.max(1));
        let off = 3.0 * (0.9 * 0.1 / n).sqrt() + 1.0 / n;
        self.all == 0 || (0.86 - off..=0.94 + off).contains(&self.share())
    }
}

/// Within 1.645 standard deviations: each factor that was found, with those held that the log can't tell, and all at once; the
/// interval of a further lap's time.
fn covers(made: bool) {
    let (mut told, mut free, mut lap) = ([Count::default(); 8], [Count::default(); 8], Count::default());
    let logs: Vec<(usize, u64)> =
        seeds(0..108, 55).flat_map(|seed| (0..LINES.len()).map(move |line| (line, seed))).collect();
    let lines: Vec<Track> = LINES.iter().map(|&line| hilly(&random(line).unwrap(), line)).collect();
    let fits: Vec<One> =
        logs.par_iter().filter_map(|&(line, seed)| one(&lines[line], seed + 1000 * line as u64, made)).collect();
    assert!(10 * fits.len() >= 9 * logs.len(), "{} of {} logs were fitted", fits.len(), logs.len());
    for o in &fits {
        for k in 0..Knob::ALL.len() {
            let (found, all) = (&o.fit.found[k], &o.all.found[k]);
            if found.held.is_none() {
                told[k].add((found.factor - meant(o, k)).abs() <= 1.645 * found.sd);
            }
            free[k].add((all.factor - o.truth[k]).abs() <= 1.645 * all.sd);
        }
        let [low, high] = o.said.interval_s;
        lap.add((low..=high).contains(&o.said.logged_s));
    }
    println!("{} logs, made tracks: {made}; inside 90 %, told apart and all at once:", fits.len());
    for (k, knob) in Knob::ALL.iter().enumerate() {
        let [a, b] = [told[k], free[k]];
        println!("{:18} {:.3} of {:3}  {:.3} of {:3}", knob.key(), a.share(), a.all, b.share(), b.all);
    }
    let sum = |all: &[Count; 8]| {
        all.iter().fold(Count::default(), |a, b| Count { inside: a.inside + b.inside, all: a.all + b.all })
    };
    let [told_all, free_all] = [sum(&told), sum(&free)];
    println!("all of them: {:.3}, {:.3}; a further lap {:.3}", told_all.share(), free_all.share(), lap.share());
    let failed: Vec<&str> = Knob::ALL
        .iter()
        .enumerate()
        .filter(|(k, _)| !told[*k].holds() || !free[*k].holds())
        .map(|k| k.1.key())
        .collect();
    assert!(failed.is_empty() && lap.holds(), "{failed:?}");
}

/// Circuits that no constant of the fit was found on. (All parts, by hand: on the true track 0.912 to 0.924 told apart, 0.886 to
/// 0.932 all at once, a further lap 0.880; on made ones 0.929 to 0.979, 0.895 to 0.941 and 0.914.)
const LINES: [u64; 3] = [70_001, 70_002, 70_003];

/// At odd commits: 324 logs on the true track, of which the places come from positions.
#[test]
fn property_fits_hold_the_truth() {
    if due(1, 2) {
        covers(false);
    }
}

/// At even commits: 324 logs on a track made of the same positions and heights, whose line and grades are carried.
#[test]
fn property_fits_on_made_tracks_hold_the_truth() {
    if due(0, 2) {
        covers(true);
    }
}
