//! Gears where shifts take time (`docs/model.md` §6): the quickest of all sequences.

use crate::common::random::{Kind, Rng, car, track};
use crate::common::{CARS, TRACKS, demo_car, demo_track};
use rayon::prelude::*;
use unladen_lap::{Course, Status};
use unladen_testkit::parts;
use unladen_track::Track;
use unladen_vehicle::{Car, Number};

/// Lap times along a line, and their stated errors.
fn line(n: usize, at: impl Fn(f64) -> (Car, Track) + Sync) -> Vec<(f64, f64)> {
    let lap = |i: usize| {
        let (car, track) = at(i as f64 / (n - 1) as f64);
        let lap = Course::new(&track).lap(&car).unwrap();
        (lap.time, lap.error)
    };
    (0..n).into_par_iter().map(lap).collect()
}

/// By how much each step of lap time lies outside of its neighbours' range, s.
fn standing_out(line: &[(f64, f64)]) -> Vec<f64> {
    let steps: Vec<f64> = line.windows(2).map(|w| w[1].0 - w[0].0).collect();
    let outside = |w: &[f64]| (w[1] - w[0].max(w[2])).max(w[0].min(w[2]) - w[1]).max(0.0);
    steps.windows(3).map(outside).collect()
}

/// One more upshift at 1255 m came in between 1034 and 1035 kg, for 58 ms.
#[test]
fn regression_saloon_awd_on_the_hill_climb_from_1030_to_1040_kg() {
    let (base, track) = (demo_car("saloon-awd"), demo_track("hillclimb"));
    let times = line(41, |u| {
        let mut car = base.clone();
        car.mass.m = 1030.0 + 10.0 * u;
        (car, track.clone())
    });
    let worst = standing_out(&times).into_iter().fold(0.0, f64::max);
    assert!(worst < 1e-4, "{worst}");
}

/// Few steps of lap time stand out along lines: only where speed comes to touch v_g or a limiter just before grip takes it
/// away again, and a sequence of gears begins to exist (`docs/model.md` §6): 11 of 1755. By hand: `POINTS=126`.
#[test]
fn property_lap_time_is_continuous_along_lines() {
    if !parts::due(1, 2) {
        return;
    }
    let points = std::env::var("POINTS").ok().and_then(|n| n.parse().ok()).unwrap_or(42);
    let (mut steps, mut out) = (0, vec![]);
    for (car_name, track_name) in CARS.iter().flat_map(|c| TRACKS.iter().map(move |t| (c, t))) {
        let (base, road) = (demo_car(car_name), demo_track(track_name));
        for what in ["grip", "mass", "height", "split", "power"] {
            let times = line(points, |u| {
                let (mut car, mut track) = (base.clone(), road.clone());
                match what {
                    "grip" => track.grip = 0.6 + 0.5 * u,
                    "mass" => car.mass.m *= 0.9 + 0.2 * u,
                    "height" => car.mass.h *= 0.85 + 0.3 * u,
                    "split" => car.mass.a *= 0.92 + 0.16 * u,
                    _ => car.engine.power *= 0.8 + 0.4 * u,
                }
                (car, track)
            });
            let errors = times.windows(4).map(|w| w.iter().map(|t| t.1).fold(1e-3, f64::max));
            steps += times.len() - 3;
            for (off, error) in standing_out(&times).into_iter().zip(errors) {
                if off > error {
                    out.push(format!("{car_name} {track_name} {what}: {:.1} ms", 1e3 * off));
                }
            }
        }
    }
    println!("{} of {steps} steps stand out: {out:#?}", out.len());
    assert!(out.len() * 150 <= steps, "{} of {steps}", out.len());
}

