//! Figures of known curvature, and the positions that a logger sees on them.

use std::f64::consts::PI;

use unladen_lap::Course;
use unladen_positions::{Run, Wish};
use unladen_study::made_track::synthetic::{Logger, drive};
use unladen_testkit::roads::{corner, flat};
use unladen_track::{Segment, Track};
use unladen_vehicle::example_car;

pub fn circuit(name: &str, segments: Vec<Segment>) -> Track {
    Track { name: name.into(), closed: true, start_speed: 0.0, segments, rho: 1.2, grip: 1.0 }
}

/// A circle, an oval with clothoids, one whose curvature jumps, a square, and one with an S in a straight (which comes
/// back on its line).
pub fn shapes() -> Vec<Track> {
    let oval = |c: f64| {
        let half = || {
            let mut half = vec![flat(300.0, [0.0; 2])];
            if c > 0.0 {
                half.extend(corner(40.0, c, PI))
            } else {
                half.push(flat(40.0 * PI, [0.025; 2]))
            }
            half
        };
        half().into_iter().chain(half()).collect()
    };
    let square = [200.0, 300.0, 200.0, 300.0]
        .into_iter()
        .flat_map(|l| std::iter::once(flat(l, [0.0; 2])).chain(corner(18.0, 12.0, 0.5 * PI)));
    let mut esses = Vec::new();
    for _ in 0..2 {
        esses.push(flat(120.0, [0.0; 2]));
        for angle in [0.5, -0.5, -0.5, 0.5] {
            esses.extend(corner(45.0, 16.0, angle));
        }
        esses.push(flat(60.0, [0.0; 2]));
        esses.extend(corner(30.0, 20.0, 0.5 * PI));
        esses.push(flat(150.0, [0.0; 2]));
        esses.extend(corner(22.0, 14.0, 0.5 * PI));
    }
    vec![
        circuit("circle", vec![flat(2.0 * PI * 60.0, [1.0 / 60.0; 2])]),
        circuit("oval", oval(25.0)),
        circuit("jumping oval", oval(0.0)),
        circuit("square", square.collect()),
        circuit("esses", esses),
    ]
}

/// Whether the log has a gyroscope.
#[derive(Clone, Copy, PartialEq)]
pub enum Gyro {
    None,
    Logged,
}

pub fn runs(track: &Track, course: &Course, (rate_hz, noise): (f64, f64), gyro: Gyro, seed: u64) -> Vec<Run> {
    let lap = course.lap(&example_car()).unwrap();
    let logger = Logger { laps: 5, rate_hz, position_noise_m: noise, seed, ..Logger::default() };
    let samples = drive(track, &lap.trace(), &logger);
    let mut all = vec![Run::default()];
    let mut last = 0.0;
    for p in samples {
        if p.s < last - 100.0 {
            all.push(Run::default());
        }
        last = p.s;
        let [x, y, _] = p.position.unwrap();
        let run = all.last_mut().unwrap();
        run.points.push([x, y]);
        run.t.push(p.t);
        if gyro == Gyro::Logged {
            run.turn.push(p.yaw_rate / p.speed);
        }
    }
    let n = all.len();
    all[1..n - 1].to_vec()
}

pub const WISH: Wish = Wish { closed: true, noise_m: None, height_noise_m: None };
