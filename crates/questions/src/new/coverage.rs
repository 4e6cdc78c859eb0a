//! How often the true gain is inside the interval of a first answer: cars drawn around the class.
//!
//! The spread of the class stands here, apart from the ± of the rules: other shapes (even, cut off, in two heaps),
//! numbers that go together (both frictions by compound and surface), and what no ± of the rules covers at all: six
//! gears, a differential that locks, no anti-lock. It is from the same memory of cars as the rules: the test shows that
//! the ± and the way they are carried through add up to intervals that hold such cars, not that cars are so.

use std::f64::consts::PI;

use unladen_garage::{CarFile, Overrides, Source as Text, parse_car};
use unladen_lap::Course;
use unladen_study::Leg;
use unladen_study::uncertainty::alternative::{Alternative, Alternatives, Piece};
use unladen_study::uncertainty::paired::{Sampling, paired};
use unladen_testkit::parts::seeds;
use unladen_testkit::random::Rng;
use unladen_track::{Segment, Track};
use unladen_vehicle::car::{Aero, AntiLock, Brakes, Chassis, Driveline, Engine, G, Layout, Mass, Tyre, Use};
use unladen_vehicle::{Car, Number};

use super::files;
use crate::estimate::given::Kind;
use crate::estimate::{Class, Given, about};
use crate::read::scene::uncertain;

/// Normal, by the polar form of Box and Muller's method.
fn normal(r: &mut Rng, mean: f64, sd: f64) -> f64 {
    mean + sd * (-2.0 * (1.0 - r.unit()).ln()).sqrt() * (2.0 * PI * r.unit()).cos()
}

/// A car, and what its owner would say of it.
struct Drawn {
    truth: Car,
    given: Given,
}