/// The same for 200 random usual cars, with shift times of 0 to 0.5 s and without: lines of 15 cars 0.2 % apart.
#[test]
fn property_lap_time_is_continuous_along_lines_of_random_cars() {
    let ways = ["grip", "mass", "height", "split", "power"];
    let look = |seed: u64| {
        let mut r = Rng::new(seed + 800_000);
        let road = track(&mut r, Kind::Usual, 500.0);
        let mut base = car(&mut r, Kind::Usual);
        base.driveline.shift_time = if seed.is_multiple_of(2) { 0.0 } else { r.range(0.0, 0.5) };
        let what = ways[seed as usize / 2 % ways.len()];
        let lap = |i: i32| {
            let (mut car, mut track, by) = (base.clone(), road.clone(), 1.0 + 2e-3 * f64::from(i));
            match what {
                "grip" => track.grip *= by,
                "mass" => car.mass.m *= by,
                "height" => car.mass.h *= by,
                "split" => car.mass.a *= by,
                _ => car.engine.power *= by,
            }
            let lap = Course::new(&track).lap(&car).ok().filter(|lap| lap.status == Status::Settled)?;
            Some((lap.time, lap.error))
        };
        let times: Vec<_> = (-7..=7).map(lap).collect::<Option<_>>()?;
        let errors = times.windows(4).map(|w| w.iter().map(|t| t.1).fold(1e-3, f64::max));
        let out = standing_out(&times).into_iter().zip(errors).filter(|(off, error)| off > error);
        let told = out.map(|(off, _)| format!("seed {seed} {what}: {:.1} ms", 1e3 * off)).collect::<Vec<_>>();
        Some((seed, times.len() - 3, told))
    };
    let found: Vec<_> = parts::seeds(0..200, 4).into_par_iter().filter_map(look).collect();
    let steps: usize = found.iter().map(|f| f.1).sum();
    let [plain, timed] =
        [0, 1].map(|kind| found.iter().filter(|f| f.0 % 2 == kind).flat_map(|f| &f.2).collect::<Vec<_>>());
    println!("of {steps} steps stand out without shift time {plain:#?}, with it {timed:#?}");
    assert!(steps > 500);
    assert!(plain.len() * 200 <= steps && timed.len() * 40 <= steps, "{} and {} of {steps}", plain.len(), timed.len());
}

/// More grip, more power: not slower beyond the stated error, but where a sequence of gears ends to exist (1 of 5000); random
/// usual cars with shift times of 0 to 0.5 s. `LAPS=10000` by hand.
#[test]
fn property_better_cars_are_not_slower_with_shift_times() {
    let count = std::env::var("LAPS").ok().and_then(|n| n.parse().ok()).unwrap_or(400);
    let seeds = parts::seeds(0..count, 2);
    let tried = 2 * (seeds.end - seeds.start);
    let worse: Vec<_> = seeds
        .into_par_iter()
        .flat_map_iter(|seed: u64| {
            let mut r = Rng::new(seed + 700_000);
            let road = track(&mut r, Kind::Usual, 700.0);
            let mut base = car(&mut r, Kind::Usual);
            base.driveline.shift_time = r.range(0.0, 0.5);
            let course = Course::new(&road);
            let first = course.lap(&base).ok().filter(|lap| lap.status == Status::Settled);
            let mut found = vec![];
            for what in ["grip", "power"] {
                let (mut better, mut track) = (base.clone(), road.clone());
                match what {
                    "grip" => track.grip *= 1.01,
                    _ => better.engine.power *= 1.01,
                }
                let lap = Course::new(&track).lap(&better).ok().filter(|lap| lap.status == Status::Settled);
                if let Some((a, b)) = first.as_ref().zip(lap.as_ref())
                    && b.time > a.time + a.error + b.error
                {
                    found.push(format!("seed {seed}, {what}: {:+.1} ms", 1e3 * (b.time - a.time)));
                }
            }
            found
        })
        .collect();
    println!("{} of {tried}: {worse:#?}", worse.len());
    assert!(worse.len() as u64 * 400 <= tried, "{} of {tried}", worse.len());
}

/// A rival's slopes are those of laps on the other side of the kink.
#[test]
fn property_a_rival_stands_on_the_other_side_of_the_kink() {
    let (base, track) = (demo_car("saloon-awd"), demo_track("airfield"));
    let course = Course::new(&track);
    let mut seen = 0;
    for i in 0..200 {
        let mut car = base.clone();
        car.mass.m *= 0.9 + 0.001 * f64::from(i);
        let lap = course.lap(&car).unwrap();
        let Some(rival) = lap.rival(&[Number::M]) else { continue };
        seen += 1;
        assert!(rival.behind_s >= 0.0 && rival.behind_s < 1e-3);
        let own = lap.derivatives(&[Number::M])[0].value;
        assert!(
            rival.slopes[0].is_finite() && (rival.slopes[0] - own).abs() < 0.5 * own.abs(),
            "{} {own}",
            rival.slopes[0]
        );
    }
    assert!(seen > 0);
}
