//! How often the true lap time is within what is stated of it.

use std::f64::consts::PI;

use rayon::prelude::*;
use unladen_lap::Course;
use unladen_positions::{Line, Noise, Run, Tolerance};
use unladen_study::made_track::doubt::track_doubt;
use unladen_testkit::parts::seeds;
use unladen_track::Track;
use unladen_vehicle::example_car;

use crate::figures::{self, Gyro, WISH, circuit, runs};

/// A circuit of random straights and rounded corners: a polygon about a middle with arcs at its corners, smoothed as a
/// road is laid.
pub fn random(seed: u64) -> Option<Track> {
    let mut noise = Noise::new(seed);
    let n = 5 + (noise.bits() % 5) as usize;
    let corner = |i: usize, noise: &mut Noise| {
        let angle = 2.0 * PI * (i as f64 + 0.35 * (noise.even() - 0.5)) / n as f64;
        let reach = 150.0 + 300.0 * noise.even();
        [reach * angle.cos(), reach * angle.sin()]
    };
    let corners: Vec<[f64; 2]> = (0..n).map(|i| corner(i, &mut noise)).collect();
    let at = |i: usize| corners[i % n];
    let unit = |a: [f64; 2], b: [f64; 2]| {
        let d = (b[0] - a[0]).hypot(b[1] - a[1]);
        ([(b[0] - a[0]) / d, (b[1] - a[1]) / d], d)
    };
    let mut points: Vec<[f64; 2]> = Vec::new();
    for i in 0..n {
        let ((u, du), (v, dv)) = (unit(at(i + n - 1), at(i)), unit(at(i), at(i + 1)));
        let turn = (u[0] * v[1] - u[1] * v[0]).atan2(u[0] * v[0] + u[1] * v[1]);
        let most = 0.4 * du.min(dv) / (0.5 * turn.abs()).tan().max(1e-3);
        let radius = (15.0 + 120.0 * noise.even().powi(2)).min(most);
        if radius < 12.0 {
            return None;
        }
        let cut = radius * (0.5 * turn.abs()).tan();
        let from = [at(i)[0] - cut * u[0], at(i)[1] - cut * u[1]];
        let side = turn.signum();
        let middle = [from[0] - side * radius * u[1], from[1] + side * radius * u[0]];
        if let Some(&last) = points.last() {
            let (w, d) = unit(last, from);
            let steps = (d / 2.0) as usize;
            points.extend(
                (1..steps).map(|k| {
                    [last[0] + d * k as f64 / steps as f64 * w[0], last[1] + d * k as f64 / steps as f64 * w[1]]
                }),
            );
        }
        let steps = ((radius * turn.abs() / 2.0) as usize).max(2);
        points.extend((0..=steps).map(|k| {
            let (s, c) = (turn * k as f64 / steps as f64).sin_cos();
            let r = [from[0] - middle[0], from[1] - middle[1]];
            [middle[0] + c * r[0] - s * r[1], middle[1] + s * r[0] + c * r[1]]
        }));
    }
    let (last, first) = (points[points.len() - 1], points[0]);
    let (w, d) = unit(last, first);
    let steps = (d / 2.0) as usize;
    points.extend(
        (1..steps)
            .map(|k| [last[0] + d * k as f64 / steps as f64 * w[0], last[1] + d * k as f64 / steps as f64 * w[1]]),
    );
    let wish = unladen_positions::Wish { noise_m: Some(0.2 + 0.6 * noise.even()), ..WISH };
    let line = Line::through(&[Run { points, ..Run::default() }], wish).ok()?;
    let track = circuit(&format!("random {seed}"), line.build(Tolerance::default()).segments);
    (track.check().is_empty() && track.check_closed().is_ok()).then_some(track)
}

/// (error of what is said to be likely, its stated standard deviation), s, of one log.
fn one(seed: u64, gyro: Gyro) -> Option<(f64, f64)> {
    let track =
        if seed.is_multiple_of(4) { figures::shapes().remove(1 + (seed / 4 % 4) as usize) } else { random(seed)? };
    let how = [(10.0, 0.5), (5.0, 1.0), (10.0, 2.0), (20.0, 0.3), (1.0, 0.5)][(seed % 5) as usize];
    let car = example_car();
    let truth = Course::new(&track).time(&car).ok()?;
    let line = Line::through(&runs(&track, &Course::with_step(&track, 3.0), how, gyro, seed), WISH).ok()?;
    let made = Track { segments: line.build(Tolerance::default()).segments, ..track.clone() };
    let doubt = track_doubt(&car, &made, &line, 32)?;
    Some((doubt.likely_s() - truth, doubt.sd_s()))
}

/// Share of logs whose true lap time is within 1.645 stated standard deviations, and how many there are.
fn coverage(seeds: std::ops::Range<u64>, gyro: Gyro) -> (f64, usize) {
    let all: Vec<(f64, f64)> = seeds.into_par_iter().filter_map(|seed| one(seed, gyro)).collect();
    let inside = all.iter().filter(|(error, sd)| error.abs() < 1.645 * sd).count();
    let rms = (all.iter().map(|(e, sd)| (e / sd).powi(2)).sum::<f64>() / all.len() as f64).sqrt();
    let gyroscope = if gyro == Gyro::Logged { "with" } else { "without" };
    let mut widths: Vec<f64> = all.iter().map(|(_, sd)| *sd).collect();
    widths.sort_by(f64::total_cmp);
    let error = (all.iter().map(|(e, _)| e * e).sum::<f64>() / all.len() as f64).sqrt();
    println!(
        "{gyroscope} gyroscope: {inside} of {} inside 90 %, error/± {rms:.2} rms; ± {:.3} s in the median, {:.3} to {:.3} for the middle 80 %; error {error:.3} s rms",
        all.len(),
        widths[all.len() / 2],
        widths[all.len() / 10],
        widths[all.len() * 9 / 10]
    );
    (inside as f64 / all.len() as f64, all.len())
}

/// A 90 % interval holds 86 to 94 % of lines that were not used to find its constants: as well as so many logs tell it, by three
/// standard errors of a share of 90 %.
#[test]
fn property_coverage_of_lap_time() {
    for gyro in [Gyro::None, Gyro::Logged] {
        let (share, count) = coverage(seeds(3000..3000 + 140, 35), gyro);
        let off = 3.0 * (0.9 * 0.1 / count as f64).sqrt() + 1.0 / count as f64;
        assert!((0.86 - off..=0.94 + off).contains(&share), "{share} of {count}");
    }
}