fn draw(r: &mut Rng) -> Drawn {
    let layout = r.pick(&[Layout::Front, Layout::Rear, Layout::All]);
    let tyres = r.pick(&[Kind::Road, Kind::Road, Kind::TrackDay, Kind::Slick]);
    let (l, height) = (r.range(2.3, 2.75), r.range(1.22, 1.52));
    let empty = r.range(780.0, 1450.0);
    let share = match layout {
        Layout::Front => normal(r, 0.62, 0.02),
        Layout::Rear => normal(r, 0.52, 0.03),
        Layout::All => normal(r, 0.58, 0.02),
    };
    let power = empty * r.range(70.0, 170.0);
    let at = r.range(5400.0, 7400.0) * PI / 30.0;
    // On the scales; driver and fuel as they were, or are.
    let (driver, fuel) = (normal(r, 78.0, 11.0).clamp(50.0, 120.0), 745.0 * r.range(0.005, 0.038));
    let track = l * normal(r, 0.58, 0.02);
    let h = height * normal(r, 0.393, 0.015) - r.range(0.0, 0.025);
    let a = l * (1.0 - share);
    // As it laps: off with the fuel that was in it, on with 20 L and the driver.
    let parts = [
        (empty, [a, normal(r, 0.0, 0.008), h]),
        (0.020 * 745.0 - fuel, [l - r.range(0.0, 0.6), 0.0, r.range(0.3, 0.5)]),
        (driver, [l * r.range(0.48, 0.58), -r.range(0.30, 0.41), height * r.range(0.31, 0.41)]),
    ];
    let m: f64 = parts.iter().map(|p| p.0).sum();
    let middle = |i: usize| parts.iter().map(|(kg, at)| kg * at[i]).sum::<f64>() / m;
    let mass = Mass { m, a: middle(0), y_cg: middle(1), h: middle(2) };
    let chassis = Chassis {
        l,
        t_f: track,
        t_r: track + normal(r, 0.0, 0.012),
        h_rf: r.range(-0.02, 0.12),
        h_rr: r.range(0.02, 0.19),
        chi: (share + 0.03 + r.range(-0.11, 0.11)).clamp(0.3, 0.8),
    };
    // Compound and surface go with both frictions and both axles.
    let across = tyres.peak_friction().value * normal(r, 1.0, 0.055) * normal(r, 1.0, 0.045);
    let along = across * normal(r, 1.05, 0.035);
    let n_0 = 0.25 * m * G;
    let per_newton = r.range(2.0e-5, 3.8e-5);
    let slopes = [0, 1].map(|_| -n_0 * per_newton * normal(r, 1.0, 0.12));
    let stiffness = n_0 * r.range(0.14, 0.30).to_degrees();
    let radius = 0.12 * l * normal(r, 1.0, 0.035);
    let tyre = Tyre {
        n_0,
        mu_x0: along,
        mu_y0: across,
        k_x: slopes[0],
        k_y: slopes[1],
        inv_c_alpha: 1.0 / stiffness,
        r: radius,
        j_wheel: r.range(0.6, 1.4),
    };
    let c_rr = tyres.rolling_resistance().value * r.range(0.8, 1.2);
    let cd_a = r.range(0.28, 0.41) * 0.82 * (track + r.range(0.16, 0.27)) * height;
    let aero = Aero { cd_a, cf_a: r.range(-0.18, 0.06), cr_a: r.range(-0.26, 0.06), c_rr };
    let efficiency = match layout {
        Layout::Front => r.range(0.89, 0.95),
        Layout::Rear => r.range(0.87, 0.935),
        Layout::All => r.range(0.82, 0.92),
    };
    let top = {
        let spare = |v: f64| power * efficiency - (0.5 * 1.225 * cd_a * v * v + c_rr * m * G) * v;
        (300..4000).map(|i| 0.025 * f64::from(i)).take_while(|v| spare(*v) > 0.0).last().unwrap_or(7.5)
    };
    let torque = power / at;
    let limit = at * r.range(1.03, 1.13);
    let engine = Engine {
        torque: vec![
            (0.30 * at, torque * r.range(0.70, 1.10)),
            (0.70 * at, torque * r.range(1.01, 1.25)),
            (at, torque),
            (limit, torque * r.range(0.82, 0.95)),
        ],
        power: 1.0,
        launch: at * r.range(0.42, 0.68),
        limit,
        inertia: r.range(0.07, 0.20),
    };
    let count = if r.chance(0.3) { 6 } else { 5 };
    let last = at * radius / (top * normal(r, 1.0, 0.04));
    let first = (limit * radius / r.range(48.0 / 3.6, 62.0 / 3.6)).max(1.8 * last);
    // Even in the ratio's logarithm, a little wider below.
    let bend = r.range(0.85, 1.0);
    let gear = |i: usize| last * (first / last).powf((1.0 - i as f64 / (count - 1) as f64).powf(1.0 / bend));
    let bias = |r: &mut Rng| if r.chance(0.2) { r.range(1.8, 2.8) } else { r.range(1.1, 1.3) };
    let driveline = Driveline {
        layout,
        front_share: r.range(0.33, 0.57),
        centre_bias: r.range(1.3, 2.7),
        front_bias: bias(r),
        rear_bias: bias(r),
        gears: (0..count).map(|i| gear(i) / 4.0).collect(),
        final_drive: 4.0,
        efficiency,
        shift_time: r.range(0.18, 0.52),
    };
    let anti_lock = if r.chance(0.15) { AntiLock::None } else { AntiLock::FourChannel };
    let brakes =
        Brakes { beta_f: (share + 0.9 * h / l + r.range(-0.04, 0.06)).min(0.9), anti_lock, rear_limiter: None };
    let driver_uses =
        Use { cornering: r.range(0.915, 0.985), braking: r.range(0.885, 0.975), traction: r.range(0.915, 0.985) };
    let truth = Car {
        mass,
        chassis,
        front: Tyre { mu_y0: across * normal(r, 1.0, 0.01), mu_x0: along * normal(r, 1.0, 0.01), ..tyre },
        rear: tyre,
        aero,
        engine,
        driveline,
        brakes,
        driver: driver_uses,
    };
    // What papers and a tape say.
    let (some, others) = (r.chance(0.5), r.chance(0.5));
    let said = |r: &mut Rng, true_value: f64, sd: f64| about(true_value + normal(r, 0.0, sd), sd);
    let given = Given {
        mass: said(r, empty, 0.01 * empty),
        front_share: others.then(|| said(r, share, 0.008)),
        wheelbase: said(r, l, 0.005),
        height: said(r, height, 0.010),
        track: some.then(|| said(r, track, 0.010)),
        power: said(r, power, 0.03 * power),
        power_at: at,
        torque: None,
        layout,
        tyres,
        top_speed: some.then(|| said(r, top, 0.02 * top)),
        driver: others.then(|| said(r, driver, 2.0)),
        fuel: None,
    };
    Drawn { truth, given }
}

/// Straights and bends of 20, 30 and 60 m, from 60 km/h; 850 m.
fn road() -> Course {
    let piece = |length: f64, kappa: f64| Segment {
        length,
        kappa: [kappa; 2],
        q: [0.0; 2],
        phi: [0.0; 2],
        gamma: 1.0,
        place: None,
    };
    let segments = vec![
        piece(200.0, 0.0),
        piece(47.0, 1.0 / 30.0),
        piece(120.0, 0.0),
        piece(94.0, -1.0 / 60.0),
        piece(250.0, 0.0),
        piece(62.0, 1.0 / 20.0),
        piece(80.0, 0.0),
    ];
    let (name, start_speed) = ("short".into(), 60.0 / 3.6);
    Course::with_step(&Track { name, closed: false, start_speed, rho: 1.225, grip: 1.0, segments }, 4.0)
}

/// 50 kg less at the centre of gravity, and that 20 mm lower.
fn changes() -> [Piece; 2] {
    let adds = |number, by| Piece { adds: vec![(number, by)], ..Piece::default() };
    [adds(Number::M, -50.0), adds(Number::H, -0.020)]
}

/// Whether the true gain of each change is inside its 90 % interval; how wide that is, and how large the gain, s.
fn one(seed: u64, course: &Course) -> Option<[(bool, f64, f64); 2]> {
    let Drawn { truth, given } = draw(&mut Rng::new(seed));
    let text = files("drawn", &Class::of(given)).into_iter().find(|(name, _)| *name == "car.toml")?.1;
    let file: CarFile = parse_car(&Text::new("car.toml", text.as_str()), &Overrides::none()).ok()?;
    let (legs, pieces) = ([Leg::new(course)], changes());
    let sides =
        [&[][..], &[0], &[1]].map(|pieces: &[usize]| Alternative { pieces: pieces.to_vec(), times: Vec::new() });
    let inputs = uncertain(&file.uncertainties);
    let field = Alternatives::new((&file.car, &inputs, &[]), &legs, (&pieces, &[]), &sides);
    let sampling = Sampling { samples: 112, ..Sampling::default() };
    let found = paired(&field, &[(1, 0), (2, 0)], sampling).ok()?;
    let exact = Alternatives::new((&truth, &[], &[]), &legs, (&pieces, &[]), &sides);
    let truly = paired(&exact, &[(1, 0), (2, 0)], sampling).ok()?;
    let look = |i: usize| {
        let (interval, gain) = (found.differences[i].interval, truly.differences[i].gain);
        ((interval[0]..=interval[1]).contains(&gain), interval[1] - interval[0], gain)
    };
    Some([look(0), look(1)])
}

fn coverage(seeds: std::ops::Range<u64>) -> [(usize, usize); 2] {
    let course = road();
    let all: Vec<[(bool, f64, f64); 2]> = seeds.filter_map(|seed| one(seed, &course)).collect();
    [0, 1].map(|i| {
        let inside = all.iter().filter(|car| car[i].0).count();
        let mean =
            |of: &dyn Fn(&(bool, f64, f64)) -> f64| all.iter().map(|car| of(&car[i])).sum::<f64>() / all.len() as f64;
        let what = ["50 kg less", "20 mm lower"][i];
        println!(
            "{what}: {inside} of {} inside 90 %; gains {:.3} s in the mean, interval {:.3} s wide",
            all.len(),
            mean(&|x| x.2),
            mean(&|x| x.1)
        );
        (inside, all.len())
    })
}

/// A part of the two hundred. Of 20 with nine chances in ten, fewer than 13 are inside once in four hundred times.
#[test]
fn closed_form_coverage_of_a_first_answer_in_parts() {
    for (inside, of) in coverage(seeds(0..200, 10)) {
        assert!(of >= 18 && 20 * inside >= 13 * of, "{inside} of {of}");
    }
}

/// Nine in ten of two hundred, within two standard errors of such a count.
#[test]
#[ignore = "two hundred cars, minutes"]
fn closed_form_coverage_of_a_first_answer() {
    for (inside, of) in coverage(0..200) {
        let share = inside as f64 / of as f64;
        assert!(of >= 190 && (0.86..=0.94).contains(&share), "{inside} of {of}");
    }
}
